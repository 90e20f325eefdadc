"""Fill the flasks of a day: a first answer at the best values, then runs over the ranges, then flask temperatures."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pourwright.core.errors import SolverError
from pourwright.core.files import write_whole
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.core.work import Report, keep_line, tell_nobody
from pourwright.doors.service.freeze import planned
from pourwright.doors.service.freeze_file import plain
from pourwright.doors.service.freeze_jobs import absurd, pick_flasks, tree_key
from pourwright.doors.service.plan import find_studio
from pourwright.doors.service.throw_file import keep_throws, summary_from, throw_as_json
from pourwright.doors.service.throw_jobs import Loaded, ThrowAsked, load_flask, read_throw_asked
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.moulds import mould as find_mould
from pourwright.physics.fill.ways import Ways
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.simulate.conditions import best_case
from pourwright.simulate.resolution import Pace, first_side_mm, memory_bytes_count
from pourwright.simulate.run import assess, never, run_flask
from pourwright.simulate.throw_cavity import place_hollow
from pourwright.simulate.throw_conditions import Head, best_throw, drive_of
from pourwright.simulate.throw_fields import FillFields, fields_of
from pourwright.simulate.throw_regions import thin_places
from pourwright.simulate.throw_run import ThrowJob, ThrowRun, ThrowSamples, run_throw, sample_throws, ways_of
from pourwright.simulate.throw_side import fill_side
from pourwright.simulate.throw_store import (
    answer_key,
    kept_path,
    read_arrays,
    trim_fills,
    voxels_of,
    write_arrays,
)
from pourwright.simulate.throw_summary import FillWindow, ThrowSummary, Told, summarise_throw
from pourwright.simulate.throw_window import RUNS_COUNT, Search, find_windows

GRANTED_S = 60.0
SAMPLES_COUNT = 40
# What a million cubes take: the first pass, and each further run. Measured on one core of a busy machine.
_FIRST_MILLION_S, _NEXT_MILLION_S, _POWER_RATIO = 12.0, 3.0, 1.05
_SEARCH_C = (350.0, 700.0)
_WINDOW_STEPS = 6
_ZERO_C_K = 273.15


@dataclass(frozen=True)
class ThrownFlask:
    """One flask's answer; ``summary`` and ``fields`` are None when it was stopped before there were any."""

    id: str
    flask: str
    summary: ThrowSummary | None
    findings: tuple[Finding, ...]
    fields: FillFields | None = None


@dataclass(frozen=True)
class ThrowAnswer:
    """All flasks asked for, the files written, and all findings."""

    flasks: tuple[ThrownFlask, ...]
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Order:
    """How to go about it: the cache, time granted for a flask [s], runs over the ranges, and who is told.

    ``window`` asks for flask temperatures as well.
    """

    cache: Path
    granted_s: float
    samples_count: int
    window: bool
    report: Report
    cancelled: Callable[[], bool]
    tell: Callable[[str], None]


def throw_day_file(
    day_path: Path,
    studio_folder: Path | None = None,
    flask: str = "",
    turns: str = "",
    flask_temperature: str = "",
    pour_temperature: str = "",
    head: str = Head.SPIN.value,
    vacuum: str = "",
    side: str = "",
    granted: str = "",
    samples_count: int = SAMPLES_COUNT,
    window: bool = False,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
    tell: Callable[[str], None] = keep_line,
) -> ThrowAnswer:
    """Fill the flasks of a day.

    Parameters
    ----------
    day_path : Path
        The day file.
    studio_folder : Path or None
        The studio; looked for around the day file unless given.
    flask : str
        One flask; all unless given.
    turns, flask_temperature, pour_temperature, side, granted : str
        As typed; those of the plan, and what suits the metal, unless given.
    head : str
        What drives the metal: ``spin``, ``vacuum`` or ``gravity``.
    vacuum : str
        As typed: how far the pump pulls below the room's air.
    samples_count : int
        Runs over the ranges; 0 for none.
    window : bool
        Whether to look for the flask temperatures of each piece.
    report, cancelled : callable
        Told of progress; asked whether to stop.
    tell : callable
        Given the first answer in a line, while the rest is on its way.

    Returns
    -------
    ThrowAnswer
        Never raises for what a user can mend.
    """
    asked, found = read_throw_asked(turns, flask_temperature, pour_temperature, head, vacuum, side, granted)
    if found:
        return ThrowAnswer((), (), found)
    root = find_studio(day_path, studio_folder)
    plan, found = planned(day_path, root, report)
    if plan is None:
        return ThrowAnswer((), (), found)
    wanted, found = pick_flasks(plan, flask)
    mould_id = next(one for one in plan.studio.powders if one.id == plan.day.powder).mould
    found = (*found, *absurd(asked.common, find_alloy(plan.day.alloy), mould_id))
    if found:
        return ThrowAnswer((), (), found)
    granted_s = GRANTED_S if asked.common.granted_s is None else asked.common.granted_s
    order = Order(root / "cache", granted_s, samples_count, window, report, cancelled, tell)
    thrown, files = _throw_all(plan, wanted, asked, order, day_path.absolute().parent)
    return ThrowAnswer(thrown, files, tuple(one for answer in thrown for one in answer.findings))


def _throw_all(
    plan: DayPlan, wanted: Sequence[PlannedFlask], asked: ThrowAsked, order: Order, folder: Path
) -> tuple[tuple[ThrownFlask, ...], tuple[Path, ...]]:
    thrown: list[ThrownFlask] = []
    files: list[Path] = []
    for one in wanted:
        if order.cancelled():
            break
        answer, written = _throw_one(plan, one, asked, order, folder)
        thrown.append(answer)
        files += written
    trim_fills(order.cache)
    kept = {one.id: one.summary for one in thrown if one.summary is not None and not stops(one.findings)}
    files += keep_throws(folder, kept) if kept and asked.head is Head.SPIN else []
    return tuple(thrown), tuple(files)


def _throw_one(
    plan: DayPlan, one: PlannedFlask, asked: ThrowAsked, order: Order, folder: Path
) -> tuple[ThrownFlask, list[Path]]:
    loaded, found = load_flask(plan, one, asked)
    if loaded is None:
        return ThrownFlask(one.id, one.flask, None, found), []
    fine = fill_side(loaded.flask, order.granted_s, _pace(order), memory_bytes_count(), asked.common.side_mm)
    found = (*found, *fine.findings, *_not_calibrated(loaded, one))
    if stops(found):
        return ThrownFlask(one.id, one.flask, None, found), []
    picture = folder / f"throw-{one.id.rpartition('-')[2]}.svg"
    told = Told(tree_key(plan, one), loaded.turns_turns, loaded.calibrated, picture.name)
    try:
        summary, kept = _known_or_made(loaded, fine.side_mm, told, order)
    except SolverError as refused:
        said = Finding("doors.throw-solver", Level.STOP, one.id, {"reason": str(refused)})
        return ThrownFlask(one.id, one.flask, None, (*found, said)), []
    if order.cancelled():
        found = (*found, Finding("doors.throw-stopped", Level.STOP, one.id, {"runs": summary.samples_count}))
    written = [_draw(loaded, kept, summary, picture)] if asked.head is Head.SPIN else []
    return ThrownFlask(one.id, one.flask, summary, (*found, *summary.findings), kept), written


def _pace(order: Order) -> Pace:
    """Return what all runs of a flask take together."""
    runs = order.samples_count + (_WINDOW_STEPS * RUNS_COUNT if order.window else 0)
    return Pace(_FIRST_MILLION_S + runs * _NEXT_MILLION_S, _POWER_RATIO)


def _not_calibrated(loaded: Loaded, one: PlannedFlask) -> tuple[Finding, ...]:
    if loaded.throws is None or loaded.calibrated:
        return ()
    force = loaded.conditions.force_ratio
    params = {"low": f"{force.low:.1f}", "high": f"{force.high:.1f}"}
    return (Finding("doors.throw-not-calibrated", Level.LOOK, one.id, params, ("none",)),)


def _known_or_made(loaded: Loaded, side_mm: float, told: Told, order: Order) -> tuple[ThrowSummary, FillFields]:
    """Return the answer from the cache, or reckon it and keep it if it was not cut short."""
    arm = [] if loaded.throws is None else [plain(loaded.throws.best.arm), loaded.turns_turns]
    more = [arm, loaded.mouth_m, loaded.crucible_mm, order.samples_count, order.window, plain(told)]
    key = answer_key(loaded.flask, loaded.conditions, side_mm, more)
    fields_path, said_path = (kept_path(order.cache, key, ending) for ending in (".fields.npz", ".json"))
    known = read_arrays(fields_path, FillFields)
    try:
        said = summary_from(json.loads(said_path.read_text("utf-8")))
    except (OSError, ValueError, KeyError, TypeError):
        known = None
    if known is not None:
        return said, known
    summary, kept = _made(loaded, side_mm, told, order)
    content = json.dumps(plain(summary))
    if not order.cancelled():
        write_arrays(fields_path, kept)
        write_whole(said_path, content.encode())
    return summary_from(json.loads(content)), kept  # as it comes back another time, to the same digit


def _made(loaded: Loaded, side_mm: float, told: Told, order: Order) -> tuple[ThrowSummary, FillFields]:
    load = loaded.flask.id
    order.report(0.0, say("doors.throw-running", load=load, side=show(side_mm, "mm", 2)))
    hollow = place_hollow(loaded.flask, voxels_of(loaded.flask, side_mm, order.cache), loaded.mouth_m)
    throw = None if loaded.throws is None else drive_of(loaded.throws.best)
    job = ThrowJob(loaded.flask, loaded.conditions, throw, hollow, loaded.crucible_mm)
    ways = ways_of(job)
    run = run_throw(job, best_throw(job.conditions), ways)
    places = [place for piece in loaded.flask.solid.pieces for place in thin_places(hollow, piece)]
    order.tell(_first_answer(load, run))
    samples = _sampled(job, ways, [one.voxels for one in places], order)
    windows = _windows(job, ways, order) if order.window and not order.cancelled() else {}
    summary = summarise_throw(run, samples, places, replace(told, windows=windows))
    return summary, fields_of(run, samples)


def _first_answer(load: str, run: ThrowRun) -> str:
    tanks = run.result.tanks[1:]
    full = sum(one.filled_frac >= 0.98 for one in tanks)
    return say("doors.throw-first", load=load, full=full, pieces=len(tanks), time=show(run.result.last_s, "s", 2))


def _sampled(job: ThrowJob, ways: Ways, patches: Sequence[Any], order: Order) -> ThrowSamples | None:
    if not order.samples_count:
        return None

    def told(share_frac: float, what: str) -> None:
        order.report(min(share_frac, 0.999), say("doors.throw-sampling", load=job.flask.id, done=what))

    return sample_throws(job, order.samples_count, ways, patches, told, order.cancelled)


def _windows(job: ThrowJob, ways: Ways, order: Order) -> dict[str, FillWindow]:
    hold_C = find_mould(job.conditions.mould).hold_limit_C.low
    search = Search(_SEARCH_C[0], min(_SEARCH_C[1], hold_C))

    def told(share_frac: float, what: str) -> None:
        order.report(min(share_frac, 0.999), say("doors.throw-window", load=job.flask.id, temperature=what))

    return find_windows(job, ways, search, lambda temp_C: _fed_at(job, temp_C, order), told, order.cancelled)


def _fed_at(job: ThrowJob, temp_C: float, order: Order) -> Mapping[str, bool]:
    """Return which pieces keep their feed in a coarse freezing run at a flask temperature [degC]."""
    from pourwright.simulate import engine

    flask = job.flask
    case = replace(best_case(flask.conditions), flask_K=temp_C + _ZERO_C_K)
    side_mm = first_side_mm(flask.thinnest_mm)
    run = run_flask(flask, case, side_mm, engine.freeze, order.cache, 0.0, cancelled=order.cancelled)
    if not run.result.finished:
        return {}
    fed = dict.fromkeys(flask.solid.pieces, True)
    for one in assess(run).verdicts:
        fed[one.piece] = fed[one.piece] and one.fed
    return fed


def _draw(loaded: Loaded, kept: FillFields, summary: ThrowSummary, path: Path) -> Path:
    from pourwright.sheet.throw_section import throw_section

    write_whole(path, throw_section(loaded.flask, kept, summary.pieces).svg.encode())
    return path


def as_json(answer: ThrowAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values."""
    return {
        "flasks": [_flask_as_json(one) for one in answer.flasks],
        "written": [str(one) for one in answer.files],
        "not_seen": say("doors.throw-not-seen"),
        "findings": [one.as_json() for one in answer.findings],
    }


def _flask_as_json(one: ThrownFlask) -> dict[str, Any]:
    said = {"pieces": [], "pockets": []} if one.summary is None else throw_as_json(one.summary)
    return {"id": one.id, "flask": one.flask, **said, "findings": [finding.as_json() for finding in one.findings]}
