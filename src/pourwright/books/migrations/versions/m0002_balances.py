"""Balances kept beside the entries, so that a page need not add up a year of movements."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_KEY = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the table and fill it from the entries."""
    op.create_table(
        "balance",
        sa.Column("account_id", _KEY, sa.ForeignKey("account.id"), primary_key=True),
        sa.Column("element", sa.String(4), primary_key=True),
        sa.Column("mass_mg", sa.BigInteger, nullable=False),
        sqlite_with_rowid=False,
    )
    op.execute(
        "insert into balance (account_id, element, mass_mg) "
        "select account_id, element, sum(mass_mg) from entry group by account_id, element"
    )
