"""Weighings of a load as they were read, with what the scale may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.records.checksum import STAGES
from pourwright.books.records.entering import enter, standing
from pourwright.books.records.tables import record, weighing
from pourwright.core.figure import Figure, given


@dataclass(frozen=True)
class Weighing:
    """One reading: at which stage, how much, how far the scale may be off, when and by whom."""

    load: str
    stage: str
    mass_mg: int
    error_mg: int
    happened_at: datetime
    made_by: str
    mark: str

    @property
    def figure(self) -> Figure:
        """The reading with its range."""
        ends = (self.mass_mg - self.error_mg, self.mass_mg + self.error_mg)
        return given(
            self.mass_mg / 1000, "g", self.mark, ends[0] / 1000, ends[1] / 1000, ("studio",), how="books.how-read"
        )


def weigh(
    connection: Connection,
    load: str,
    stage: str,
    mass_mg: int,
    error_mg: int,
    made_by: str,
    happened_at: datetime | None = None,
    reason: str = "",
    mark: str = "",
) -> str:
    """Enter a weighing, and return its mark.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    load, stage : str
        Flask load, and one of :data:`pourwright.books.records.checksum.STAGES`.
    mass_mg, error_mg : int
        As read, and how far the scale may be off either way.
    made_by, happened_at, reason, mark
        As for :func:`pourwright.books.records.entering.enter`.

    Raises
    ------
    LedgerError
        There is no such stage, or nothing was on the scale.
    """
    if stage not in STAGES:
        raise refused("books.weighing-stage", stage, stage=stage, stages=", ".join(STAGES))
    if mass_mg <= 0:
        raise refused("books.weighing-nothing", load, stage=stage)
    row = {"stage": stage, "mass_mg": mass_mg, "error_mg": error_mg}
    return enter(connection, "weighing", load, made_by, weighing, row, happened_at, reason, mark)


def weighings(connection: Connection, loads: Sequence[str]) -> dict[str, dict[str, Weighing]]:
    """Return of each load the last standing reading of each stage."""
    rows = connection.execute(
        sa.select(
            record.c.subject,
            weighing.c.stage,
            weighing.c.mass_mg,
            weighing.c.error_mg,
            record.c.happened_at,
            record.c.made_by,
            record.c.mark,
        )
        .join(weighing, weighing.c.record_id == record.c.id)
        .where(record.c.subject.in_(loads), record.c.kind == "weighing", standing())
        .order_by(record.c.happened_at, record.c.id)
    )
    found: dict[str, dict[str, Weighing]] = {one: {} for one in loads}
    for row in rows:
        found[row.subject][row.stage] = Weighing(*row)
    return found
