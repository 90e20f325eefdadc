"""What really happened, number by number, beside what was planned and what was simulated."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.records.entering import enter, standing
from pourwright.books.records.plans import KeptPlan
from pourwright.books.records.tables import actual, record
from pourwright.core.figure import Figure, given

TIME = "time"
Planned = Figure | datetime | None


def _nothing(_plan: KeptPlan, _subject: str) -> None:
    """Say nothing: the plan has no such number."""


@dataclass(frozen=True)
class Quantity:
    """Something that is planned and then read: its unit (or :data:`TIME`), what it is of, where the plan has it.

    ``simulated`` finds the number of a simulation; ``unit`` is an ending of :mod:`pourwright.core.units`.
    """

    id: str
    unit: str
    of: str
    planned: Callable[[KeptPlan, str], Planned] = _nothing
    simulated: Callable[[KeptPlan, str], float | None] = _nothing


@dataclass(frozen=True)
class Actual:
    """A value as it was read: ``value`` a number in ``unit``, or ``at`` a moment."""

    subject: str
    quantity: str
    value: Decimal | None
    at: datetime | None
    unit: str
    happened_at: datetime
    made_by: str
    mark: str


def _figure(path: str) -> Callable[[KeptPlan, str], Planned]:
    return lambda plan, subject: plan.figure(path.format(subject))


def _moment(name: str) -> Callable[[KeptPlan, str], Planned]:
    return lambda plan, subject: _moment_of(plan.flask(subject).get(name))


def _moment_of(text: object) -> datetime | None:
    return datetime.fromisoformat(text) if isinstance(text, str) else None


def _between(path: str, low: str, high: str) -> Callable[[KeptPlan, str], Planned]:
    """Return a reader of a figure whose range is given by two others: within it the plan holds."""

    def read(plan: KeptPlan, subject: str) -> Planned:
        best, least, most = (plan.figure(one.format(subject)) for one in (path, low, high))
        if best is None or least is None or most is None:
            return best
        return given(best.value, best.unit, best.origin, least.value, most.value, best.sources, best.how)

    return read


def _pour_temperature(plan: KeptPlan, load: str) -> Planned:
    return plan.figure(f"flasks.{load}.need.ceiling_g/liquid/range/pour_temperature")


def _frozen(name: str) -> Callable[[KeptPlan, str], float | None]:
    """Return a reader of a time of the freezing run: the plan holds the number, the run's own file a figure."""

    def read(plan: KeptPlan, load: str) -> float | None:
        value = (plan.flask(load).get("freeze") or {}).get(name)
        return value.get("value") if isinstance(value, Mapping) else value

    return read


_QUENCH = "flasks.{}.quench."
_ALL = (
    Quantity("lit-at", TIME, "day", lambda plan, _: plan.moment("burnout", "light_at")),
    Quantity("invested-at", TIME, "day", lambda plan, _: plan.moment("burnout", "invest_by")),
    Quantity("top-temperature", "C", "day", _figure("burnout.top_true_C")),
    Quantity("room", "C", "day", _figure("day.room_C")),
    Quantity("powder", "g", "load", _figure("mix.flasks.{}.powder_g")),
    Quantity("water", "g", "load", _figure("mix.flasks.{}.water_g")),
    Quantity("flask-temperature", "C", "load", _figure("flasks.{}.flask_temperature_C")),
    Quantity("pour-temperature", "C", "load", _pour_temperature),
    Quantity("pour-at", TIME, "load", _moment("pour_at")),
    Quantity("charge", "g", "load", _between("flasks.{}.need.charge_g", "flasks.{}.need.floor_g",
                                             "flasks.{}.need.ceiling_g")),
    Quantity("turns", "turns", "load", _between("flasks.{}.throw.wind_turns", "flasks.{}.throw.wind_low_turns",
                                                "flasks.{}.throw.wind_limit_turns")),
    Quantity("weight-mark", "mm", "load", _figure("flasks.{}.throw.balance.mark_mm")),
    Quantity("melt-time", "min", "load"),
    Quantity("spin-time", "s", "load", simulated=_frozen("last_solid_s")),
    Quantity("quench-after", "min", "load",
             _between(f"{_QUENCH}earliest_min", f"{_QUENCH}earliest_min", f"{_QUENCH}latest_min"),
             _frozen("quench_from_min")),
)  # fmt: skip
QUANTITIES: Mapping[str, Quantity] = {one.id: one for one in _ALL}


def quantity(name: str) -> Quantity:
    """Return a quantity by its id.

    Raises
    ------
    LedgerError
        There is none.
    """
    if name not in QUANTITIES:
        raise refused("books.quantity-unknown", name, name=name, names=", ".join(QUANTITIES))
    return QUANTITIES[name]


def enter_actual(
    connection: Connection,
    subject: str,
    name: str,
    value: Decimal | datetime,
    made_by: str,
    happened_at: datetime | None = None,
    reason: str = "",
    mark: str = "",
) -> str:
    """Enter what was read of a quantity, and return the mark; a later one counts in place of an earlier.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    subject, name : str
        Day, load, and one of :data:`QUANTITIES`.
    value : Decimal or datetime
        In the quantity's unit, or the moment.
    made_by, happened_at, reason, mark
        As for :func:`pourwright.books.records.entering.enter`.

    Raises
    ------
    LedgerError
        The quantity is not known, or the subject or value is not of its kind.
    """
    what = quantity(name)
    if (what.unit == TIME) is not isinstance(value, datetime):
        raise refused("books.quantity-kind", name, name=name)
    if what.of != ("day" if len(subject) == len("2026-12-05") else "load"):
        raise refused("books.quantity-subject", subject, name=name, of=what.of, subject=subject)
    if isinstance(value, datetime):
        row = {"quantity": name, "value": value.isoformat(timespec="seconds"), "unit": TIME}
    else:
        row = {"quantity": name, "value": format(value, "f"), "unit": what.unit}
    return enter(connection, "actual", subject, made_by, actual, row, happened_at, reason, mark)


def actuals(connection: Connection, subjects: Sequence[str]) -> dict[tuple[str, str], Actual]:
    """Return the standing value of each quantity of each subject that was entered last."""
    rows = connection.execute(
        sa.select(record.c.subject, actual.c.quantity, actual.c.value, actual.c.unit, record.c.happened_at,
                  record.c.made_by, record.c.mark)
        .join(actual, actual.c.record_id == record.c.id)
        .where(record.c.subject.in_(subjects), record.c.kind == "actual", standing())
        .order_by(record.c.id)
    )  # fmt: skip
    return {(row.subject, row.quantity): _read(row) for row in rows}


def _read(row: Any) -> Actual:
    at = datetime.fromisoformat(row.value) if row.unit == TIME else None
    try:
        number = None if at else Decimal(row.value)
    except InvalidOperation:
        number = None
    return Actual(row.subject, row.quantity, number, at, row.unit, row.happened_at, row.made_by, row.mark)
