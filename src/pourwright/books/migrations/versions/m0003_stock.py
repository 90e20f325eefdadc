"""How sure a lot is, who signed for it; stops, assays, money, sweeps and supplies."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

_KEY = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_NAME = sa.String(80)
_NO, _NOTHING = sa.false(), sa.text("''")


def upgrade() -> None:
    """Add the columns and make the tables."""
    _lots_and_pours()
    _stops_and_assays()
    _money()
    _sweeps()
    _supplies()
    for table in ("hold", "assay", "assay_result", "money", "money_entry", "sweep", "settlement", "supply_move"):
        _refuse_changes(table)


def _lots_and_pours() -> None:
    op.add_column("lot", sa.Column("certain", sa.Boolean, nullable=False, server_default=sa.true()))
    op.add_column("lot", sa.Column("solder", sa.Boolean, nullable=False, server_default=_NO))
    op.add_column("lot", sa.Column("released_by", _NAME, nullable=False, server_default=_NOTHING))
    op.add_column("pour", sa.Column("crucible", _NAME, nullable=False, server_default=_NOTHING))
    # Lots of the earlier form: what was melted or brought with a span of fineness was nobody's promise.
    op.execute(
        sa.text(
            "update lot set certain = :no where metal in ('scrap', 'button') and share_high_ppm - share_low_ppm > 2000"
        ).bindparams(sa.bindparam("no", value=False, type_=sa.Boolean))
    )


def _stops_and_assays() -> None:
    op.create_table(
        "hold",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("subject", _NAME, nullable=False, index=True),
        sa.Column("action", sa.String(8), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", _NAME, nullable=False),
        sa.Column("pour_id", _NAME, nullable=False),
        sa.CheckConstraint("action in ('shut', 'cleared', 'signed')", name="action"),
    )
    op.create_table(
        "assay",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("subject", _NAME, nullable=False, index=True),
        sa.Column("office", _NAME, nullable=False),
        sa.Column("sample_mg", sa.BigInteger, nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sent_by", _NAME, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "assay_result",
        sa.Column("assay_id", _NAME, sa.ForeignKey("assay.id"), primary_key=True),
        sa.Column("element", sa.String(4), nullable=False),
        sa.Column("low_ppm", sa.Integer, nullable=False),
        sa.Column("high_ppm", sa.Integer, nullable=False),
        sa.Column("method", sa.Text, nullable=False),
        sa.Column("struck", sa.Text, nullable=False),
        sa.Column("certificate", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("reported_on", sa.Date, nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("entered_by", _NAME, nullable=False),
        sa.Column("movement_mark", sa.String(64), nullable=False),
    )


def _money() -> None:
    op.create_table(
        "money",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("mark", sa.String(64), nullable=False, unique=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False, index=True),
        sa.Column("made_by", _NAME, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("reverses_id", _KEY, sa.ForeignKey("money.id"), unique=True),
        sa.Column("movement_mark", sa.String(64), nullable=False),
    )
    op.create_table(
        "money_entry",
        sa.Column("money_id", _KEY, sa.ForeignKey("money.id"), primary_key=True),
        sa.Column("purse", _NAME, primary_key=True),
        sa.Column("cents", sa.BigInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_money_entry_purse", "money_entry", ["purse", "money_id"])


def _sweeps() -> None:
    op.create_table(
        "sweep",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("refiner", _NAME, nullable=False),
        sa.Column("gross_mg", sa.BigInteger, nullable=False),
        sa.Column("since", sa.Date, nullable=False),
        sa.Column("until", sa.Date, nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sent_by", _NAME, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "settlement",
        sa.Column("sweep_id", _NAME, sa.ForeignKey("sweep.id"), primary_key=True),
        sa.Column("settled_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settled_by", _NAME, nullable=False),
        sa.Column("movement_mark", sa.String(64), nullable=False),
        sa.Column("money_mark", sa.String(64), nullable=False),
        sa.Column("certificate", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
    )


def _supplies() -> None:
    op.create_table(
        "supply",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("unit", sa.String(8), nullable=False),
        sa.Column("per_pour", sa.BigInteger, nullable=False),
        sa.Column("reorder_at", sa.BigInteger, nullable=False),
        sa.Column("reorder_to", sa.BigInteger, nullable=False),
        sa.Column("held", sa.BigInteger, nullable=False),
        sa.CheckConstraint("unit in ('g', 'ml', 'count')", name="unit"),
    )
    op.create_table(
        "supply_move",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("mark", sa.String(64), nullable=False, unique=True),
        sa.Column("supply_id", _NAME, sa.ForeignKey("supply.id"), nullable=False, index=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", _NAME, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("amount", sa.BigInteger, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("pour_id", _NAME, nullable=False, index=True),
    )


def _refuse_changes(table: str) -> None:
    """Let the database itself refuse to change or drop what was booked (PostgreSQL: function of migration 0001)."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("update", "delete"):
            op.execute(
                f"create trigger {table}_no_{verb} before {verb} on {table} "
                "begin select raise(abort, 'booked once, reversed but never changed'); end"
            )
        return
    op.execute(
        f"create trigger {table}_booked_once before update or delete on {table} "
        "for each row execute function booked_once()"
    )
