"""Freeze the flasks of a day: a first answer on a coarse grid, then as fine as the time granted allows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from time import perf_counter
from typing import Any

from pourwright.core.errors import SolverError
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.core.work import Report, keep_line, tell_nobody
from pourwright.doors.service.freeze_file import keep_summaries, summary_as_json
from pourwright.doors.service.freeze_jobs import (
    Asked,
    absurd,
    job_of,
    pick_flasks,
    quench_limits,
    read_asked,
    tree_key,
)
from pourwright.doors.service.measuring import measure_in
from pourwright.doors.service.plan import find_studio
from pourwright.doors.service.stock.drawer import with_books_stock
from pourwright.doors.service.throw_plan import plan_with_windows
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.simulate.conditions import best_case
from pourwright.simulate.job import FlaskJob, StartField
from pourwright.simulate.resolution import (
    Fineness,
    Pace,
    choose_side,
    fine_side_mm,
    first_side_mm,
    memory_bytes_count,
    thin_places,
)
from pourwright.simulate.run import FOLLOW_S, Assessment, Engine, FlaskRun, assess, never, run_flask
from pourwright.simulate.store import trim
from pourwright.simulate.summary import INPUT_WORDS, FreezeSummary, summarise
from pourwright.simulate.sweep import Sweep, sweep_flask
from pourwright.studio.reading import read_day, read_studio

GRANTED_S = 60.0


@dataclass(frozen=True)
class FrozenFlask:
    """One flask's answer; ``summary`` is None when it was stopped before there was one."""

    id: str
    flask: str
    summary: FreezeSummary | None
    store: Path | None
    finished: bool
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class FreezeAnswer:
    """All flasks asked for, the files written, and all findings."""

    flasks: tuple[FrozenFlask, ...]
    files: tuple[Path, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Order:
    """How to go about it: engine and grid, cache, time granted [s], runs, who is told, and what starts warm."""

    engine: Engine
    cells_count: Callable[[FlaskJob, float], int]
    thin_frac: Callable[[FlaskJob, float], float]
    cache: Path
    granted_s: float
    samples_count: int
    scheduler: str
    fields: Path | None
    report: Report
    cancelled: Callable[[], bool]
    tell: Callable[[str], None]
    starts: Mapping[str, StartField]


def freeze_day_file(
    day_path: Path,
    studio_folder: Path | None = None,
    flask: str = "",
    flask_temperature: str = "",
    pour_temperature: str = "",
    side: str = "",
    granted: str = "",
    samples_count: int = 0,
    scheduler: str = "",
    fields: Path | None = None,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
    tell: Callable[[str], None] = keep_line,
    starts: Mapping[str, StartField] | None = None,
) -> FreezeAnswer:
    """Freeze the flasks of a day.

    Parameters
    ----------
    day_path : Path
        The day file.
    studio_folder : Path or None
        The studio; looked for around the day file unless given.
    flask : str
        One flask; all unless given.
    flask_temperature, pour_temperature, side, granted : str
        As typed, with units; those of the plan, and what suits the metal, unless given.
    samples_count : int
        Runs over the ranges; 0 for none.
    scheduler : str
        Address of a Dask scheduler for those runs.
    fields : Path or None
        Folder for the fields in a form that viewers open.
    report, cancelled : callable
        Told of progress; asked whether to stop.
    tell : callable
        Given the first answer in a line, while the fine one is on its way.
    starts : mapping of str to StartField, optional
        How warm the metal came to each place, by load; without one all of it starts as it was poured.

    Returns
    -------
    FreezeAnswer
        Never raises for what a user can mend.
    """
    asked, found = read_asked(flask_temperature, pour_temperature, side, granted)
    if found:
        return FreezeAnswer((), (), found)
    root = find_studio(day_path, studio_folder)
    plan, found = planned(day_path, root, report)
    if plan is None:
        return FreezeAnswer((), (), found)
    wanted, found = pick_flasks(plan, flask)
    mould_id = next(one for one in plan.studio.powders if one.id == plan.day.powder).mould
    found = (*found, *absurd(asked, find_alloy(plan.day.alloy), mould_id))
    if found:
        return FreezeAnswer((), (), found)
    order = _order(root / "cache", asked, samples_count, scheduler, fields, report, cancelled, tell, starts or {})
    frozen = []
    files: list[Path] = []
    for one in wanted:
        answer, written = _freeze_one(plan, one, asked, order, day_path.absolute().parent)
        frozen.append(answer)
        files += written
    trim(order.cache)
    summaries = {one.id: one.summary for one in frozen if one.summary is not None}
    files += keep_summaries(day_path.absolute().parent, summaries) if summaries else []
    return FreezeAnswer(tuple(frozen), tuple(files), tuple(one for answer in frozen for one in answer.findings))


def planned(day_path: Path, root: Path, report: Report) -> tuple[DayPlan | None, tuple[Finding, ...]]:
    """Return the plan of a day with the studio in a folder, or what stops it."""
    studio, found = read_studio(root)
    if studio is None:
        return None, found
    studio, from_books = with_books_stock(studio, root)
    found += from_books
    day, more = read_day(day_path, studio)
    if day is None or stops((*found, *more)):
        return None, (*found, *more)
    outcome = plan_with_windows(studio, day, measure_in(day_path.parent), day_path.absolute().parent, report)
    return outcome.plan, () if outcome.plan is not None else (*found, *more, *outcome.findings)


def _order(
    cache: Path,
    asked: Asked,
    samples_count: int,
    scheduler: str,
    fields: Path | None,
    report: Report,
    cancelled: Callable[[], bool],
    tell: Callable[[str], None],
    starts: Mapping[str, StartField],
) -> Order:
    from pourwright.simulate import engine

    granted_s = GRANTED_S if asked.granted_s is None else asked.granted_s
    return Order(
        engine.freeze, engine.cells_count, engine.thin_frac, cache, granted_s, samples_count, scheduler, fields, report,
        cancelled, tell, starts,
    )  # fmt: skip


def _freeze_one(
    plan: DayPlan, one: PlannedFlask, asked: Asked, order: Order, folder: Path
) -> tuple[FrozenFlask, list[Path]]:
    job, found = job_of(plan, one, asked, order.starts.get(one.id))
    if job is None:
        return FrozenFlask(one.id, one.flask, None, None, False, found), []
    try:
        run, more = _as_fine_as_granted(job, asked, order)
    except SolverError as refused:
        said = Finding("doors.freeze-solver", Level.STOP, one.id, {"reason": str(refused)})
        return FrozenFlask(one.id, one.flask, None, None, False, (*found, said)), []
    found = (*found, *more)
    if run is None:
        return FrozenFlask(one.id, one.flask, None, None, False, found), []
    if not run.result.finished:
        return FrozenFlask(one.id, one.flask, None, run.store, False, (*found, _unfinished(one.id, run, order))), []
    assessment = assess(run)
    sweep = _sweep(job, order)
    picture = folder / f"freeze-{one.id.rpartition('-')[2]}.svg"
    summary = summarise(assessment, quench_limits(), tree_key(plan, one), sweep, picture.name)
    written = [_draw(assessment, picture), *_fields(run, order.fields)]
    return FrozenFlask(one.id, one.flask, summary, run.store, True, (*found, *summary.findings)), written


def _as_fine_as_granted(job: FlaskJob, asked: Asked, order: Order) -> tuple[FlaskRun | None, tuple[Finding, ...]]:
    """Run coarse first; then fine, if the time granted allows by the pace of the first."""
    first_mm = asked.side_mm or first_side_mm(job.thinnest_mm)
    memory = memory_bytes_count()
    first = choose_side(first_mm, job.thinnest_mm, lambda side_mm: order.cells_count(job, side_mm), memory, job.id)
    found = (*first.findings, *_thin_places(job, first, order))
    if stops(found):
        return None, found
    run, took_s = _timed(job, first.side_mm, order)
    if asked.side_mm is not None or not run.result.finished or order.cancelled():
        return run, found
    left_s = order.granted_s - took_s
    pace = Pace() if run.cached else Pace().measured(first.cells_count, took_s)
    fine = choose_side(
        fine_side_mm(job.thinnest_mm), job.thinnest_mm, lambda side_mm: order.cells_count(job, side_mm), memory, job.id,
        max(left_s, 1e-3), pace,
    )  # fmt: skip
    if fine.side_mm >= first.side_mm:
        return run, found
    order.tell(_first_answer(job.id, run))
    expected = show(pace.wall_s(fine.cells_count), "s")
    order.report(0.0, say("doors.freeze-refining", load=job.id, side=show(fine.side_mm, "mm", 2), time=expected))
    finer, _ = _timed(job, fine.side_mm, order)
    if not finer.result.finished:
        return run, (*found, _kept_coarse(job.id, run, fine.side_mm))
    return finer, (*fine.findings, *_thin_places(job, fine, order))


def _thin_places(job: FlaskJob, chosen: Fineness, order: Order) -> tuple[Finding, ...]:
    if stops(chosen.findings):
        return ()
    return thin_places(order.thin_frac(job, chosen.side_mm), chosen.side_mm, job.id)


def _first_answer(load: str, run: FlaskRun) -> str:
    spots = assess(run).found.spots
    return say(
        "doors.freeze-first",
        load=load,
        side=show(run.side_mm, "mm", 2),
        time=show(run.result.last_solid_s, "s"),
        spots=len(spots),
        void=show(1e9 * sum(one.void_m3.best for one in spots), "mm3"),
    )


def _timed(job: FlaskJob, side_mm: float, order: Order) -> tuple[FlaskRun, float]:
    began_s = perf_counter()
    count = order.cells_count(job, side_mm)
    said = say("doors.freeze-running", load=job.id, side=show(side_mm, "mm", 2), cells=f"{count / 1e6:.2f}")
    order.report(0.0, said)
    run = run_flask(
        job,
        best_case(job.conditions),
        side_mm,
        order.engine,
        order.cache,
        FOLLOW_S,
        lambda share_frac, what: order.report(min(share_frac, 0.999), f"{said}  {what}"),
        order.cancelled,
    )
    return run, perf_counter() - began_s


def _unfinished(load: str, run: FlaskRun, order: Order) -> Finding:
    share = f"{100 * float(run.result.solid_at_last_frac @ run.result.metal_m3 / run.result.metal_m3.sum()):.0f}"
    params = {"share": share, "side": show(run.side_mm, "mm", 2)}
    if order.cancelled():
        return Finding("doors.freeze-stopped", Level.STOP, load, params)
    return Finding("doors.freeze-never-solid", Level.STOP, load, params)


def _kept_coarse(load: str, run: FlaskRun, wanted_mm: float) -> Finding:
    params = {"side": show(run.side_mm, "mm", 2), "wanted": show(wanted_mm, "mm", 2)}
    return Finding("doors.freeze-kept-coarse", Level.LOOK, load, params)


def _sweep(job: FlaskJob, order: Order) -> Sweep | None:
    if not order.samples_count or order.cancelled():
        return None
    side_mm = max(first_side_mm(job.thinnest_mm), min(1.0, job.thinnest_mm))
    return sweep_flask(
        job,
        side_mm,
        order.samples_count,
        order.engine,
        quench_limits(),
        FOLLOW_S,
        order.report,
        order.cancelled,
        order.scheduler,
    )


def _draw(assessment: Assessment, path: Path) -> Path:
    from pourwright.core.files import write_whole
    from pourwright.sheet.freeze_section import freeze_section

    write_whole(path, freeze_section(assessment).svg.encode())
    return path


def _fields(run: FlaskRun, folder: Path | None) -> list[Path]:
    from pourwright.physics.freeze.fields_file import write_fields, write_for_viewers
    from pourwright.simulate.run import about

    if folder is None:
        return []
    store, viewers = folder / f"{run.job.id}.zarr", folder / f"{run.job.id}.vtr"
    write_fields(store, run.result, run.lattice, about(run.job, run.case, run.side_mm))
    write_for_viewers(viewers, run.result, run.lattice.edges_m)
    return [store, viewers]


def as_json(answer: FreezeAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values."""
    return {
        "flasks": [_flask_as_json(one) for one in answer.flasks],
        "written": [str(one) for one in answer.files],
        "shrinkage_only": True,
        "findings": [one.as_json() for one in answer.findings],
    }


def _flask_as_json(one: FrozenFlask) -> dict[str, Any]:
    plain: dict[str, Any] = {"id": one.id, "flask": one.flask, "finished": one.finished}
    plain["store"] = str(one.store) if one.store else ""
    if one.summary is None:
        keys = ("energy_error_frac", "last_solid_s", "black_heat_s")
        plain |= {"hot_spots": [], "verdicts": [], "ranges": {}, **dict.fromkeys(keys)}
    else:
        plain |= summary_as_json(one.summary)
    plain["findings"] = [finding.as_json() for finding in one.findings]
    return plain


def as_text(answer: FreezeAnswer) -> str:
    """Return what a caster wants to know of each flask."""
    blocks = [_flask_text(one) for one in answer.flasks if one.summary is not None]
    return "\n\n".join([*blocks, "\n".join(str(one) for one in answer.files)]).strip("\n")


def _flask_text(one: FrozenFlask) -> str:
    said = one.summary
    assert said is not None
    lines = [
        say("doors.freeze-head", load=one.id, flask=one.flask, temperature=show(said.flask_temperature_C.value, "C"),
            pour=show(said.pour_temperature_C.value, "C"), side=show(said.side_mm, "mm", 2)),
        "  " + say("doors.freeze-solid", time=_span(said.last_solid_s.low, said.last_solid_s.value,
                                                   said.last_solid_s.high, "s", 0)),
    ]  # fmt: skip
    if said.black_heat_min is not None:
        black = said.black_heat_min
        lines.append("  " + say("doors.freeze-black", time=_span(black.low, black.value, black.high, "min", 1)))
    if said.quench_from_min is not None:
        cool = said.quench_from_min
        lines.append("  " + say("doors.freeze-quench", time=_span(cool.low, cool.value, cool.high, "min", 1)))
    lines += ["", *(_verdict_line(row.piece, row.words, row.fed_count, row.runs_count, row.decided_by)
                    for row in said.verdicts)]  # fmt: skip
    lines += ["", _spots_line(said), say("doors.freeze-books", error=f"{said.energy_error_frac:.0e}")]
    return "\n".join(lines)


def _span(low: float, best: float, high: float, unit: str, digits: int) -> str:
    middle = show(best, unit, digits)
    if not (isfinite(low) and isfinite(high)) or f"{low:.{digits}f}" == f"{high:.{digits}f}":
        return middle
    return say("doors.freeze-span", best=middle, low=f"{low:.{digits}f}", high=show(high, unit, digits))


def _verdict_line(piece: str, words: str, fed_count: int, runs_count: int, decided_by: str) -> str:
    line = f"  {piece}  {words}"
    if not runs_count:
        return line
    line += " " + say("doors.freeze-held", fed=fed_count, runs=runs_count)
    return line + (" " + say("doors.freeze-decides", name=say(INPUT_WORDS[decided_by])) if decided_by else "")


def _spots_line(said: FreezeSummary) -> str:
    if not said.hot_spots:
        return "  " + say("doors.freeze-no-spots")
    rows = []
    for number, one in enumerate(said.hot_spots, 1):
        x, y, z = (f"{side:.0f}" for side in one.place_mm)
        void = one.void_mm3
        rows.append(
            "  " + say("doors.freeze-spot", number=number, part=one.part, x=x, y=y, z=z,
                       cut=show(one.cut_off_s, "s", 1), last=show(one.last_freezing_s, "s", 1),
                       low=f"{void.low:.2f}", high=show(void.high, "mm3", 2))
        )  # fmt: skip
    return "\n".join(rows)
