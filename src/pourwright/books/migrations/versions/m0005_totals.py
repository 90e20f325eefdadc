"""Totals per owner and day beside the entries, and indexes, so that every page of a busy year is quick."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

_NAME = sa.String(80)
_KIND = sa.String(16)
_DAY = {"sqlite": "date(movement.made_at)", "postgresql": "date(timezone('UTC',movement.made_at))"}
_FILL_DAYS = """insert into day_total (owner_id, day, kind, element, in_mg, out_mg)
  select account.owner_id, DAY, movement.kind, entry.element,
    sum(case when entry.mass_mg > 0 then entry.mass_mg else 0 end),
    sum(case when entry.mass_mg < 0 then -entry.mass_mg else 0 end)
  from entry join account on account.id = entry.account_id join movement on movement.id = entry.movement_id
  where account.kind in ('lot', 'piece') group by account.owner_id, DAY, movement.kind, entry.element"""


def upgrade() -> None:
    """Add the kind to the balances, make the totals and fill them, and make the indexes."""
    _kinds()
    _holdings()
    _day_totals()
    if op.get_bind().dialect.name == "postgresql":  # names in the order of their bytes, so that a beginning is a range
        op.create_index("ix_account_name_plain", "account", [sa.text('name collate "C"')])
        op.create_index("ix_intake_piece_plain", "intake", [sa.text('piece collate "C"')])
    # All that a search by title looks at, so that it passes over the rest of a row.
    op.create_index("ix_intake_title", "intake", ["title", "piece", "owner_id"])
    op.create_index("ix_money_movement_mark", "money", ["movement_mark"])
    op.create_index("ix_lot_number", "lot", [sa.text("length(id)"), "id"])


def _kinds() -> None:
    op.add_column("balance", sa.Column("kind", _KIND, nullable=False, server_default=sa.text("''")))
    op.execute("update balance set kind = (select account.kind from account where account.id = balance.account_id)")
    # What lies in the drawer now, among all the lots that there ever were.
    drawer = sa.and_(sa.column("kind") == sa.literal_column("'lot'"), sa.column("mass_mg") != sa.literal_column("0"))
    op.create_index("ix_balance_drawer", "balance", ["account_id"], sqlite_where=drawer, postgresql_where=drawer)


def _holdings() -> None:
    op.create_table(
        "holding",
        sa.Column("owner_id", _NAME, sa.ForeignKey("owner.id"), primary_key=True),
        sa.Column("kind", _KIND, primary_key=True),
        sa.Column("element", sa.String(4), primary_key=True),
        sa.Column("mass_mg", sa.BigInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    op.execute(
        "insert into holding (owner_id, kind, element, mass_mg) "
        "select account.owner_id, account.kind, entry.element, sum(entry.mass_mg) "
        "from entry join account on account.id = entry.account_id "
        "group by account.owner_id, account.kind, entry.element"
    )


def _day_totals() -> None:
    op.create_table(
        "day_total",
        sa.Column("owner_id", _NAME, sa.ForeignKey("owner.id"), primary_key=True),
        sa.Column("day", sa.Date, primary_key=True),
        sa.Column("kind", _KIND, primary_key=True),
        sa.Column("element", sa.String(4), primary_key=True),
        sa.Column("in_mg", sa.BigInteger, nullable=False),
        sa.Column("out_mg", sa.BigInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    op.execute(_FILL_DAYS.replace("DAY", _DAY[op.get_bind().dialect.name]))
