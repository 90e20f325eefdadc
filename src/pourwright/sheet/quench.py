"""The quench as it is printed: minutes from release, clock times, or the words for none."""

from __future__ import annotations

import math
from datetime import timedelta

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.day_plan import PlannedFlask
from pourwright.sheet import show as paper

_LEFT_TO_COOL = "prepare.quench-basis-hand-warm"
_NOT_MEASURED = "prepare.quench-basis-practice"
_DUST_MIN = 1e-9


def quench(one: PlannedFlask, zone: str) -> dict[str, object]:
    """Return a flask's quench: ``text`` in minutes, ``clock`` if the pour keeps its time, what it rests on.

    Minutes are rounded inwards, so that neither edge is passed. A flask that must not be quenched has ``wet`` false.
    """
    window = one.quench
    early_min = math.ceil(window.earliest_min.value - _DUST_MIN)
    late_min = max(early_min, math.floor(window.latest_min.value + _DUST_MIN))
    wet = window.basis != _LEFT_TO_COOL
    marks = ["uncalibrated"] if window.basis == _NOT_MEASURED else []
    return {
        "wet": wet,
        "text": _minutes(early_min, late_min) if wet else say("sheet.no-quench"),
        "clock": _clock(one, early_min, late_min, zone),
        "basis": say(window.basis),
        "marks": marks + paper.source_marks(window.earliest_min.sources),
    }


def _minutes(early_min: int, late_min: int) -> str:
    if early_min == late_min:
        return show(early_min, "min")
    return say("sheet.span", low=early_min, high=show(late_min, "min"))


def _clock(one: PlannedFlask, early_min: int, late_min: int, zone: str) -> str:
    first, last = (paper.clock(one.pour_at + timedelta(minutes=after), zone) for after in (early_min, late_min))
    return first if first == last else say("sheet.span-wide", low=first, high=last)
