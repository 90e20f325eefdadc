"""The kiln's page: programme by the clock and its curve, in readings of the controller."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from pourwright.core.text import say
from pourwright.core.units import show_in
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.prepare.mould.results import BurnStep
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
        "steps": [_step_row(plan, number, one) for number, one in enumerate(burnout.steps, 1)],
        "curve": curve(plan),
        "lags": [
            {"flask": flask_name(plan, one.flask), "lag": paper.shown(one.lag_min, units)} for one in burnout.lags
        ],
        "map": kiln_map(plan),
        "cautions": cautions("vent.kiln", "fume.co", "fume.so2", "kiln.unattended"),
    }


def _clock(plan: DayPlan, moment: datetime) -> str:
    return paper.clock_with_day(moment, plan.studio.zone, plan.day.date)


def _step_row(plan: DayPlan, number: int, step: BurnStep) -> dict[str, object]:
    units = plan.studio.units
    hours_h = (step.end - step.start).total_seconds() / 3600.0
    moves = abs(step.to_C - step.from_C) > 0.5 and hours_h > 0
    rate = abs(step.to_C - step.from_C) / hours_h if moves else 0.0
    return {
        "number": number,
        "kind": say(_KINDS[step.kind]),
        "from": _clock(plan, step.start),
        "to": _clock(plan, step.end),
        "set": paper.temperature(_reading_C(step), units),
        "how": show_in(rate, "C_h", paper.paper_unit("C_h", units)) if moves else _hours(step.end - step.start),
        "because": step.because,
    }


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
