"""Planned, simulated and actual side by side, with the difference and whether it lies in the range that was stated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import movement_by
from pourwright.books.records.actuals import QUANTITIES, TIME, Actual, actuals
from pourwright.books.records.checksum import STAGES, WeighedLoad, expected_g
from pourwright.books.records.intake import intakes
from pourwright.books.records.plans import KeptPlan, LoadSetup, pattern_figure
from pourwright.books.records.weighings import weighings
from pourwright.books.tables import account, entry, movement
from pourwright.core.figure import Figure, given
from pourwright.prepare.plan_file import rounded

# Moments are planned to the minute.
_SAME_MIN = 1.0


@dataclass(frozen=True)
class Compared:
    """One number, or one moment, three ways.

    Parameters
    ----------
    subject, quantity, unit : str
        What it is; ``unit`` is ``time`` for a moment, whose difference is in minutes.
    figure : Figure or None
        As planned, with the range within which the plan holds.
    planned_at : datetime or None
        A moment as planned.
    simulated, actual : Decimal or None
        In ``unit``.
    actual_at : datetime or None
        A moment as it was.
    """

    subject: str
    quantity: str
    unit: str
    figure: Figure | None = None
    planned_at: datetime | None = None
    simulated: Decimal | None = None
    actual: Decimal | None = None
    actual_at: datetime | None = None

    @property
    def difference(self) -> Decimal | None:
        """Actual less planned, in the unit (minutes for a moment); None where one is lacking."""
        if self.planned_at is not None and self.actual_at is not None:
            return round(Decimal((self.actual_at - self.planned_at).total_seconds()) / 60, 1)
        if self.figure is None or self.actual is None:
            return None
        return self.actual - Decimal(str(rounded(self.figure.value, self.figure.unit)))

    @property
    def verdict(self) -> str:
        """``inside``, ``below`` or ``above`` the range, ``earlier`` or ``later``; empty where nothing can be said."""
        difference = self.difference
        if difference is None:
            return ""
        if self.figure is None:
            return "inside" if abs(difference) <= _SAME_MIN else ("earlier" if difference < 0 else "later")
        actual = float(self.actual or 0)
        low, high = (rounded(one, self.figure.unit) for one in (self.figure.low, self.figure.high))
        return "below" if actual < low else "above" if actual > high else "inside"


def compare(connection: Connection, plan: KeptPlan) -> tuple[Compared, ...]:
    """Return everything that a kept plan says and somebody read: of the day, its loads and its pieces."""
    read = actuals(connection, (plan.day, *plan.loads))
    rows = [*_quantities(plan, plan.day, "day", read)]
    for load, weighed in weighed_loads(connection, plan).items():
        rows += _quantities(plan, load, "load", read)
        rows += _weighed(load, weighed)
    return (*rows, *_pieces(connection, plan))


def weighed_loads(connection: Connection, plan: KeptPlan) -> dict[str, WeighedLoad]:
    """Return every load that the plan can set up, with what was read of it, mixed as it was really mixed."""
    read, readings = actuals(connection, plan.loads), weighings(connection, plan.loads)
    found = {}
    for load in plan.loads:
        setup = plan.setup(load)
        if setup is not None:
            figures = {stage: one.figure for stage, one in readings[load].items()}
            found[load] = WeighedLoad(_as_mixed(setup, read), figures)
    return found


def _as_mixed(setup: LoadSetup, read: Mapping[tuple[str, str], Actual]) -> LoadSetup:
    """Return a load with the water ratio as it was weighed, where powder and water both were."""
    powder, water = (read.get((setup.load, name)) for name in ("powder", "water"))
    if powder is None or water is None or not powder.value or water.value is None:
        return setup
    ratio = given(float(water.value / powder.value), "ratio", water.mark, sources=("studio",), how="books.how-mixed")
    return replace(setup, water_ratio=ratio)


def _quantities(plan: KeptPlan, subject: str, of: str, read: Mapping[tuple[str, str], Actual]) -> Iterator[Compared]:
    for what in QUANTITIES.values():
        found = read.get((subject, what.id))
        planned = what.planned(plan, subject) if what.of == of else None
        simulated = what.simulated(plan, subject) if what.of == of else None
        if found is None and planned is None and simulated is None:
            continue
        yield Compared(
            subject,
            what.id,
            what.unit,
            planned if isinstance(planned, Figure) else None,
            planned if isinstance(planned, datetime) else None,
            None if simulated is None else Decimal(str(simulated)),
            found.value if found else None,
            found.at if found and what.unit == TIME else None,
        )


def _weighed(load: str, one: WeighedLoad) -> Iterator[Compared]:
    should = expected_g(one)
    for stage in (name for name in STAGES if name in should or name in one.read):
        actual = Decimal(str(round(one.read[stage].value, 3))) if stage in one.read else None
        yield Compared(load, f"weighed-{stage}", "g", should.get(stage), actual=actual)


def _pieces(connection: Connection, plan: KeptPlan) -> Iterator[Compared]:
    patterns = {one.piece: one.pattern_mg for one in intakes(connection, plan.pieces)} if plan.pieces else {}
    cast = cast_mg(connection, plan.pieces)
    for piece in plan.pieces:
        yield Compared(piece, "pattern-mass", "g", pattern_figure(plan, piece), actual=_grams(patterns.get(piece)))
        yield Compared(piece, "piece-mass", "g", plan.figure(f"pieces.{piece}.cast_g"), actual=_grams(cast.get(piece)))


def _grams(mass_mg: int | None) -> Decimal | None:
    return None if mass_mg is None else Decimal(mass_mg) / 1000


def cast_mg(connection: Connection, pieces: tuple[str, ...]) -> dict[str, int]:
    """Return what pieces weighed when their pour was booked, by the ledger [mg]; pours taken back do not count."""
    back = movement.alias("back")
    rows = connection.execute(
        sa.select(account.c.name, sa.func.sum(entry.c.mass_mg).label("mass_mg"))
        .join(entry, entry.c.account_id == account.c.id)
        .join(movement, movement.c.id == entry.c.movement_id)
        .where(
            account.c.name.in_([f"piece:{one}" for one in pieces]),
            movement.c.kind == "poured",
            ~sa.exists().where(back.c.reverses_id == movement.c.id),
        )
        .group_by(account.c.name)
    )
    return {row.name.removeprefix("piece:"): int(row.mass_mg) for row in rows}


def pour_of(connection: Connection, piece: str) -> Any:
    """Return the movement of the pour that a piece came from, None if there is none that stands."""
    back = movement.alias("back")
    mark = connection.execute(
        sa.select(movement.c.mark)
        .join(entry, entry.c.movement_id == movement.c.id)
        .join(account, account.c.id == entry.c.account_id)
        .where(
            account.c.name == f"piece:{piece}",
            movement.c.kind == "poured",
            ~sa.exists().where(back.c.reverses_id == movement.c.id),
        )
        .limit(1)
    ).scalar()
    return None if mark is None else movement_by(connection, mark)
