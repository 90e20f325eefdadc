"""The kiln's page: programme by the clock and its curve, in readings of the controller."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from pourwright.core.text import say
from pourwright.core.units import show, show_in
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.prepare.mould.results import BurnStep, CastingHold
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions
from pourwright.sheet.cover import joined_windows
from pourwright.sheet.kiln_map import kiln_map

_KINDS = {
    "ramp": "sheet.kiln.kind.ramp",
    "hold": "sheet.kiln.kind.hold",
    "cool": "sheet.kiln.kind.cool",
    "soak": "sheet.kiln.kind.soak",
}
_STAYS = ("hold", "soak")
_FLAT_C = 0.5
_GRID_C = 100
_GRID_F = 200
_CLOSE_SHARE = 0.035


def kiln(plan: DayPlan) -> dict[str, object]:
    """Return steps, curve and key figures of the burnout."""
    units, burnout = plan.studio.units, plan.burnout
    return {
        "kiln": burnout.kiln,
        "light": _clock(plan, burnout.light_at),
        "top": paper.shown(burnout.top_true_C, units),
        "casting": paper.shown(burnout.casting_C, units),
        "segments": segments(plan),
        "pours": casting_holds(plan),
        "dewax": dewax(plan),
        "ash": ash(plan),
        "energy": _energy(plan),
        "curve": curve(plan),
        "lags": [
            {"flask": flask_name(plan, one.flask), "lag": paper.shown(one.lag_min, units)} for one in burnout.lags
        ],
        "map": kiln_map(plan),
        "cautions": cautions("vent.kiln", "fume.co", "fume.so2", "kiln.unattended"),
    }


def _energy(plan: DayPlan) -> paper.Shown | None:
    energy = plan.supplies.energy_kWh if plan.supplies else None
    return None if energy is None else paper.shown(energy, plan.studio.units, 1)


def _clock(plan: DayPlan, moment: datetime) -> str:
    return paper.clock_with_day(moment, plan.studio.zone, plan.day.date)


def segments(plan: DayPlan) -> list[dict[str, object]]:
    """Return the programme as a controller takes it: a way to a set-point and the time it stays there, with the clock.

    A ramp and the hold that follows are one segment, as they are typed in; each keeps its own reason.
    """
    rows: list[list[BurnStep]] = []
    for step in plan.burnout.steps:
        follows = rows and step.kind in _STAYS and rows[-1][-1].kind not in _STAYS
        if follows:
            rows[-1].append(step)
        else:
            rows.append([step])
    return [_segment(plan, number, steps) for number, steps in enumerate(rows, 1)]


def _segment(plan: DayPlan, number: int, steps: Sequence[BurnStep]) -> dict[str, object]:
    units = plan.studio.units
    moves = [one for one in steps if one.kind not in _STAYS]
    stays = [one for one in steps if one.kind in _STAYS]
    return {
        "number": number,
        "kind": say(_KINDS[steps[0].kind]),
        "set": paper.temperature(_reading_C(steps[-1]), units),
        "rate": _rate(plan, moves[0]) if moves else "–",
        "hold": _hours(stays[0].end - stays[0].start) if stays else "–",
        "from": _clock(plan, steps[0].start),
        "reached": _clock(plan, moves[0].end if moves else steps[0].start),
        "to": _clock(plan, steps[-1].end),
        "because": [_by_number(plan, one) for one in dict.fromkeys(step.because for step in steps)],
    }


def _rate(plan: DayPlan, step: BurnStep) -> str:
    """Return how fast the controller's reading moves on a way that is not flat."""
    hours_h = (step.end - step.start).total_seconds() / 3600.0
    change = abs(step.to_C - step.from_C)
    if change < _FLAT_C or hours_h <= 0.0:
        return "–"
    return show_in(change / hours_h, "C_h", paper.paper_unit("C_h", plan.studio.units))


def _by_number(plan: DayPlan, words: str) -> str:
    """Return a reason with its flasks by the number scratched into them, each called a flask once."""
    numbers = {one.id: str(one.number) for one in plan.flasks}
    any_id = "|".join(map(re.escape, sorted(numbers, key=len, reverse=True))) or "(?!)"

    def named(hit: re.Match[str]) -> str:
        number = numbers[hit["id"]]
        return hit["word"] + number if hit["word"] else say("sheet.flask-numbered", number=number)

    return re.sub(rf"(?P<word>\b[Ff]lask\s)?(?P<id>{any_id})", named, words)


def casting_holds(plan: DayPlan) -> list[dict[str, object]]:
    """Return where the kiln stands while flasks are poured, the hottest first; empty where all are cast alike."""
    holds = plan.burnout.casting
    return [_casting_hold(plan, one) for one in holds] if len(holds) > 1 else []


def _casting_hold(plan: DayPlan, one: CastingHold) -> dict[str, object]:
    units = plan.studio.units
    return {
        "set": paper.shown(one.reading_C, units),
        "flasks": ", ".join(flask_name(plan, flask) for flask in one.flasks),
        "reached": _clock(plan, one.reached),
        "first": _clock(plan, one.first_pour),
        "done": _clock(plan, one.done),
        "lag": paper.shown(max((lag.lag_min for lag in one.lags), key=lambda lag: lag.value), units)["text"]
        if one.lags
        else "–",
    }


def dewax(plan: DayPlan) -> dict[str, object] | None:
    """Return how the wax leaves before the kiln, of which flasks and when; None where it leaves in the kiln."""
    one = plan.burnout.dewax
    if one is None:
        return None
    return {
        "how": say(f"sheet.dewax.{one.kind}"),
        "flasks": ", ".join(flask_name(plan, flask) for flask in one.flasks),
        "from": _clock(plan, one.start),
        "to": _clock(plan, one.end),
        "into": _clock(plan, one.into_kiln_by),
        "cautions": cautions("quench.scald", "ppe.hot"),
    }


def ash(plan: DayPlan) -> dict[str, object] | None:
    """Return which flasks are turned and tapped out, and when; None where no pattern leaves ash."""
    rows = [
        {
            "flask": flask_name(plan, one.flask),
            "pattern": one.pattern,
            "at": _clock(plan, one.at),
            "reheat": show(one.reheat_min.low, "min", 0),
        }
        for one in plan.burnout.ash
    ]
    return {"rows": rows, "cautions": cautions("dust.noblow", "sil.resp", "ppe.hot")} if rows else None


def _reading_C(step: BurnStep) -> float:
    """Return what the controller shows [degC] at the end of a step; the true temperature if nobody told them apart."""
    return step.to_C if step.reading_C is None else step.reading_C.value


def _hours(span: timedelta) -> str:
    hours, minutes = divmod(round(span.total_seconds() / 60.0), 60)
    return say("sheet.hours", hours=hours, minutes=f"{minutes:02d}")


def flask_name(plan: DayPlan, key: str) -> str:
    """Return a load's number and steel flask, from the id of either."""
    load = load_of(plan, key)
    return key if load is None else say("sheet.flask-name", number=load.number, flask=load.flask)


def load_of(plan: DayPlan, key: str) -> PlannedFlask | None:
    """Return the flask load with this id, or in this steel flask."""
    return next((one for one in plan.flasks if key in (one.id, one.flask)), None)


def curve(plan: DayPlan) -> dict[str, object]:
    """Return the programme as points between 0 and 1 across and up, with grid, holds, extraction and pours."""
    steps = plan.burnout.steps
    start = steps[0].start
    end = max([steps[-1].end, *(one.pour_at for one in plan.flasks)]) + timedelta(minutes=20)
    top_C = _round_up(max(max(one.from_C, _reading_C(one)) for one in steps) + 90.0, _GRID_C)
    span_s = (end - start).total_seconds()

    def across(moment: datetime) -> float:
        return (moment - start).total_seconds() / span_s

    return {
        "points": [[across(steps[0].start), steps[0].from_C / top_C]]
        + [[across(one.end), _reading_C(one) / top_C] for one in steps],
        "holds": [_hold_label(plan, one, across, top_C) for one in steps if one.kind in ("hold", "soak")],
        "hours": _hour_ticks(plan, start, end),
        "levels": _level_ticks(plan, top_C),
        "extraction": [
            [max(0.0, across(one)), min(1.0, across(other))]
            for one, other, _ in joined_windows(plan.timeline)
            if other > start and one < end
        ],
        "pours": _pour_groups([(across(one.pour_at), one.number) for one in plan.flasks]),
    }


def _hold_label(plan: DayPlan, one: BurnStep, across: Callable[[datetime], float], top_C: float) -> dict[str, object]:
    return {
        "x": (across(one.start) + across(one.end)) / 2,
        "y": _reading_C(one) / top_C,
        "label": paper.temperature(_reading_C(one), plan.studio.units),
    }


def _pour_groups(pours: Sequence[tuple[float, int]]) -> list[dict[str, object]]:
    """Gather pours too close for a number each: their places, and the first and last number."""
    groups: list[list[tuple[float, int]]] = []
    for place, number in pours:
        if groups and place - groups[-1][-1][0] < _CLOSE_SHARE:
            groups[-1].append((place, number))
        else:
            groups.append([(place, number)])
    return [
        {
            "places": [place for place, _ in group],
            "label": "–".join(dict.fromkeys((str(group[0][1]), str(group[-1][1])))),
        }
        for group in groups
    ]


def _hour_ticks(plan: DayPlan, start: datetime, end: datetime) -> list[dict[str, object]]:
    first = paper.local(start, plan.studio.zone).replace(minute=0, second=0, microsecond=0).astimezone(start.tzinfo)
    span_s = (end - start).total_seconds()
    every = 1 if span_s < 8 * 3600 else 2 if span_s < 20 * 3600 else 3
    ticks = []
    for hour in range(1, int(span_s // 3600) + 2):
        moment = first + timedelta(hours=hour)
        here = paper.local(moment, plan.studio.zone)
        if start <= moment <= end and here.hour % every == 0:
            ticks.append({
                "x": (moment - start).total_seconds() / span_s,
                "label": here.strftime("%H"),
                "day": paper.weekday(here.date(), short=True) if here.hour < every else "",
            })  # fmt: skip
    return ticks


def _level_ticks(plan: DayPlan, top_C: float) -> list[dict[str, object]]:
    if plan.studio.units.temperature == "F":
        top_F = top_C * 1.8 + 32.0
        return [
            {"y": (level - 32.0) / 1.8 / top_C, "label": str(level)} for level in range(_GRID_F, int(top_F), _GRID_F)
        ]
    return [{"y": level / top_C, "label": str(level)} for level in range(_GRID_C, int(top_C) + 1, _GRID_C)]


def _round_up(value_ratio: float, step: int) -> float:
    return float(-(-value_ratio // step) * step)
