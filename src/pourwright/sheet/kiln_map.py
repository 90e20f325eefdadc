"""Who stands where in the kiln: the flask that leaves first stands nearest the door."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from pourwright.core.text import say
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.sheet import show as paper

Load = TypeVar("Load")

# The profile knows how many flasks a kiln holds, not its shape: up to this many, two stand side by side, else three.
_TWO_ABREAST_COUNT = 6


def abreast(room_count: int) -> int:
    """Return how many flasks stand side by side in a kiln with room for so many: our assumption, said on the page."""
    return 2 if room_count <= _TWO_ABREAST_COUNT else 3


def stand(loads: Sequence[Load], across_count: int) -> list[list[Load]]:
    """Put loads, given in the order they leave, into rows from the door to the back.

    Nothing that leaves early stands behind something that leaves later.
    """
    return [list(loads[start : start + across_count]) for start in range(0, len(loads), across_count)]


def kiln_map(plan: DayPlan) -> dict[str, object]:
    """Return the rows of the kiln from the door to the back, as far as they are used."""
    room_count = next(one.flasks_count for one in plan.studio.kilns if one.id == plan.day.kiln)
    across = abreast(room_count)
    leaving = sorted(plan.flasks, key=lambda one: one.pour_at)
    rows = stand(leaving, across)
    return {
        "across": across,
        "rows": [[_place(plan, one, leaving.index(one) + 1) for one in row] for row in rows],
        "key": say("sheet.kiln.map-key", across=across),
        "words": [say("sheet.kiln.row", row=row, flasks=_numbers(loads)) for row, loads in enumerate(rows, 1)],
    }


def _place(plan: DayPlan, one: PlannedFlask, turn: int) -> dict[str, object]:
    return {
        "number": one.number,
        "flask": one.flask,
        "turn": turn,
        "leaves": paper.clock(one.pour_at, plan.studio.zone),
    }


def _numbers(loads: Sequence[PlannedFlask]) -> str:
    return ", ".join(str(one.number) for one in loads)
