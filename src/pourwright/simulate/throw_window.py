"""Flask temperatures for each piece: from filling below, and from liquid that is cut off above."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from pourwright.core.interval import Interval
from pourwright.core.work import Report, tell_nobody
from pourwright.physics.fill.ways import Ways
from pourwright.simulate.run import never
from pourwright.simulate.throw_run import FULL_FRAC, ThrowJob, sample_throws
from pourwright.simulate.throw_summary import FillWindow

# Probability of filling that the window asks for where it can be had. Our own judgement, no source.
WANTED_FRAC = 0.9
# Where something else than the temperature keeps even the hottest flask from that, the window asks for this share of
# what the hottest reaches; under the second number no temperature is said to do. Our own judgement, no source.
_AS_SURE_FRAC, LEAST_FRAC = 0.9, 0.5
# Enough runs to tell nine in ten from seven in ten, at each temperature.
RUNS_COUNT = 20
_STEPS_COUNT = 6
_ZERO_C_K = 273.15

# Whether each piece keeps its feed at a flask temperature [degC].
FedAt = Callable[[float], Mapping[str, bool]]


@dataclass(frozen=True)
class Search:
    """Between what flask temperatures to look [degC], how many runs at each, and the probability wanted."""

    low_C: float
    high_C: float
    wanted_frac: float = WANTED_FRAC
    runs_count: int = RUNS_COUNT
    freezings_count: int = 3


def find_windows(
    job: ThrowJob,
    ways: Ways,
    search: Search,
    fed_at: FedAt | None = None,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
) -> dict[str, FillWindow]:
    """Return the window of each piece; none if it was stopped.

    Parameters
    ----------
    job : ThrowJob
        The flask.
    ways : Ways
        From :func:`pourwright.simulate.throw_run.ways_of`.
    search : Search
        Where to look.
    fed_at : callable, optional
        Freezes the flask at a temperature [degC] and says which pieces keep their feed; without it the upper end is
        not looked for.
    report, cancelled : callable
        Told of progress; asked whether to stop.
    """
    tried_C = np.linspace(search.low_C, search.high_C, _STEPS_COUNT)
    rows = []
    for number, temp_C in enumerate(tried_C.tolist()):
        report(0.5 * number / _STEPS_COUNT, f"{temp_C:.0f} °C")
        at = replace(job, conditions=replace(job.conditions, flask_K=_moved(job.conditions.flask_K, temp_C)))
        samples = sample_throws(at, search.runs_count, ways, cancelled=cancelled)
        if len(samples.cases) < search.runs_count:
            return {}
        rows.append((samples.tank_frac >= FULL_FRAC).mean(axis=0))
    hot_C = _hottest_fed(search, fed_at, report, cancelled)
    names = job.hollow.cavity.names
    shares = np.maximum.accumulate(np.array(rows), axis=0)  # chance alone must not make a hotter flask fill less
    found = {}
    for number, name in enumerate(names[1:], 1):
        wanted = _wanted(float(shares[-1, number]), search.wanted_frac)
        low_C = _crossing(tried_C.tolist(), shares[:, number].tolist(), wanted)
        found[name] = FillWindow(low_C, hot_C.get(name), wanted, search.low_C, search.high_C, fed_at is not None)
    return found


def _wanted(hottest: float, wanted: float) -> float:
    """Return the share of runs to ask for: what is wanted, or nearly what the hottest flask reaches if that is less."""
    return max(min(wanted, _AS_SURE_FRAC * hottest), min(wanted, LEAST_FRAC))


def _moved(span: Interval, temp_C: float) -> Interval:
    """Return a range of flask temperatures moved to another best value [degC]."""
    best = temp_C + _ZERO_C_K
    return replace(span, low=best + span.low - span.best, best=best, high=best + span.high - span.best)


def _crossing(tried_C: Sequence[float], shares: Sequence[float], wanted: float) -> float | None:
    """Return the coldest temperature from which on the share is as wanted [degC], straight between those tried."""
    if shares[-1] < wanted:
        return None
    row = next(number for number, share in enumerate(shares) if share >= wanted)
    if row == 0:
        return tried_C[0]
    below, above = shares[row - 1], shares[row]
    return tried_C[row - 1] + (tried_C[row] - tried_C[row - 1]) * (wanted - below) / (above - below)


def _hottest_fed(
    search: Search, fed_at: FedAt | None, report: Report, cancelled: Callable[[], bool]
) -> dict[str, float]:
    """Return for each piece the hottest of the temperatures tried up to which it keeps its feed [degC]."""
    if fed_at is None:
        return {}
    hottest: dict[str, float] = {}
    lost: set[str] = set()
    tried_C = np.linspace(search.low_C, search.high_C, search.freezings_count).tolist()
    for number, temp_C in enumerate(tried_C):
        if cancelled():
            break
        report(0.5 + 0.5 * number / len(tried_C), f"{temp_C:.0f} °C")
        for piece, fed in fed_at(temp_C).items():
            if fed and piece not in lost:
                hottest[piece] = temp_C
            elif not fed:
                lost.add(piece)
    return hottest
