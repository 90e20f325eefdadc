"""Owners, lots, movements with entries that nobody can change, pours and prices."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_KEY = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_NAME = sa.String(80)


def upgrade() -> None:
    """Make the tables."""
    _people_and_places()
    _movements()
    _pours_and_prices()
    for table in ("movement", "entry"):
        _refuse_changes(table)


def _people_and_places() -> None:
    op.create_table(
        "owner",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
    )
    op.create_table(
        "account",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("kind", sa.String(12), nullable=False),
        sa.Column("name", _NAME, nullable=False, unique=True),
        sa.Column("owner_id", _NAME, sa.ForeignKey("owner.id"), nullable=False, index=True),
        sa.CheckConstraint("kind in ('lot', 'piece', 'loss', 'spill', 'outside')", name="kind"),
    )
    op.create_table(
        "lot",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("account_id", _KEY, sa.ForeignKey("account.id"), nullable=False, unique=True),
        sa.Column("metal", _NAME, nullable=False),
        sa.Column("noble", sa.String(4), nullable=False),
        sa.Column("share_low_ppm", sa.Integer, nullable=False),
        sa.Column("share_high_ppm", sa.Integer, nullable=False),
        sa.Column("provenance", sa.Text, nullable=False),
        sa.Column("is_new", sa.Boolean, nullable=False),
        sa.Column("whole", sa.Boolean, nullable=False),
        sa.Column("melts_count", sa.Integer, nullable=False),
        sa.Column("price_per_g", sa.String(24), nullable=False),
        sa.Column("quarantine", sa.Text, nullable=False),
    )
    op.create_table(
        "lot_element",
        sa.Column("lot_id", _NAME, sa.ForeignKey("lot.id"), primary_key=True),
        sa.Column("element", sa.String(4), primary_key=True),
        sa.Column("share_ppm", sa.Integer, nullable=False),
    )


def _movements() -> None:
    op.create_table(
        "movement",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("mark", sa.String(64), nullable=False, unique=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False, index=True),
        sa.Column("made_by", _NAME, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("reverses_id", _KEY, sa.ForeignKey("movement.id"), unique=True),
        sa.Column("pour_id", _NAME, index=True),
    )
    op.create_table(
        "entry",
        sa.Column("movement_id", _KEY, sa.ForeignKey("movement.id"), primary_key=True),
        sa.Column("account_id", _KEY, sa.ForeignKey("account.id"), primary_key=True),
        sa.Column("element", sa.String(4), primary_key=True),
        sa.Column("mass_mg", sa.BigInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_entry_account_movement", "entry", ["account_id", "movement_id"])


def _pours_and_prices() -> None:
    op.create_table(
        "pour",
        sa.Column("id", _NAME, primary_key=True),
        sa.Column("day", sa.Date, nullable=False, index=True),
        sa.Column("flask", _NAME, nullable=False),
        sa.Column("alloy", _NAME, nullable=False),
        sa.Column("state", sa.String(12), nullable=False),
        sa.Column("charge_mg", sa.BigInteger, nullable=False),
        sa.Column("loss_mg", sa.BigInteger, nullable=False),
        sa.Column("explained", sa.Text, nullable=False),
        sa.CheckConstraint("state in ('poured', 'aborted')", name="state"),
    )
    op.create_table(
        "price",
        sa.Column("metal", _NAME, primary_key=True),
        sa.Column("valid_from", sa.Date, primary_key=True),
        sa.Column("per_g", sa.String(24), nullable=False),
        sa.Column("source", sa.Text, nullable=False),
    )


def _refuse_changes(table: str) -> None:
    """Let the database itself refuse to change or drop what was booked."""
    if op.get_bind().dialect.name == "sqlite":
        for verb in ("update", "delete"):
            op.execute(
                f"create trigger {table}_no_{verb} before {verb} on {table} "
                "begin select raise(abort, 'booked once, reversed but never changed'); end"
            )
        return
    op.execute(
        "create or replace function booked_once() returns trigger language plpgsql as "
        "$$ begin raise exception 'booked once, reversed but never changed'; end $$"
    )
    op.execute(
        f"create trigger {table}_booked_once before update or delete on {table} "
        "for each row execute function booked_once()"
    )
