"""Tables beside the movements of metal: stops, assays, money, sweeps, supplies. Rows are added, never changed.

Only ``supply`` is a kept state; what stands there is the sum of its moves. Money is in whole hundredths, supplies in
whole thousandths of their unit, so that every database adds them exactly.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, CheckConstraint, Column, Date, ForeignKey, Index, Integer, String, Table, Text

from pourwright.books.tables import Moment, metadata

_KEY = BigInteger().with_variant(Integer, "sqlite")
_NAME = String(80)

# A lot or crucible is shut by a row and let out by a later one; the last of these counts. A lot may be signed over.
hold = Table(
    "hold",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("subject", _NAME, nullable=False, index=True),
    Column("action", String(8), nullable=False),
    Column("reason", Text, nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("made_by", _NAME, nullable=False),
    Column("pour_id", _NAME, nullable=False, default=""),
    CheckConstraint("action in ('shut', 'cleared', 'signed')", name="action"),
)

assay = Table(
    "assay",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("subject", _NAME, nullable=False, index=True),
    Column("office", _NAME, nullable=False),
    Column("sample_mg", BigInteger, nullable=False, default=0),
    Column("sent_at", Moment, nullable=False),
    Column("sent_by", _NAME, nullable=False),
    Column("note", Text, nullable=False, default=""),
)

assay_result = Table(
    "assay_result",
    metadata,
    Column("assay_id", _NAME, ForeignKey("assay.id"), primary_key=True),
    Column("element", String(4), nullable=False),
    Column("low_ppm", Integer, nullable=False),
    Column("high_ppm", Integer, nullable=False),
    Column("method", Text, nullable=False, default=""),
    Column("struck", Text, nullable=False, default=""),
    Column("certificate", Text, nullable=False, default=""),
    Column("sha256", String(64), nullable=False, default=""),
    Column("reported_on", Date, nullable=False),
    Column("entered_at", Moment, nullable=False),
    Column("entered_by", _NAME, nullable=False),
    Column("movement_mark", String(64), nullable=False),
)

money = Table(
    "money",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("mark", String(64), nullable=False, unique=True),
    Column("made_at", Moment, nullable=False, index=True),
    Column("made_by", _NAME, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("reason", Text, nullable=False, default=""),
    Column("reverses_id", _KEY, ForeignKey("money.id"), unique=True),
    Column("movement_mark", String(64), nullable=False, default=""),
)

# Of every row of money the entries add up to zero. A purse: owner:NAME, till, dealer:NAME, refiner:NAME, metal.
money_entry = Table(
    "money_entry",
    metadata,
    Column("money_id", _KEY, ForeignKey("money.id"), primary_key=True),
    Column("purse", _NAME, primary_key=True),
    Column("cents", BigInteger, nullable=False),
    Index("ix_money_entry_purse", "purse", "money_id"),
    sqlite_with_rowid=False,
)

sweep = Table(
    "sweep",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("refiner", _NAME, nullable=False),
    Column("gross_mg", BigInteger, nullable=False),
    Column("since", Date, nullable=False),
    Column("until", Date, nullable=False),
    Column("sent_at", Moment, nullable=False),
    Column("sent_by", _NAME, nullable=False),
    Column("note", Text, nullable=False, default=""),
)

settlement = Table(
    "settlement",
    metadata,
    Column("sweep_id", _NAME, ForeignKey("sweep.id"), primary_key=True),
    Column("settled_at", Moment, nullable=False),
    Column("settled_by", _NAME, nullable=False),
    Column("movement_mark", String(64), nullable=False),
    Column("money_mark", String(64), nullable=False, default=""),
    Column("certificate", Text, nullable=False, default=""),
    Column("sha256", String(64), nullable=False, default=""),
)

supply = Table(
    "supply",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("title", Text, nullable=False),
    Column("unit", String(8), nullable=False),
    Column("per_pour", BigInteger, nullable=False, default=0),
    Column("reorder_at", BigInteger, nullable=False, default=0),
    Column("reorder_to", BigInteger, nullable=False, default=0),
    Column("held", BigInteger, nullable=False, default=0),
    CheckConstraint("unit in ('g', 'ml', 'count')", name="unit"),
)

supply_move = Table(
    "supply_move",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("mark", String(64), nullable=False, unique=True),
    Column("supply_id", _NAME, ForeignKey("supply.id"), nullable=False, index=True),
    Column("made_at", Moment, nullable=False),
    Column("made_by", _NAME, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("amount", BigInteger, nullable=False),
    Column("reason", Text, nullable=False, default=""),
    Column("pour_id", _NAME, nullable=False, default="", index=True),
)

# What is booked once is never changed: the database itself refuses (migration 0003).
KEPT_TABLES = (hold, assay, assay_result, money, money_entry, sweep, settlement, supply_move)
