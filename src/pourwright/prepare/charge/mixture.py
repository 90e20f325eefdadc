"""The sums of alligation for any number of lots and elements, on plain numbers.

A mixture is a list of shares that add up to one; a row of ``contents`` holds the mass share of each element in a lot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

# Slack left to an aim already reached while the next one is sought, as a share of the charge: far below any scale.
_SLACK_FRAC = 1e-9
# A share smaller than this is nothing: one part in ten million.
_NOTHING_FRAC = 1e-7


@dataclass(frozen=True)
class Recipe:
    """What a mixture must meet.

    Parameters
    ----------
    contents_frac : array, shape (lots, elements)
        Share of each element in each lot; the first column is the element held exactly.
    target_frac : array, shape (elements,)
        Wanted share of each element.
    most_frac : array, shape (lots,)
        Largest share of the mixture that a lot can be.
    scrap : tuple of bool
        Which lots are scrap.
    scrap_most_frac : float
        Largest share of all scrap together.
    """

    contents_frac: NDArray[np.float64]
    target_frac: NDArray[np.float64]
    most_frac: NDArray[np.float64]
    scrap: tuple[bool, ...]
    scrap_most_frac: float


def mix(recipe: Recipe, margin_frac: float = 0.0, excess_most_frac: float = 0.0) -> tuple[float, ...] | None:
    """Find the shares of the lots, or None if no mixture meets the recipe.

    The first element is met exactly (plus a margin) if it can be; then the other elements come as near as they can;
    then as much scrap is used as may be; then each lot in the order given is used as far as it goes.

    Parameters
    ----------
    recipe : Recipe
        What to meet.
    margin_frac : float
        By how much the first element is to exceed its target.
    excess_most_frac : float
        By how much more it may exceed it where the lots are too rich to meet it; as little of this as possible is used.

    Returns
    -------
    tuple of float or None
        Shares that add up to one.
    """
    equal, wanted = _balance(recipe, margin_frac)
    lots, gaps = len(recipe.scrap), equal.shape[1] - len(recipe.scrap)
    bounds = [(0.0, min(1.0, one)) for one in recipe.most_frac] + [(0.0, excess_most_frac)]
    bounds += [(0.0, None)] * (gaps - 1)
    scrap = np.r_[np.array(recipe.scrap, dtype=float), np.zeros(gaps)]
    excess, others = np.eye(lots + gaps)[lots], np.r_[np.zeros(lots + 1), np.ones(gaps - 1)]
    by_turn = sorted(range(lots), key=lambda lot: not recipe.scrap[lot])
    aims = [excess, others, -scrap, *(-np.eye(lots + gaps)[lot] for lot in by_turn)]
    found = _reach_in_turn(aims, (equal, wanted), (scrap, recipe.scrap_most_frac), bounds)
    return None if found is None else _clean(found[:lots])


def _reach_in_turn(
    aims: list[NDArray[np.float64]],
    equal: tuple[NDArray[np.float64], NDArray[np.float64]],
    most: tuple[NDArray[np.float64], float],
    bounds: list[tuple[float, float | None]],
) -> NDArray[np.float64] | None:
    """Minimise the first aim, then the second without giving up what was reached, and so on."""
    from scipy.optimize import linprog

    rows, limits = [most[0]], [most[1]]
    found: NDArray[np.float64] | None = None
    for aim in aims:
        done: Any = linprog(aim, np.array(rows), np.array(limits), *equal, bounds, method="highs-ds")
        if not done.success:
            break
        found = done.x
        rows.append(aim)
        limits.append(float(done.fun) + _SLACK_FRAC)
    return found


def _balance(recipe: Recipe, margin_frac: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the equations: shares add up to one, the first element may be over, the others over or under."""
    lots, elements = recipe.contents_frac.shape
    over = np.vstack([np.zeros(elements), np.eye(elements)])
    left = np.vstack([np.ones(lots), recipe.contents_frac.T])
    wanted = np.r_[1.0, recipe.target_frac]
    wanted[1] += margin_frac
    return np.hstack([left, -over, over[:, 1:]]), wanted


def _clean(shares: NDArray[np.float64]) -> tuple[float, ...]:
    kept = np.where(shares < _NOTHING_FRAC, 0.0, shares)
    return tuple(float(one) for one in kept / kept.sum())


def largest_charge_frac(recipe: Recipe) -> float:
    """Return how much of the charge asked for the lots are enough for, at most 1 (in ``frac`` of it)."""
    from scipy.optimize import linprog

    lots = len(recipe.scrap)
    noble = recipe.contents_frac[:, 0] - recipe.target_frac[0]
    scrap = np.array(recipe.scrap, dtype=float) - recipe.scrap_most_frac
    bounds = [(0.0, min(1.0, one)) for one in recipe.most_frac]
    done: Any = linprog(
        -np.ones(lots),
        np.vstack([scrap, np.ones(lots)]),
        [0.0, 1.0],
        noble.reshape(1, -1),
        [0.0],
        bounds,
        method="highs-ds",
    )
    return float(-done.fun) if done.success else 0.0


def worst_permille(
    masses_g: Sequence[float], fineness_permille: Sequence[float], errors_g: Sequence[float], direction: int = -1
) -> float:
    """Return the fineness if every weighing is off by its error in the worst direction [permille].

    Parameters
    ----------
    masses_g : sequence of float
        Weighed masses [g].
    fineness_permille : sequence of float
        Fineness of each lot [permille].
    errors_g : sequence of float
        Largest error of each weighing [g].
    direction : int
        -1 for the lowest fineness, +1 for the highest.

    Returns
    -------
    float
        The extreme over all signs of the errors [permille]. It lies at a threshold: lots leaner than some lot weigh
        heavy, the richer ones light.
    """
    order = sorted(range(len(masses_g)), key=lambda lot: fineness_permille[lot])
    extremes = [
        _shifted_permille(order[:cut], masses_g, fineness_permille, errors_g, direction)
        for cut in range(len(order) + 1)
    ]
    return min(extremes) if direction < 0 else max(extremes)


def _shifted_permille(
    lean: Sequence[int],
    masses_g: Sequence[float],
    fineness_permille: Sequence[float],
    errors_g: Sequence[float],
    direction: int,
) -> float:
    shifted = [
        max(0.0, mass - direction * error if lot in lean else mass + direction * error)
        for lot, (mass, error) in enumerate(zip(masses_g, errors_g, strict=True))
    ]
    whole = sum(shifted)
    return sum(mass * fine for mass, fine in zip(shifted, fineness_permille, strict=True)) / whole if whole > 0 else 0.0


def mixed_permille(masses_g: Sequence[float], fineness_permille: Sequence[float]) -> float:
    """Return the fineness of lots melted together: the mean weighted by mass [permille]."""
    return worst_permille(masses_g, fineness_permille, [0.0] * len(masses_g))
