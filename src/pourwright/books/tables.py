"""The tables of the books. Only this room talks to a database; above it there are plain dataclasses.

A movement is a set of entries; of every element its entries add up to zero. Entries are never changed: the database
itself refuses (migrations). Balances are kept beside the entries, in the same transaction, so that pages are quick; a
check compares the two.
"""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    literal_column,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)
_KEY = BigInteger().with_variant(Integer, "sqlite")
LONGEST_NAME = 80
_NAME = String(LONGEST_NAME)
# Kinds of account whose metal is an owner's, and that may not go below nothing: what is not there cannot be taken.
OWN_KINDS = ("lot", "piece")


class Moment(TypeDecorator[datetime]):
    """A moment in UTC; what is read back always knows its zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    @property
    def python_type(self) -> type[datetime]:
        """What Python sees."""
        return datetime

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:
        """Store in UTC; a moment without a zone is a mistake."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone")
        return value.astimezone(UTC).replace(tzinfo=None) if dialect.name == "sqlite" else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """Return it in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Exact(TypeDecorator[Decimal]):
    """An amount of money, kept as its digits, so that no database rounds it."""

    impl = String(24)
    cache_ok = True

    @property
    def python_type(self) -> type[Decimal]:
        """What Python sees."""
        return Decimal

    def process_bind_param(self, value: Decimal | None, dialect: Any) -> str | None:  # noqa: ARG002
        """Store the digits."""
        return None if value is None else format(value, "f")

    def process_result_value(self, value: str | None, dialect: Any) -> Decimal | None:  # noqa: ARG002
        """Return the amount."""
        return None if value is None else Decimal(value)


owner = Table(
    "owner",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("name", Text, nullable=False, default=""),
)

# kind: lot (metal in the drawer), piece, loss, spill, outside (dealer, refiner, what an owner brings or takes).
account = Table(
    "account",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("kind", String(12), nullable=False),
    Column("name", _NAME, nullable=False, unique=True),
    Column("owner_id", _NAME, ForeignKey("owner.id"), nullable=False, index=True),
    CheckConstraint("kind in ('lot', 'piece', 'loss', 'spill', 'outside')", name="kind"),
)

lot = Table(
    "lot",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("account_id", _KEY, ForeignKey("account.id"), nullable=False, unique=True),
    Column("metal", _NAME, nullable=False),
    Column("noble", String(4), nullable=False, default=""),
    Column("share_low_ppm", Integer, nullable=False),
    Column("share_high_ppm", Integer, nullable=False),
    Column("provenance", Text, nullable=False, default=""),
    Column("is_new", Boolean, nullable=False),
    Column("whole", Boolean, nullable=False, default=False),
    Column("melts_count", Integer, nullable=False, default=0),
    Column("price_per_g", Exact, nullable=False),
    Column("quarantine", Text, nullable=False, default=""),
    Column("certain", Boolean, nullable=False, default=True),
    Column("solder", Boolean, nullable=False, default=False),
    Column("released_by", _NAME, nullable=False, default=""),
)

lot_element = Table(
    "lot_element",
    metadata,
    Column("lot_id", _NAME, ForeignKey("lot.id"), primary_key=True),
    Column("element", String(4), primary_key=True),
    Column("share_ppm", Integer, nullable=False),
)

movement = Table(
    "movement",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("mark", String(64), nullable=False, unique=True),
    Column("made_at", Moment, nullable=False, index=True),
    Column("made_by", _NAME, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("reason", Text, nullable=False, default=""),
    Column("reverses_id", _KEY, ForeignKey("movement.id"), unique=True),
    Column("pour_id", _NAME, index=True),
)

entry = Table(
    "entry",
    metadata,
    Column("movement_id", _KEY, ForeignKey("movement.id"), primary_key=True),
    Column("account_id", _KEY, ForeignKey("account.id"), primary_key=True),
    Column("element", String(4), primary_key=True),
    Column("mass_mg", BigInteger, nullable=False),
    Index("ix_entry_account_movement", "account_id", "movement_id"),
    sqlite_with_rowid=False,
)

# Sums over entries (totals.py): what an account holds, what an owner holds, what a day did to an owner's metal.
balance = Table(
    "balance",
    metadata,
    Column("account_id", _KEY, ForeignKey("account.id"), primary_key=True),
    Column("element", String(4), primary_key=True),
    Column("mass_mg", BigInteger, nullable=False),
    Column("kind", String(16), nullable=False),
    sqlite_with_rowid=False,
)

holding = Table(
    "holding",
    metadata,
    Column("owner_id", _NAME, ForeignKey("owner.id"), primary_key=True),
    Column("kind", String(16), primary_key=True),
    Column("element", String(4), primary_key=True),
    Column("mass_mg", BigInteger, nullable=False),
    sqlite_with_rowid=False,
)

day_total = Table(
    "day_total",
    metadata,
    Column("owner_id", _NAME, ForeignKey("owner.id"), primary_key=True),
    Column("day", Date, primary_key=True),
    Column("kind", String(16), primary_key=True),
    Column("element", String(4), primary_key=True),
    Column("in_mg", BigInteger, nullable=False),
    Column("out_mg", BigInteger, nullable=False),
    sqlite_with_rowid=False,
)

pour = Table(
    "pour",
    metadata,
    Column("id", _NAME, primary_key=True),
    Column("day", Date, nullable=False, index=True),
    Column("flask", _NAME, nullable=False, default=""),
    Column("alloy", _NAME, nullable=False),
    Column("state", String(12), nullable=False),
    Column("charge_mg", BigInteger, nullable=False),
    Column("loss_mg", BigInteger, nullable=False),
    Column("explained", Text, nullable=False, default=""),
    Column("crucible", _NAME, nullable=False, default=""),
    CheckConstraint("state in ('poured', 'aborted')", name="state"),
)

price = Table(
    "price",
    metadata,
    Column("metal", _NAME, primary_key=True),
    Column("valid_from", Date, primary_key=True),
    Column("per_g", Exact, nullable=False),
    Column("source", Text, nullable=False, default=""),
)

# What lies in the drawer now, among all the lots that there ever were; an index knows these balances (migration 0005),
# and databases see that it fits only where the values stand in the query itself.
IN_DRAWER = (balance.c.kind == literal_column("'lot'")) & (balance.c.mass_mg != literal_column("0"))
