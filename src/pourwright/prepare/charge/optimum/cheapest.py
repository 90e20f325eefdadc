"""The cheapest charge, and how sure its fineness is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
from numpy.typing import NDArray

from pourwright.prepare.charge.marks import in_steps
from pourwright.prepare.charge.mixture import worst_permille
from pourwright.prepare.charge.optimum.likelihood import Term, met_frac
from pourwright.prepare.charge.optimum.model import Model, Row, solve, usable
from pourwright.prepare.charge.optimum.obstacles import obstacles
from pourwright.prepare.charge.optimum.request import BestCharge, Obstacle, Request, StockPart
from pourwright.prepare.charge.results import Weighing

# A charge this little dearer than the cheapest counts as equal, and the one with fewer lots is taken.
_EQUAL_COST_RATIO = 1e-9
# Halvings of the guard when a probability is asked for instead of the worst case.
_GUARD_TURNS_COUNT = 7


def cheapest_charge(parts: Sequence[StockPart], request: Request) -> tuple[BestCharge | None, tuple[Obstacle, ...]]:
    """Find the charge of least cost within every limit.

    Parameters
    ----------
    parts : sequence of StockPart
        The stock; among equally cheap charges the one with fewest lots is taken, then earlier lots first.
    request : Request
        What is wanted.

    Returns
    -------
    charge : BestCharge or None
        None when no charge keeps all limits.
    obstacles : tuple of Obstacle
        Then: each limit that alone stands in the way, and how far it would have to give.

    Notes
    -----
    An integer programme in whole marks of the scale, solved by the branch and bound of :func:`scipy.optimize.milp`.
    """
    model = Model(usable(parts, request), request)
    if not model.parts:
        return None, obstacles(model)
    counts, proven = _cheapest_counts(model)
    if counts is not None and not model.is_fine(counts):
        counts, proven = _cheapest_counts(replace(model, hair_ratio=1.0))
    return (None, obstacles(model)) if counts is None else (_described(model, counts, proven), ())


def likely_charge(
    parts: Sequence[StockPart], request: Request, meets_least_frac: float
) -> tuple[BestCharge | None, tuple[Obstacle, ...]]:
    """Find the cheapest charge whose fineness is at the standard with a given probability.

    Parameters
    ----------
    parts, request
        As for :func:`cheapest_charge`; the request's own guard is not used.
    meets_least_frac : float
        Probability wanted.

    Returns
    -------
    charge, obstacles
        As for :func:`cheapest_charge`. The guard against the worst case is lowered as far as the probability allows,
        so this charge is never dearer than the guarded one.
    """
    best, standing = cheapest_charge(parts, request)
    low, high = 0.0, request.guard_frac
    if best is None:
        best, standing = cheapest_charge(parts, replace(request, guard_frac=0.0))
        if best is None:
            return None, standing
    for _ in range(_GUARD_TURNS_COUNT):
        middle = (low + high) / 2
        trial, _no = cheapest_charge(parts, replace(request, guard_frac=middle))
        if trial is None:
            high = middle
        elif probability_frac(trial.weigh, parts, request) < meets_least_frac:
            low = middle
        else:
            best, high = trial, middle
    meets_frac = probability_frac(best.weigh, parts, request)
    if meets_frac < meets_least_frac:
        return None, (*standing, Obstacle("probability", "", meets_least_frac, meets_frac, "frac"))
    return replace(best, meets_frac=meets_frac), ()


def _cheapest_counts(model: Model) -> tuple[NDArray[np.float64] | None, bool]:
    """Return the counts of the cheapest charge, fewest lots first among equals, and whether that was proven."""
    count = len(model.parts)
    price = np.r_[model.cost_per_count(), np.zeros(count)]
    first = solve(model, price, model.rows)
    if first.x is None:
        return None, False
    spent = float(price @ np.round(first.x))
    no_dearer = Row("", "cost", price, -np.inf, spent * (1 + _EQUAL_COST_RATIO) + 1e-9)
    # A lot more weighs more than any order of lots.
    tidy = np.r_[np.zeros(count), count + np.arange(count) / count]
    second = solve(model, tidy, (*model.rows, no_dearer))
    found = first.x if second.x is None else second.x
    return np.round(found[:count]), bool(first.status == 0)


def _described(model: Model, counts: NDArray[np.float64], proven: bool) -> BestCharge:
    weigh = tuple(
        Weighing(one.lot, one.mass_g if one.whole else in_steps(round(count), model.request.scale_division_g))
        for one, count in zip(model.parts, counts, strict=True)
        if count > 0
    )
    return appraise(weigh, model.parts, model.request, proven)


def appraise(
    weigh: Sequence[Weighing], parts: Sequence[StockPart], request: Request, proven: bool = False
) -> BestCharge:
    """Return what a charge comes to: cost, composition, fineness with its ends, ages.

    Parameters
    ----------
    weigh : sequence of Weighing
        What lies on the pan.
    parts : sequence of StockPart
        The stock it comes from.
    request : Request
        Standard, scale and losses.
    proven : bool
        Whether nothing cheaper is known to exist.
    """
    by_lot = {one.lot: one for one in parts}
    used = Model(tuple(by_lot[one.lot] for one in weigh), request)
    masses_g = [one.mass_g for one in weigh]
    mass_g = np.array(masses_g)
    left_g = mass_g @ used.best_frac
    prices = [one.price_per_g * Decimal(str(mass)) for one, mass in zip(used.parts, masses_g, strict=True)]
    low, high = _extremes_permille(used, masses_g)
    melts = np.array([one.melts_count for one in used.parts])
    new = np.array([one.is_new for one in used.parts])
    return BestCharge(
        tuple(weigh),
        sum(prices, Decimal()).quantize(Decimal("0.01"), ROUND_HALF_UP),
        proven,
        {name: float(one) for name, one in zip(used.elements, left_g / left_g.sum(), strict=True)},
        1000.0 * float(left_g[0] / left_g.sum()),
        low,
        high,
        probability_frac(weigh, used.parts, request),
        float(mass_g[new].sum() / mass_g.sum()),
        float(mass_g[melts >= request.old_melts_count].sum() / mass_g.sum()) if request.old_melts_count else 0.0,
        float(melts @ mass_g / mass_g.sum()),
        max(0.0, float(mass_g.sum() - left_g.sum())),
    )


def _extremes_permille(used: Model, masses_g: Sequence[float]) -> tuple[float, float]:
    """Return the lowest and highest fineness over all errors at once [permille]."""
    found = []
    for direction, ends in ((-1, [one.noble_low_frac for one in used.parts]),
                            (1, [one.noble_high_frac for one in used.parts])):  # fmt: skip
        kept = used.kept_frac(ends)
        left = kept.sum(axis=1)
        # What the melt loses shrinks a part's mass and the error of its weighing alike.
        shrunk_g = [mass * one for mass, one in zip(masses_g, left, strict=True)]
        errors_g = [used.request.scale_error_g * float(one) for one in left]
        fineness = [1000.0 * float(one) for one in kept[:, 0] / left]
        found.append(float(worst_permille(shrunk_g, fineness, errors_g, direction)))
    return found[0], found[1]


def probability_frac(weigh: Sequence[Weighing], parts: Sequence[StockPart], request: Request) -> float:
    """Return the probability that a charge's fineness is at the standard (in ``frac``).

    Each lot's fineness and each weighing's error lies evenly over its range, all independent of each other
    (:mod:`pourwright.prepare.charge.optimum.likelihood`).

    Parameters
    ----------
    weigh : sequence of Weighing
        The charge.
    parts : sequence of StockPart
        The stock it comes from.
    request : Request
        Standard, scale and losses.
    """
    if request.standard_permille <= 0:
        return 1.0
    by_lot = {one.lot: one for one in parts}
    used = Model(tuple(by_lot[one.lot] for one in weigh), request)
    low = used.over_frac(used.kept_frac([one.noble_low_frac for one in used.parts]))
    high = used.over_frac(used.kept_frac([one.noble_high_frac for one in used.parts]))
    terms = [
        Term(one.mass_g, request.scale_error_g, float(least), float(most))
        for one, least, most in zip(weigh, low, high, strict=True)
    ]
    return met_frac(terms)
