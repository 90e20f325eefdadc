"""Many coarse runs over the ranges: how often each verdict holds, and which input decides it."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import astuple, dataclass, replace
from math import nan
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.work import Report, tell_nobody
from pourwright.simulate.conditions import Case, draw_cases
from pourwright.simulate.cooling import QuenchLimits, cooling_times
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.ranks import strongest
from pourwright.simulate.run import Engine, assess, never, run_flask

Section = tuple[str, int]
SEED = 20261125
_THREADS = ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True)
class Outcome:
    """What one run came to; times from the pour [s], voids by section [mm3]; ``fed`` by section."""

    case: Case
    last_solid_s: float
    black_heat_s: float
    quench_from_s: float
    fed: Mapping[Section, bool]
    void_mm3: Mapping[Section, float]


@dataclass(frozen=True)
class Spread:
    """Middle and ends of a number over the runs, and what moves it.

    ``low_s``, ``middle_s`` and ``high_s`` hold a tenth, half and nine tenths of the runs below them [s]. ``mover`` is
    the input with the strongest rank correlation ``rank_ratio``, empty where none stands out of chance.
    ``runs_count`` runs came so far.
    """

    low_s: float
    middle_s: float
    high_s: float
    mover: str
    rank_ratio: float
    runs_count: int


@dataclass(frozen=True)
class Holding:
    """How often a section is fed over the runs, and the input that decides; empty where none stands out of chance.

    ``void_low_mm3`` and ``void_high_mm3`` hold a tenth and nine tenths of its voids below them [mm3].
    """

    piece: str
    section: int
    fed_count: int
    runs_count: int
    void_low_mm3: float
    void_high_mm3: float
    mover: str
    rank_ratio: float


@dataclass(frozen=True)
class Sweep:
    """What the runs say together; ``runs_count`` finished of ``asked_count``."""

    asked_count: int
    runs_count: int
    seed: int
    side_mm: float
    last_solid: Spread
    black_heat: Spread
    quench_from: Spread
    sections: tuple[Holding, ...]


def sweep_flask(
    job: FlaskJob,
    side_mm: float,
    count: int,
    engine: Engine,
    limits: QuenchLimits,
    follow_s: float,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
    scheduler: str = "",
    seed: int = SEED,
) -> Sweep:
    """Run cases drawn evenly from the ranges of a job's conditions.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    side_mm : float
        Side of the cells, coarse [mm].
    count : int
        How many runs.
    engine : Engine
        Must be a function of a module, for it is called in other processes.
    limits : QuenchLimits
        Temperatures that the quench goes by.
    follow_s : float
        How long each run is followed [s].
    report, cancelled : callable
        Told of progress; asked whether to stop, which leaves what has been run.
    scheduler : str
        Address of a Dask scheduler; empty takes processes of this machine, one a core.
    seed : int
        Of the draws.

    Returns
    -------
    Sweep
        Of the runs that finished.
    """
    cases = draw_cases(job.conditions, count, seed)
    work = _Work(job, side_mm, engine, limits, follow_s)
    outcomes: list[Outcome] = []
    runs = _on_scheduler(work, cases, scheduler) if scheduler else _on_this_machine(work, cases)
    for done, outcome in enumerate(runs, 1):
        outcomes += [outcome] if outcome is not None else []
        report(done / count, say("simulate.doing-samples", done=done, count=count))
        if cancelled():
            runs.close()
            break
    return summed_up(sorted(outcomes, key=lambda one: astuple(one.case)), count, seed, side_mm)


@dataclass(frozen=True, eq=False)
class _Work:
    """What is the same for all runs."""

    job: FlaskJob
    side_mm: float
    engine: Engine
    limits: QuenchLimits
    follow_s: float

    def run(self, case: Case) -> Outcome | None:
        """Return what a case comes to, or None where its metal did not freeze in the time given."""
        conditions = replace(self.job.conditions, shrinkage_frac=_exactly(case.shrinkage_frac))
        job = replace(self.job, conditions=conditions)
        done = run_flask(job, case, self.side_mm, self.engine, follow_s=self.follow_s)
        if not done.result.finished:
            return None
        times = cooling_times(done.result.histories, self.limits)
        verdicts = {(one.piece, one.section): one for one in assess(done).verdicts}
        return Outcome(
            case,
            done.result.last_solid_s,
            times.black_heat_s,
            times.quench_from_s,
            {key: one.fed for key, one in verdicts.items()},
            {key: 1e9 * one.void_m3.best for key, one in verdicts.items()},
        )


def _exactly(value_frac: float) -> Interval:
    return Interval.exact(value_frac)


# In a worker: the work of its pool. Sending it with each case would send the tree again and again.
_here: list[_Work] = []


def _begin(work: _Work) -> None:
    """Take the work, and leave a stop from the keyboard to the process that handed it out."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _here[:] = [work]


def _do(case: Case) -> Outcome | None:
    return _here[0].run(case)


def _on_this_machine(work: _Work, cases: Sequence[Case]) -> Generator[Outcome | None, None, None]:
    """Run in fresh processes, one a core, one thread each."""
    workers = min(len(cases), max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else 1))
    with (
        _one_thread_each(),
        ProcessPoolExecutor(workers, get_context("spawn"), initializer=_begin, initargs=(work,)) as pool,
    ):
        waiting = [pool.submit(_do, case) for case in cases]
        try:
            for one in as_completed(waiting):
                yield one.result()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Set what children read at their start, and put back what was there."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _on_scheduler(work: _Work, cases: Sequence[Case], address: str) -> Generator[Outcome | None, None, None]:
    """Run on the workers of a Dask scheduler."""
    from distributed import Client
    from distributed import as_completed as as_finished

    with Client(address) as client:  # type: ignore[no-untyped-call]
        shared = client.scatter(work, broadcast=True)
        waiting = [client.submit(_do_with, shared, case, pure=False) for case in cases]
        for one in as_finished(waiting):  # type: ignore[no-untyped-call]
            yield one.result()


def _do_with(work: _Work, case: Case) -> Outcome | None:
    return work.run(case)


def summed_up(outcomes: Sequence[Outcome], asked_count: int, seed: int, side_mm: float) -> Sweep:
    """Return what outcomes say together; the side of their cells in [mm] is only passed on."""
    sections = sorted({key for one in outcomes for key in one.fed})
    return Sweep(
        asked_count,
        len(outcomes),
        seed,
        side_mm,
        _spread(outcomes, [one.last_solid_s for one in outcomes]),
        _spread(outcomes, [one.black_heat_s for one in outcomes]),
        _spread(outcomes, [one.quench_from_s for one in outcomes]),
        tuple(_holding(outcomes, key) for key in sections),
    )


def _spread(outcomes: Sequence[Outcome], values_s: Sequence[float]) -> Spread:
    known = [(one, value) for one, value in zip(outcomes, values_s, strict=True) if np.isfinite(value)]
    if not known:
        return Spread(nan, nan, nan, "", 0.0, 0)
    low, middle, high = np.quantile([value for _, value in known], (0.1, 0.5, 0.9)).tolist()
    mover = _mover([one.case for one, _ in known], np.array([value for _, value in known]))
    return Spread(low, middle, high, *mover, len(known))


def _holding(outcomes: Sequence[Outcome], key: Section) -> Holding:
    """A section that some run does not name was light and without a void there: it counts as fed."""
    voids = np.array([one.void_mm3.get(key, 0.0) for one in outcomes])
    fed = [one.fed.get(key, True) for one in outcomes]
    low, high = np.quantile(voids, (0.1, 0.9)).tolist()
    mover = _mover([one.case for one in outcomes], voids)
    return Holding(*key, sum(fed), len(outcomes), low, high, *mover)


def _mover(cases: Sequence[Case], values: NDArray[np.float64]) -> tuple[str, float]:
    """Return the input whose rank goes best with the rank of the values, if any stands out of chance."""
    drawn = {name: np.array([getattr(one, name) for one in cases]) for name in Case.__dataclass_fields__}
    return strongest(drawn, values)
