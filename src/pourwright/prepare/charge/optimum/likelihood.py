"""How likely a fineness is at its standard, when each lot's fineness and each weighing is somewhere in its range.

Every doubt is taken as even over its range and independent of the others. The excess of noble metal over the standard
is then a sum of independent terms, one a weighing; their densities are put on one grid and folded into each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
# Cells over the whole span of the excess; the cell that holds the standard is divided, so the fault goes with the
# square of a cell.
_CELLS_COUNT = 4096
# Points of the error of a weighing at which the span of the fineness is laid out (Gauss and Legendre).
_NODES_COUNT = 12
# A span this small beside the masses is none.
_NO_SPAN_RATIO = 1e-12


@dataclass(frozen=True)
class Term:
    """A weighing: its mass and error [g], and by how much a gram lies over the standard at both ends of its fineness.

    Parameters
    ----------
    mass_g, error_g : float
        Mass, and the most that it may be off either way [g].
    over_low_frac, over_high_frac : float
        Excess of the noble metal over the standard, in a gram at the low and at the high end.
    """

    mass_g: float
    error_g: float
    over_low_frac: float
    over_high_frac: float

    @property
    def corners_g(self) -> tuple[float, ...]:
        """Return the excess at all four corners of mass and fineness [g]."""
        masses_g = (self.mass_g - self.error_g, self.mass_g + self.error_g)
        return tuple(mass * over for mass in masses_g for over in (self.over_low_frac, self.over_high_frac))


def met_frac(terms: Sequence[Term]) -> float:
    """Return the probability that the excess of all terms together is not below nothing (in ``frac``).

    Parameters
    ----------
    terms : sequence of Term
        All weighings.

    Returns
    -------
    float
        Within about 1e-4 of the exact value; 0 or 1 exactly where the ranges leave no doubt.
    """
    low_g = sum(min(one.corners_g) for one in terms)
    high_g = sum(max(one.corners_g) for one in terms)
    dust_g = _NO_SPAN_RATIO * sum(one.mass_g for one in terms)
    if low_g >= -dust_g:
        return 1.0
    if high_g < -dust_g:
        return 0.0
    step_g = (high_g - low_g) / _CELLS_COUNT
    mass = np.ones(1)
    for one in terms:
        mass = _folded(mass, _cells(one, step_g))
    # Each term's cells start half a step below its low end, so that masses sit in the middle of their cells.
    at_g = low_g + step_g * np.arange(mass.size)
    upper = np.clip((at_g + step_g / 2) / step_g, 0.0, 1.0)
    return float(np.clip(mass @ upper, 0.0, 1.0))


def _folded(mass: Floats, more: Floats) -> Floats:
    size = mass.size + more.size - 1
    product = np.fft.rfft(mass, size) * np.fft.rfft(more, size)
    return np.asarray(np.maximum(np.fft.irfft(product, size), 0.0))


def _cells(term: Term, step_g: float) -> Floats:
    """Return the share of a term's excess in each cell, the first around its low end."""
    low_g, high_g = min(term.corners_g), max(term.corners_g)
    count = int(np.ceil((high_g - low_g) / step_g)) + 1
    edges_g = low_g + step_g * (np.arange(count + 1) - 0.5)
    spread = term.over_low_frac != term.over_high_frac and term.error_g > 0
    nodes, weights = np.polynomial.legendre.leggauss(_NODES_COUNT) if spread else (np.zeros(1), np.full(1, 2.0))
    share = np.zeros(count + 1)
    for node, weight in zip(nodes, weights, strict=True):
        share += weight / 2 * _below(term, float(node), np.asarray(edges_g, dtype=np.float64))
    share[0], share[-1] = 0.0, 1.0
    return np.diff(share)


def _below(term: Term, node_ratio: float, edges_g: Floats) -> Floats:
    """Return the share below each edge, the weighing being off by so much of its error (all of it if nothing else)."""
    if term.over_low_frac == term.over_high_frac:
        ends = sorted((term.corners_g[0], term.corners_g[2]))
    else:
        mass_g = term.mass_g + node_ratio * term.error_g
        ends = sorted((mass_g * term.over_low_frac, mass_g * term.over_high_frac))
    span_g = ends[1] - ends[0]
    if span_g <= 0:
        return np.asarray((edges_g >= ends[0]).astype(np.float64))
    return np.asarray(np.clip((edges_g - ends[0]) / span_g, 0.0, 1.0))
