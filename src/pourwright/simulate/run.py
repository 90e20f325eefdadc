"""One run of one flask: from the cache, from where it was cut off, or from the pour; then what it means."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Protocol

from pourwright.core.work import Report, tell_nobody
from pourwright.physics.freeze.fields_file import Lattice
from pourwright.physics.freeze.hot_spots import HotSpots, find_hot_spots, linked
from pourwright.physics.freeze.results import FreezeResult, FreezeState
from pourwright.physics.freeze.verdicts import Feeding, judge_feeding
from pourwright.simulate.conditions import Case
from pourwright.simulate.job import FlaskJob, job_key
from pourwright.simulate.regions import Regions, find_regions, section_cells
from pourwright.simulate.store import run_store

# Solid share at which feed metal hardly flows any more: mush locks between a half and nine tenths. From memory
# (Campbell, Castings); where it matters, the sampled runs show how little hangs on it.
CRITICAL_FRAC = 0.7
# How long a flask is followed after the pour.
FOLLOW_S = 3600.0


def never() -> bool:
    """Say that nobody asked to stop."""
    return False


def forget(state: FreezeState) -> None:
    """Keep no state."""


@dataclass(frozen=True)
class Hooks:
    """What an engine tells and asks on its way, and where it goes on from."""

    report: Report = tell_nobody
    cancelled: Callable[[], bool] = never
    resume: FreezeState | None = None
    keep: Callable[[FreezeState], None] = forget


class Engine(Protocol):
    """Freezes a flask: a job, a case of its conditions, a side of cells [mm] and how long to follow it [s]."""

    def __call__(
        self, job: FlaskJob, case: Case, side_mm: float, follow_s: float, hooks: Hooks
    ) -> tuple[FreezeResult, Lattice]:
        """Return the run and its grid."""


@dataclass(frozen=True, eq=False)
class FlaskRun:
    """A run with what it was made from; ``cached`` says that it was not run again. ``store`` is where it is kept."""

    job: FlaskJob
    case: Case
    side_mm: float
    result: FreezeResult
    lattice: Lattice
    cached: bool = False
    resumed: bool = False
    store: Path | None = None


@dataclass(frozen=True, eq=False)
class Assessment:
    """What a run means: hot spots, verdicts on heavy sections, and the part of the tree each cell belongs to."""

    run: FlaskRun
    regions: Regions
    found: HotSpots
    verdicts: tuple[Feeding, ...] = field(default=())


def run_flask(
    job: FlaskJob,
    case: Case,
    side_mm: float,
    engine: Engine,
    cache: Path | None = None,
    follow_s: float = FOLLOW_S,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
) -> FlaskRun:
    """Freeze one flask.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    case : Case
        What it is poured under.
    side_mm : float
        Side of the cells in the metal [mm].
    engine : Engine
        Does the work.
    cache : Path or None
        The studio's cache folder; None keeps nothing.
    follow_s : float
        How long the flask is followed after the pour [s].
    report, cancelled : callable
        Told of progress; asked whether to stop.

    Returns
    -------
    FlaskRun
        ``result.finished`` is False after a stop; with a cache the same call goes on from there.
    """
    hooks = Hooks(report, cancelled)
    if cache is None:
        return FlaskRun(job, case, side_mm, *engine(job, case, side_mm, follow_s, hooks))
    store = run_store(cache, job_key(job, case, side_mm, (follow_s, CRITICAL_FRAC)))
    known = store.load()
    if known is not None:
        return FlaskRun(job, case, side_mm, *known, cached=True, store=store.fields)
    state = store.load_state()
    result, lattice = engine(job, case, side_mm, follow_s, Hooks(report, cancelled, state, store.keep_state))
    store.keep(result, lattice, about(job, case, side_mm))
    return FlaskRun(job, case, side_mm, result, lattice, resumed=state is not None, store=store.fields)


def about(job: FlaskJob, case: Case, side_mm: float) -> dict[str, object]:
    """Return what a run is made from, as plain JSON values for its store."""
    return {
        "load": job.id,
        "flask": job.flask,
        "alloy": job.conditions.alloy,
        "mould": job.conditions.mould,
        "case": asdict(case),
        "side_mm": side_mm,
        "axes": {"x": "across", "y": "across", "z": "up from mouth"},
    }


def assess(run: FlaskRun) -> Assessment:
    """Find the hot spots of a finished run and judge its heavy sections.

    Raises
    ------
    ValueError
        The run did not finish.
    """
    result, job = run.result, run.job
    regions = find_regions(result.centre_m, job)
    beside = linked(run.lattice.links, len(result.cell))
    found = find_hot_spots(result, regions.feeder, job.conditions.shrinkage_frac, CRITICAL_FRAC, neighbours=beside)
    sections = section_cells(result.centre_m, regions, job)
    verdicts = judge_feeding(result, found, sections, regions.of_cell, regions.names, regions.feeder, beside)
    return Assessment(run, regions, found, verdicts)
