"""A day at the doors: weighings with their checksum, actual values, and planned beside actual."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from pourwright.books.records.actuals import TIME, enter_actual, quantity
from pourwright.books.records.checksum import STAGES, expected_g, judge, metal_g
from pourwright.books.records.comparing import Compared, compare, weighed_loads
from pourwright.books.records.plans import KeptPlan
from pourwright.books.records.weighings import Weighing, weigh, weighings
from pourwright.core.errors import LedgerError, UnitError
from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import SUFFIXES, UnclearUnitError, read, show
from pourwright.doors.service.books.opening import BookAnswer, findings_of, refused
from pourwright.doors.service.books.typed import columns, typed_mg
from pourwright.doors.service.records.opening import Room, moment, reading, writing
from pourwright.doors.service.records.plans import kept_plan
from pourwright.prepare.plan_file import rounded

_NOTHING = "\u2013"


def weigh_load(
    told: str, load: str, stage: str, mass: str, scale: str, by: str, why: str = "", at: str = "", mark: str = ""
) -> BookAnswer:
    """Enter a weighing of a load, and say what it says.

    Parameters
    ----------
    told, load, stage, by, at, mark : str
        As for :func:`pourwright.books.records.weighings.weigh`.
    mass, scale : str
        As read, and one mark of the scale: the reading may be off by half of it.
    why : str
        What should be remembered.
    """
    found: list[Finding] = []
    mass_mg, mark_mg = typed_mg(mass, "MASS", found), typed_mg(scale, "--scale", found)

    def work(room: Room) -> BookAnswer:
        done = weigh(room.connection, load, stage, mass_mg, -(-mark_mg // 2), by, moment(at, room.zone), why, mark)
        document, text, says = _judged(room, load, stage)
        return BookAnswer({"mark": done, **document}, text, says)

    return writing(told, work, tuple(found), must_exist=False)


def weighings_of(told: str, load: str) -> BookAnswer:
    """Return the weighings of a load beside what they should be, and all that they say."""

    def work(room: Room) -> BookAnswer:
        document, text, says = _judged(room, load, "")
        return BookAnswer(document, text, says)

    return reading(told, work)


def _judged(room: Room, load: str, stage: str) -> tuple[dict[str, Any], str, tuple[Finding, ...]]:
    """Return a load's weighings as document and text, and what one stage (or every one) says."""
    plan, says = _plan_or_why_not(room, load[:10])
    readings = weighings(room.connection, (load,))[load]
    known = weighed_loads(room.connection, plan) if plan else {}
    this = known.get(load)
    if this is None:
        says = says or (Finding("doors.record-no-setup", Level.NOTE, load, {"load": load}),)
        return _weighed_json(load, readings, {}, None), _weighed_text(readings, {}), says
    others = [one for name, one in known.items() if name != load]
    says = tuple(finding for one in ((stage,) if stage else STAGES) for finding in judge(this, one, others))
    should = expected_g(this)
    return _weighed_json(load, readings, should, metal_g(this)), _weighed_text(readings, should), says


def _plan_or_why_not(room: Room, day: str) -> tuple[KeptPlan | None, tuple[Finding, ...]]:
    """Return a day's kept plan; one that is damaged is said, but keeps nobody from writing down what a scale reads."""
    try:
        return kept_plan(room, day), ()
    except LedgerError as stop:
        return None, tuple(replace(one, level=Level.LOOK) for one in findings_of(stop))


def _weighed_json(
    load: str, read_ones: Mapping[str, Weighing], should: Mapping[str, Figure], metal: Figure | None
) -> dict[str, Any]:
    rows = [_stage_json(stage, read_ones.get(stage), should.get(stage)) for stage in STAGES]
    return {"load": load, "weighings": rows, "metal_in_mould": None if metal is None else _figure_json(metal)}


def _stage_json(stage: str, one: Weighing | None, should: Figure | None) -> dict[str, Any]:
    return {
        "stage": stage,
        "read_g": None if one is None else one.mass_mg / 1000,
        "error_g": None if one is None else one.error_mg / 1000,
        "weighed_at": None if one is None else one.happened_at.isoformat(),
        "by": "" if one is None else one.made_by,
        "mark": "" if one is None else one.mark,
        "expected": None if should is None else _figure_json(should),
    }


def _figure_json(figure: Figure) -> dict[str, Any]:
    ends = {name: rounded(getattr(figure, name), figure.unit) for name in ("value", "low", "high")}
    return {f"{name}_{figure.unit}": value for name, value in ends.items()} | {"how": say(figure.how)}


def _weighed_text(read_ones: Mapping[str, Weighing], should: Mapping[str, Figure]) -> str:
    rows = [tuple(say(f"doors.record-head.{name}") for name in ("weighing", "read", "expected", "range"))]
    for stage in STAGES:
        one, figure = read_ones.get(stage), should.get(stage)
        rows.append(
            (
                stage,
                _NOTHING if one is None else show(one.mass_mg / 1000, "g", 2),
                _NOTHING if figure is None else show(figure.value, "g", 1),
                _NOTHING if figure is None else _ends(figure, "g"),
            )
        )
    return columns(rows, right=(1, 2))


def _ends(figure: Figure, unit: str, digits: int | None = 1) -> str:
    return f"{show(figure.low, unit, digits)} \u2013 {show(figure.high, unit, digits)}"


def enter(
    told: str, subject: str, name: str, value: str, by: str, why: str = "", at: str = "", mark: str = ""
) -> BookAnswer:
    """Enter what was read of a quantity, as typed: a number with its unit, or a moment."""

    def work(room: Room) -> BookAnswer:
        what = quantity(name)
        number = moment_value(value, room.zone) if what.unit == TIME else number_value(value, what.unit)
        done = enter_actual(room.connection, subject, name, number, by, moment(at, room.zone), why, mark)
        text = say("doors.record-entered", subject=subject, name=name, value=value)
        return BookAnswer({"mark": done, "subject": subject, "quantity": name, "unit": what.unit}, text)

    return writing(told, work, must_exist=False)


def moment_value(text: str, zone: str) -> datetime:
    """Return a moment that was typed as a value, in UTC.

    Raises
    ------
    LedgerError
        It is none.
    """
    found = moment(text, zone, "VALUE")
    if found is None:
        raise refused("doors.record-moment", "VALUE", text=text)
    return found


def number_value(text: str, unit: str) -> Decimal:
    """Return a number that was typed as a value, in a unit of :data:`pourwright.core.units.SUFFIXES`.

    Raises
    ------
    LedgerError
        It is none, or has no unit, or one of another kind.
    """
    try:
        return Decimal(str(round(read(text, SUFFIXES[unit], "VALUE"), 6)))
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        finding = Finding("doors.record-amount", level, "VALUE", {"reason": str(problem)})
        raise LedgerError(finding.what, (finding,)) from None


def compare_day(told: str, subject: str) -> BookAnswer:
    """Return planned, simulated and actual of a day side by side, or of one load or piece of it."""

    def work(room: Room) -> BookAnswer:
        plan = kept_plan(room, subject[:10])
        if plan is None:
            return BookAnswer({}, "", (Finding("doors.record-no-kept-plan", Level.STOP, subject),))
        inside = {subject, *plan.flask(subject).get("pieces", ())}
        rows = [one for one in compare(room.connection, plan) if subject == plan.day or one.subject in inside]
        text = _compared_text(room, rows) if rows else say("doors.record-none")
        return BookAnswer({"day": plan.day, "rows": [_compared_json(one) for one in rows]}, text)

    return reading(told, work)


def _compared_json(one: Compared) -> dict[str, Any]:
    row: dict[str, Any] = {"subject": one.subject, "quantity": one.quantity}
    if one.unit == TIME:
        row |= {
            "planned_at": one.planned_at.isoformat() if one.planned_at else None,
            "actual_at": one.actual_at.isoformat() if one.actual_at else None,
            "difference_min": None if one.difference is None else float(one.difference),
        }
    else:
        figure, unit = one.figure, one.unit
        ends = {"planned": None, "low": None, "high": None} if figure is None else {
            "planned": figure.value, "low": figure.low, "high": figure.high
        }  # fmt: skip
        row |= {f"{name}_{unit}": None if end is None else rounded(end, unit) for name, end in ends.items()}
        for name in ("simulated", "actual", "difference"):
            number = getattr(one, name)
            row[f"{name}_{unit}"] = None if number is None else float(number)
    return row | {"verdict": one.verdict}


def _compared_text(room: Room, rows: list[Compared]) -> str:
    heads = ("subject", "quantity", "planned", "range", "simulated", "actual", "difference", "verdict")
    lines = [tuple(say(f"doors.record-head.{name}") for name in heads)]
    lines += [_compared_row(room, one) for one in rows]
    return columns(lines, right=(2, 4, 5, 6))


def _compared_row(room: Room, one: Compared) -> tuple[str, ...]:
    verdict = say(f"doors.record-verdict.{one.verdict}") if one.verdict else _NOTHING
    if one.unit == TIME:
        planned, actual = (room.shown(at) if at else _NOTHING for at in (one.planned_at, one.actual_at))
        gap = _NOTHING if one.difference is None else show(float(one.difference), "min", 0)
        return (one.subject, one.quantity, planned, _NOTHING, _NOTHING, actual, gap, verdict)
    figure, unit = one.figure, one.unit
    numbers = (_shown(number, unit) for number in (one.simulated, one.actual, one.difference))
    planned, ends = _NOTHING, _NOTHING
    if figure is not None:
        planned, ends = show(figure.value, unit, _digits(unit)), _ends(figure, unit, _digits(unit))
    return (one.subject, one.quantity, planned, ends, *numbers, verdict)


def _shown(number: Decimal | None, unit: str) -> str:
    return _NOTHING if number is None else show(float(number), unit, _digits(unit))


def _digits(unit: str) -> int | None:
    return {"g": 2, "C": 0, "mm": 1, "min": 1, "s": 0}.get(unit)
