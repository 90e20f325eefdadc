"""Takes into a plan what is known of how its flasks fill: flask temperatures first, then the answers themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.core.work import Report
from pourwright.doors.service.freeze_jobs import tree_key
from pourwright.doors.service.throw_file import THROW_FILE, read_throws
from pourwright.prepare.casting_temperature import Window
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.prepare.plan import PlanOutcome, plan_day
from pourwright.prepare.plan_pieces import Measure
from pourwright.shape.pattern.report import PatternReport
from pourwright.simulate.throw_summary import FillWindow, ThrowSummary
from pourwright.studio.day import Day, PieceOrder
from pourwright.studio.profile import Studio

# Kilns are set in whole degrees.
_SAME_TEMPERATURE_K = 1.0


def plan_with_windows(studio: Studio, day: Day, measure: Measure, folder: Path, report: Report) -> PlanOutcome:
    """Plan a day; where flask temperatures of its pieces were reckoned for these very trees, plan by those.

    Parameters
    ----------
    studio, day : Studio, Day
        As read.
    measure : callable
        Returns the report of an order's pattern file, or None if it has none.
    folder : Path
        The day's folder, with what was reckoned earlier.
    report : callable
        Told of progress.

    Returns
    -------
    PlanOutcome
        By practice, with a note on it, where the reckoned temperatures would put the pieces into other flasks: those
        temperatures hold for the trees they were reckoned for only.
    """
    remembered = _remembering(measure)
    usual = plan_day(studio, day, remembered, report)
    if usual.plan is None or day.flask_temperature_C is not None:
        return usual
    windows = _reckoned(usual.plan, read_throws(folder))
    if not windows:
        return usual
    known = {piece: Window(piece, "", low_C, high_C, _origin()) for piece, (low_C, high_C) in windows.items()}
    better = plan_day(studio, day, remembered, report, known)
    if better.plan is None or _trees(better.plan) != _trees(usual.plan):
        said = Finding("doors.throw-window-regroups", Level.LOOK, "day.toml", {"pieces": ", ".join(windows)})
        return replace(usual, plan=_noted(usual.plan, (said,)))
    return replace(better, plan=_noted(better.plan, _both(usual.plan, better.plan, windows)))


def _remembering(measure: Measure) -> Measure:
    """Return a measure that measures each order once."""
    known: dict[str, PatternReport | None] = {}

    def measured(order: PieceOrder) -> PatternReport | None:
        if order.id not in known:
            known[order.id] = measure(order)
        return known[order.id]

    return measured


def _origin() -> str:
    return say("doors.throw-window-origin", file=THROW_FILE)


def _noted(plan: DayPlan, findings: tuple[Finding, ...]) -> DayPlan:
    return replace(plan, findings=(*plan.findings, *findings))


def _trees(plan: DayPlan) -> dict[str, str]:
    """Return the hash of each flask's tree, by the pieces in it."""
    return {" ".join(sorted(one.pieces)): tree_key(plan, one) for one in plan.flasks}


def _reckoned(plan: DayPlan, known: Mapping[str, ThrowSummary]) -> dict[str, tuple[float, float]]:
    """Return the ends of the flask temperatures reckoned for a plan's own trees [degC], by piece."""
    by_tree = {said.key: said for said in known.values()}
    orders = {piece.id: plan.day.pieces[piece.order] for piece in plan.pieces}
    stones = {piece.id for piece in plan.pieces if piece.stones}
    found = {}
    for one in plan.flasks:
        said = by_tree.get(tree_key(plan, one))
        for piece in said.pieces if said else ():
            asked = piece.piece in stones or orders[piece.piece].flask_temperature_C is not None
            ends = None if piece.window is None or asked else _ends(piece.window)
            if ends is not None:
                found[piece.piece] = ends
    return found


def _ends(window: FillWindow) -> tuple[float, float] | None:
    if window.none or window.low_C is None:
        return None
    return window.low_C, window.high_tried_C if window.high_C is None else window.high_C


def _both(usual: DayPlan, better: DayPlan, windows: Mapping[str, tuple[float, float]]) -> tuple[Finding, ...]:
    """Say for each flask the temperature by practice and the one reckoned, and why."""
    before_C = {" ".join(sorted(one.pieces)): one.flask_temperature_C.value for one in usual.flasks}
    found = []
    for one in better.flasks:
        rows = [f"{piece}: {windows[piece][0]:.0f}–{show(windows[piece][1], 'C')}" for piece in one.pieces
                if piece in windows]  # fmt: skip
        if rows:
            params = {
                "chosen": show(one.flask_temperature_C.value, "C"),
                "practice": show(before_C[" ".join(sorted(one.pieces))], "C"),
                "windows": "; ".join(rows),
            }
            found.append(Finding("doors.throw-window-used", Level.NOTE, one.id, params, ("derived",)))
    return tuple(found)


def with_filling(plan: DayPlan, folder: Path) -> DayPlan:
    """Return the plan with what the day's ``throw.json`` knows of its flasks.

    Parameters
    ----------
    plan : DayPlan
        As planned.
    folder : Path
        The day's folder.
    """
    known = read_throws(folder)
    by_tree = {said.key: said for said in known.values()}
    flasks: list[PlannedFlask] = []
    found: list[Finding] = []
    for one in plan.flasks:
        said = by_tree.get(tree_key(plan, one), known.get(one.id))
        if said is not None and _holds(plan, one, said):
            flasks.append(replace(one, fill=said, findings=(*one.findings, *said.findings)))
            found += said.findings
            continue
        flasks.append(one)
        found += [] if said is None else [_stale(one, said)]
    return replace(plan, flasks=tuple(flasks), findings=(*plan.findings, *found))


def _holds(plan: DayPlan, one: PlannedFlask, said: ThrowSummary) -> bool:
    off_K = abs(said.flask_temperature_C.value - one.flask_temperature_C.value)
    same_turns = said.turns_turns is not None and abs(said.turns_turns - one.throw.wind_turns.value) < 1e-6
    return said.key == tree_key(plan, one) and off_K <= _SAME_TEMPERATURE_K and same_turns


def _stale(one: PlannedFlask, said: ThrowSummary) -> Finding:
    params = {
        "then": show(said.flask_temperature_C.value, "C"),
        "now": show(one.flask_temperature_C.value, "C"),
        "turns": show(said.turns_turns or 0.0, "turns"),
        "load": one.id,
    }
    return Finding("doors.throw-stale", Level.NOTE, one.id, params)
