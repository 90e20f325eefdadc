"""The tables of the records. Rows are added, never changed: a mistake is taken back by a row with a reason.

Every record has a head in ``record`` (what it is about, when it happened, who wrote it) and its own row beside it.
Files lie in the studio's folder under their hash; here stands only that hash.
"""

from __future__ import annotations

from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, Index, Integer, String, Table, Text

from pourwright.books.tables import Moment, metadata

_KEY = BigInteger().with_variant(Integer, "sqlite")
_NAME = String(80)
_WORD = String(24)


def _head() -> Column[int]:
    return Column("record_id", _KEY, ForeignKey("record.id"), primary_key=True, autoincrement=False)


record = Table(
    "record",
    metadata,
    Column("id", _KEY, primary_key=True, autoincrement=True),
    Column("mark", String(64), nullable=False, unique=True),
    Column("kind", _WORD, nullable=False),
    Column("subject", _NAME, nullable=False),
    Column("happened_at", Moment, nullable=False, index=True),
    Column("noted_at", Moment, nullable=False),
    Column("made_by", _NAME, nullable=False),
    Column("reason", Text, nullable=False, default=""),
    Column("reverses_id", _KEY, ForeignKey("record.id"), unique=True),
    Index("ix_record_subject_kind", "subject", "kind"),
)

kept_file = Table(
    "kept_file",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("ending", String(8), nullable=False, default=""),
    Column("bytes_count", BigInteger, nullable=False),
)

intake = Table(
    "intake",
    metadata,
    _head(),
    Column("piece", _NAME, nullable=False, unique=True),
    Column("owner_id", _NAME, ForeignKey("owner.id"), nullable=False, index=True),
    Column("title", Text, nullable=False, default=""),
    Column("material", _NAME, nullable=False, default=""),
    Column("pattern_mg", BigInteger),
    Column("pattern_sha256", String(64), ForeignKey("kept_file.sha256")),
    Column("recast", _WORD, nullable=False),
    Column("agreed_by", _NAME, nullable=False),
    Column("consent_version", String(8), nullable=False),
    Column("consent_sha256", String(64), ForeignKey("kept_file.sha256"), nullable=False),
)

piece_state = Table(
    "piece_state",
    metadata,
    _head(),
    Column("state", _WORD, nullable=False, index=True),
    Column("place", Text, nullable=False, default=""),
    Column("load", _NAME, nullable=False, default="", index=True),
)

weighing = Table(
    "weighing",
    metadata,
    _head(),
    Column("stage", _WORD, nullable=False),
    Column("mass_mg", BigInteger, nullable=False),
    Column("error_mg", BigInteger, nullable=False),
)

# Value as digits, or as a moment in UTC; the unit is the ending of core.units that the quantity has.
actual = Table(
    "actual",
    metadata,
    _head(),
    Column("quantity", _WORD, nullable=False),
    Column("value", String(40), nullable=False),
    Column("unit", String(16), nullable=False, default=""),
)

outcome = Table(
    "outcome",
    metadata,
    _head(),
    Column("result", _WORD, nullable=False),
    CheckConstraint("result in ('good', 'flawed', 'failed')", name="result"),
)

# Place in micrometres in the pattern's own axes, where somebody measured it.
defect_seen = Table(
    "defect_seen",
    metadata,
    _head(),
    Column("defect", _WORD, nullable=False),
    Column("severity", _WORD, nullable=False),
    Column("region", Text, nullable=False, default=""),
    Column("x_um", BigInteger),
    Column("y_um", BigInteger),
    Column("z_um", BigInteger),
    CheckConstraint("severity in ('slight', 'plain', 'spoils')", name="severity"),
)

incident = Table(
    "incident",
    metadata,
    _head(),
    Column("weight", _WORD, nullable=False),
    Column("role", _NAME, nullable=False, default=""),
    Column("what", Text, nullable=False),
    Column("next_time", Text, nullable=False, default=""),
    CheckConstraint("weight in ('incident', 'near-miss')", name="weight"),
)

attachment = Table(
    "attachment",
    metadata,
    _head(),
    Column("kind", _WORD, nullable=False),
    Column("sha256", String(64), ForeignKey("kept_file.sha256"), nullable=False, index=True),
    Column("name", Text, nullable=False, default=""),
)

RECORD_TABLES = (
    record, kept_file, intake, piece_state, weighing, actual, outcome, defect_seen, incident, attachment,
)  # fmt: skip
