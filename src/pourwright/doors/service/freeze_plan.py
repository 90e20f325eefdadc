"""Takes into a plan what is known of the freezing of its flasks, where it was reckoned for the same tree."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.doors.service.freeze_file import read_summaries
from pourwright.doors.service.freeze_jobs import tree_key
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.prepare.quench.frozen import frozen_window
from pourwright.prepare.throw.course import check_run_down
from pourwright.simulate.summary import FreezeSummary

# Kilns are set in whole degrees.
_SAME_TEMPERATURE_K = 1.0


def with_freezing(plan: DayPlan, folder: Path) -> DayPlan:
    """Return the plan with what the day's ``freeze.json`` knows of its flasks.

    Parameters
    ----------
    plan : DayPlan
        As planned.
    folder : Path
        The day's folder.
    """
    known = read_summaries(folder)
    flasks: list[PlannedFlask] = []
    found: list[Finding] = []
    for one in plan.flasks:
        said = known.get(one.id)
        if said is None:
            flasks.append(one)
        elif _holds(plan, one, said):
            found += (new := (*said.findings, *_run_down(one, said)))
            flasks.append(_with(one, said, new))
        else:
            flasks.append(one)
            found.append(_stale(one, said))
    return replace(plan, flasks=tuple(flasks), findings=(*plan.findings, *found))


def _holds(plan: DayPlan, one: PlannedFlask, said: FreezeSummary) -> bool:
    off_K = abs(said.flask_temperature_C.value - one.flask_temperature_C.value)
    return said.key == tree_key(plan, one) and off_K <= _SAME_TEMPERATURE_K


def _run_down(one: PlannedFlask, said: FreezeSummary) -> tuple[Finding, ...]:
    """Say whether the arm may slow before the last metal is solid."""
    course = one.throw.course
    return () if course is None else check_run_down(course, said.last_solid_s, one.id)


def _with(one: PlannedFlask, said: FreezeSummary, new: tuple[Finding, ...]) -> PlannedFlask:
    quench = one.quench
    if said.quench_from_min is not None:
        quench = frozen_window(quench, said.quench_from_min, said.quench_to_min)
    return replace(one, freeze=said, quench=quench, findings=(*one.findings, *new))


def _stale(one: PlannedFlask, said: FreezeSummary) -> Finding:
    params = {
        "then": show(said.flask_temperature_C.value, "C"),
        "now": show(one.flask_temperature_C.value, "C"),
        "load": one.id,
    }
    return Finding("doors.freeze-stale", Level.NOTE, one.id, params)
