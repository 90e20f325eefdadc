"""Records: intake, states of pieces, weighings, actual values, outcomes, defects, incidents, files by hash."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

_KEY = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_NAME = sa.String(80)
_WORD = sa.String(24)
_KEPT = (
    "record", "kept_file", "intake", "piece_state", "weighing", "actual", "outcome", "defect_seen", "incident",
    "attachment",
)  # fmt: skip


def upgrade() -> None:
    """Make the tables; the database itself refuses to change what stands in them."""
    _heads()
    _pieces()
    _numbers()
    _seen()
    for table in _KEPT:
        _refuse_changes(table)


def _head() -> sa.Column[int]:
    return sa.Column("record_id", _KEY, sa.ForeignKey("record.id"), primary_key=True, autoincrement=False)


def _text(name: str, kind: sa.types.TypeEngine[str] | type[sa.Text] = sa.Text) -> sa.Column[str]:
    return sa.Column(name, kind, nullable=False)


def _heads() -> None:
    op.create_table(
        "record",
        sa.Column("id", _KEY, primary_key=True, autoincrement=True),
        sa.Column("mark", sa.String(64), nullable=False, unique=True),
        _text("kind", _WORD),
        _text("subject", _NAME),
        sa.Column("happened_at", sa.DateTime(timezone=True), nullable=False, index=True),
        sa.Column("noted_at", sa.DateTime(timezone=True), nullable=False),
        _text("made_by", _NAME),
        _text("reason"),
        sa.Column("reverses_id", _KEY, sa.ForeignKey("record.id"), unique=True),
    )
    op.create_index("ix_record_subject_kind", "record", ["subject", "kind"])
    op.create_table(
        "kept_file",
        sa.Column("sha256", sa.String(64), primary_key=True),
        _text("ending", sa.String(8)),
        sa.Column("bytes_count", sa.BigInteger, nullable=False),
    )


def _pieces() -> None:
    file = sa.ForeignKey("kept_file.sha256")
    op.create_table(
        "intake",
        _head(),
        sa.Column("piece", _NAME, nullable=False, unique=True),
        sa.Column("owner_id", _NAME, sa.ForeignKey("owner.id"), nullable=False, index=True),
        _text("title"),
        _text("material", _NAME),
        sa.Column("pattern_mg", sa.BigInteger),
        sa.Column("pattern_sha256", sa.String(64), file),
        _text("recast", _WORD),
        _text("agreed_by", _NAME),
        _text("consent_version", sa.String(8)),
        sa.Column("consent_sha256", sa.String(64), sa.ForeignKey("kept_file.sha256"), nullable=False),
    )
    op.create_table(
        "piece_state",
        _head(),
        sa.Column("state", _WORD, nullable=False, index=True),
        _text("place"),
        sa.Column("load", _NAME, nullable=False, index=True),
    )


def _numbers() -> None:
    op.create_table(
        "weighing",
        _head(),
        _text("stage", _WORD),
        sa.Column("mass_mg", sa.BigInteger, nullable=False),
        sa.Column("error_mg", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "actual",
        _head(),
        _text("quantity", _WORD),
        _text("value", sa.String(40)),
        _text("unit", sa.String(16)),
    )


def _seen() -> None:
    op.create_table(
        "outcome",
        _head(),
        _text("result", _WORD),
        sa.CheckConstraint("result in ('good', 'flawed', 'failed')", name="result"),
    )
    op.create_table(
        "defect_seen",
        _head(),
        _text("defect", _WORD),
        _text("severity", _WORD),
        _text("region"),
        *(sa.Column(f"{axis}_um", sa.BigInteger) for axis in "xyz"),
        sa.CheckConstraint("severity in ('slight', 'plain', 'spoils')", name="severity"),
    )
    op.create_table(
        "incident",
        _head(),
        _text("weight", _WORD),
        _text("role", _NAME),
        _text("what"),
        _text("next_time"),
        sa.CheckConstraint("weight in ('incident', 'near-miss')", name="weight"),
    )
    op.create_table(
        "attachment",
        _head(),
        _text("kind", _WORD),
        sa.Column("sha256", sa.String(64), sa.ForeignKey("kept_file.sha256"), nullable=False, index=True),
        _text("name"),
    )


def _refuse_changes(table: str) -> None:
    """Let the database itself refuse to change or drop a record (PostgreSQL: function of migration 0001)."""
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
