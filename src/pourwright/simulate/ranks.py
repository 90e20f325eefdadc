"""Which input decides an answer, by how well their ranks go together."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# A rank correlation of n unrelated pairs strays by about 1/sqrt(n - 1); twice that is taken for nothing.
STRAY_RATIO = 2.0
_FEWEST_RUNS = 3


def strongest(drawn: Mapping[str, Floats], answer_ratio: Floats) -> tuple[str, float]:
    """Return the input whose rank goes best with the rank of an answer, and its rank correlation.

    The name is empty where none stands out of chance.

    Parameters
    ----------
    drawn : mapping of str to array, shape (n,)
        Values of each input over the runs, each in its own unit.
    answer_ratio : array, shape (n,)
        What the runs came to, in any unit.
    """
    from scipy.stats import rankdata

    count = len(answer_ratio)
    if count < _FEWEST_RUNS or np.ptp(answer_ratio) == 0:
        return "", 0.0
    ranks = rankdata(answer_ratio)
    found = {
        name: float(np.corrcoef(rankdata(values), ranks)[0, 1]) for name, values in drawn.items() if np.ptp(values) > 0
    }
    best = max(found, key=lambda name: abs(found[name]), default="")
    if not best or abs(found[best]) < STRAY_RATIO / sqrt(count - 1):
        return "", found.get(best, 0.0)
    return best, found[best]
