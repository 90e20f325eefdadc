"""When each flask is poured and how hot: the order, the set-points of the kiln, and whether all fits the class."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show, show_in
from pourwright.prepare.casting_temperature import FlaskWish, Window, wish_of_flask
from pourwright.prepare.day_plan import Pouring
from pourwright.prepare.flasking.pour_order import MOST_TRIED_COUNT, Pace, PourGroup, PourOrder, SetPoint, order_pours
from pourwright.prepare.flasking.results import FlaskGroup
from pourwright.prepare.mould.loads import CastingStop
from pourwright.prepare.mould.stops import fall_min
from pourwright.prepare.mould.wall_clock import before, minutes_between_min, on_the_wall
from pourwright.prepare.rule_figures import total_of
from pourwright.studio.day import Day
from pourwright.studio.profile import Kiln, Studio

_MINUTES_PER_HOUR = 60.0
_SAME_min = 0.5
_END = "done_by"  # key of the day file


@dataclass(frozen=True)
class PourPlan:
    """The groups in the order of their pours, and by steel flask the temperature and the minutes after the first pour.

    ``stops`` name steel flasks; they get the ids of the loads once those have their numbers.
    """

    groups: tuple[FlaskGroup, ...]
    temperature_C: Mapping[str, Figure]
    after_min: Mapping[str, float]
    stops: tuple[CastingStop, ...]
    pouring: Pouring


@dataclass(frozen=True)
class _Case:
    """What an order is made from: wishes by steel flask, the groups, the kiln."""

    studio: Studio
    day: Day
    kiln: Kiln
    groups: Mapping[str, FlaskGroup]
    wishes: Mapping[str, FlaskWish]

    @property
    def pace(self) -> Pace:
        habits = self.studio.habits
        return Pace(
            self.kiln.cooling_C_h.value / _MINUTES_PER_HOUR,
            habits.soak_at_casting_min.value,
            habits.minutes_per_pour_min.value,
        )


def plan_pours(
    studio: Studio, day: Day, groups: Sequence[FlaskGroup], windows: Mapping[str, Window]
) -> tuple[PourPlan | None, tuple[Finding, ...]]:
    """Choose flask temperatures and the order of the pours.

    Parameters
    ----------
    studio : Studio
        Its kiln's rate of cooling, the soak and the minutes that a pour takes.
    day : Day
        May give one flask temperature for all, and the time by which the last pour must be done.
    groups : sequence of FlaskGroup
        The flasks.
    windows : mapping of str to Window
        Flask temperatures by piece.

    Returns
    -------
    PourPlan or None
        None where the tables have no flask temperature for the alloy and the day gives none.
    tuple of Finding
        Pieces of one flask with nothing in common, the order, whether it fits.
    """
    wishes, found = _wishes(day, groups, windows)
    if wishes is None:
        return None, (Finding("prepare.flask-temperature-ask", Level.ASK, "day.toml", {"alloy": day.alloy}),)
    kiln = next(one for one in studio.kilns if one.id == day.kiln)
    case = _Case(studio, day, kiln, {one.flask: one for one in groups}, wishes)
    order = _order(case)
    stops = _stops(case, order)
    pouring = _pouring(case, stops)
    plan = PourPlan(
        tuple(case.groups[flask] for stop in stops for flask in stop.flasks),
        {flask: stop.temperature_C for stop in stops for flask in stop.flasks},
        _after_min(case, order),
        stops,
        pouring,
    )
    return plan, (*found, *_order_note(case, stops, pouring), *_class_time(case, pouring))


def _wishes(
    day: Day, groups: Sequence[FlaskGroup], windows: Mapping[str, Window]
) -> tuple[Mapping[str, FlaskWish] | None, tuple[Finding, ...]]:
    if day.flask_temperature_C is not None:
        asked = day.flask_temperature_C
        return {one.flask: FlaskWish(asked, asked.value, asked.value) for one in groups}, ()
    wishes: dict[str, FlaskWish] = {}
    findings: list[Finding] = []
    for group in groups:
        wish, found = wish_of_flask([windows[one] for one in group.pieces if one in windows], group.flask)
        if wish is None:
            return None, ()
        wishes[group.flask] = wish
        findings += found
    return wishes, tuple(findings)


def _order(case: _Case) -> PourOrder:
    """Order the flasks; inside a set-point the lightest first, so that the weight moves one way along the arm."""
    alike: dict[tuple[float, float, float], list[str]] = {}
    for flask, wish in case.wishes.items():
        alike.setdefault((wish.temperature_C.value, wish.low_C, wish.high_C), []).append(flask)
    groups = [PourGroup(tuple(flasks), *wanted) for wanted, flasks in alike.items()]
    offset = case.kiln.offset_C
    order = order_pours(groups, case.pace, offset.high - offset.low)
    return replace(order, set_points=tuple(replace(one, flasks=_lightest_first(case, one)) for one in order.set_points))


def _lightest_first(case: _Case, point: SetPoint) -> tuple[str, ...]:
    return tuple(sorted(point.flasks, key=lambda one: (case.groups[one].metal_g, one)))


def _after_min(case: _Case, order: PourOrder) -> dict[str, float]:
    each_min = case.pace.each_min
    return {
        flask: point.first_min + place * each_min
        for point in order.set_points
        for place, flask in enumerate(point.flasks)
    }


def _stops(case: _Case, order: PourOrder) -> tuple[CastingStop, ...]:
    return tuple(
        CastingStop(
            _temperature(case, one),
            case.studio.habits.soak_at_casting_min,
            _pours_min(case, len(one.flasks)),
            one.flasks,
        )
        for one in order.set_points
    )


def _temperature(case: _Case, point: SetPoint) -> Figure:
    """Return a set-point as a figure: one wish as it is, else what all its flasks allow."""
    wishes = [case.wishes[one] for one in point.flasks]
    first = wishes[0].temperature_C
    if all(one.temperature_C.value == first.value for one in wishes):
        return first
    low_C, high_C = max(one.low_C for one in wishes), min(one.high_C for one in wishes)
    inputs = {flask: case.wishes[flask].temperature_C for flask in point.flasks}
    sources = tuple(dict.fromkeys(source for one in wishes for source in one.temperature_C.sources))
    return Figure(point.temperature_C, low_C, high_C, "C", "prepare.flask-temperature-shared", inputs, sources)


def _pours_min(case: _Case, flasks_count: int) -> Figure:
    count = given(float(flasks_count), "count", "plan", how="prepare.how-pours-count")
    return reckon(
        "min",
        "prepare.how-pours",
        lambda flasks_count, each_min: flasks_count * each_min,
        {"flasks_count": count, "each_min": case.studio.habits.minutes_per_pour_min},
    )


def _pouring(case: _Case, stops: Sequence[CastingStop]) -> Pouring:
    total_min = _total(case, stops)
    done_at = on_the_wall(before(case.day.first_pour, -total_min.value), case.studio.zone)
    proven = len({one.temperature_C.value for one in case.wishes.values()}) <= MOST_TRIED_COUNT
    done_by = case.day.done_by
    if done_by is None:
        return Pouring(total_min, _total(case, _apart(case)), done_at, proven)
    have_min = given(minutes_between_min(case.day.first_pour, done_by), "min", f"day.toml {_END}")
    parts = {"have_min": have_min, "total_min": total_min}
    spare_min = reckon("min", "prepare.how-spare", lambda have_min, total_min: have_min - total_min, parts)
    return Pouring(total_min, _total(case, _apart(case)), done_at, proven, done_by, spare_min)


def _apart(case: _Case) -> tuple[CastingStop, ...]:
    """Return the set-points if no flask met another: one for each temperature wished, hottest first."""
    wished: dict[float, list[str]] = {}
    for flask, wish in case.wishes.items():
        wished.setdefault(wish.temperature_C.value, []).append(flask)
    return tuple(
        CastingStop(
            case.wishes[flasks[0]].temperature_C,
            case.studio.habits.soak_at_casting_min,
            _pours_min(case, len(flasks)),
            tuple(flasks),
        )
        for _, flasks in sorted(wished.items(), reverse=True)
    )


def _total(case: _Case, stops: Sequence[CastingStop]) -> Figure:
    """Add up falls, soaks and pours, from the first pour until the last is done [minute]."""
    parts = {"pours 1": stops[0].pours_min}
    for number, (earlier, stop) in enumerate(pairwise(stops), 2):
        parts[f"fall {number}"] = fall_min(case.kiln, earlier.temperature_C, stop.temperature_C)
        parts[f"soak {number}"] = stop.soak_min
        parts[f"pours {number}"] = stop.pours_min
    return total_of("min", "prepare.how-pours-total", parts)


def _order_note(case: _Case, stops: Sequence[CastingStop], pouring: Pouring) -> tuple[Finding, ...]:
    saved_min = pouring.apart_min.value - pouring.total_min.value
    if len(stops) == 1 and saved_min < _SAME_min:
        return ()
    rows = "; ".join(f"{', '.join(one.flasks)}: {_shown_C(case, one.temperature_C)}" for one in stops)
    params = {
        "count": len(stops),
        "rows": rows,
        "total": _span(pouring.total_min),
        "saved": show(saved_min, "min"),
        "done": _clock(pouring.done_at),
    }
    code = "prepare.pours-shared" if saved_min >= _SAME_min else "prepare.pours-falling"
    return (Finding(code, Level.NOTE, case.kiln.id, params),)


def _clock(moment: datetime) -> str:
    """Return a time by the clock, up to the next whole minute."""
    up = timedelta(minutes=1) if moment.second or moment.microsecond else timedelta(0)
    return f"{moment + up:%H:%M}"


def _span(length_min: Figure) -> str:
    """Return minutes, with their range if it can be seen."""
    ends = [show(one, "min") for one in (length_min.low, length_min.high)]
    best = show(length_min.value, "min")
    return best if ends[0] == ends[1] else say("prepare.span", best=best, low=ends[0], high=ends[1])


def _shown_C(case: _Case, temperature_C: Figure) -> str:
    return show_in(temperature_C.value, "C", case.studio.units.temperature)


def _class_time(case: _Case, pouring: Pouring) -> tuple[Finding, ...]:
    """Say whether the last pour is done in time; if not, which flasks to move to another day."""
    if pouring.done_by is None or pouring.spare_min is None:
        return ()
    params = {
        "done": _clock(pouring.done_at),
        "by": f"{pouring.done_by:%H:%M}",
        "spare": show(abs(math.floor(pouring.spare_min.value)), "min"),
        "total": _span(pouring.total_min),
    }
    if pouring.spare_min.value >= 0:
        return (Finding("prepare.class-fits", Level.NOTE, "day.toml", params),)
    moved, then = _to_move(case)
    if not moved:
        return (Finding("prepare.class-over-one", Level.LOOK, "day.toml", params),)
    pieces = ", ".join(piece for flask in moved for piece in case.groups[flask].pieces)
    params = {**params, "flasks": ", ".join(moved), "pieces": pieces, "then": _clock(then.done_at)}
    return (Finding("prepare.class-over", Level.LOOK, "day.toml", params),)


def _to_move(case: _Case) -> tuple[tuple[str, ...], Pouring]:
    """Return the flasks without which the rest is done in time: one if one will do, the one with the fewest pieces.

    Where no single one will do, the one that saves most goes first, and so on; none if even a single flask is too many.
    """
    moved: tuple[str, ...] = ()
    while len(case.wishes) > 1:
        left = {flask: _without(case, flask) for flask in case.wishes}
        fit = [flask for flask, (_, pouring) in left.items() if _fits(pouring)]
        if fit:
            best = min(fit, key=lambda one: (len(case.groups[one].pieces), left[one][1].total_min.value, one))
            return (*moved, best), left[best][1]
        best = min(left, key=lambda one: (left[one][1].total_min.value, one))
        moved, case = (*moved, best), left[best][0]
    return (), _pouring(case, _stops(case, _order(case)))


def _fits(pouring: Pouring) -> bool:
    return pouring.spare_min is not None and pouring.spare_min.value >= 0


def _without(case: _Case, flask: str) -> tuple[_Case, Pouring]:
    rest = replace(case, wishes={name: wish for name, wish in case.wishes.items() if name != flask})
    return rest, _pouring(rest, _stops(rest, _order(rest)))
