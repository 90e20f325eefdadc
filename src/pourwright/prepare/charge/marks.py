"""Weights in whole marks of a scale, and weights rounded so that they still add up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np

# Marks around the exact weight among which the best set of whole marks is sought; upwards one more for each lot,
# because lots held at their last whole mark leave theirs to the others.
_MARKS_DOWN = 2
_MARKS_UP = 3
# A weight this close to a whole mark counts as on it.
_ON_A_MARK = 1e-4
# A mark of pure metal saved is worth this many marks of distance from the exact weights.
_LEAN_FIRST_RATIO = 10.0


def largest_remainder(masses_g: Sequence[float], total_g: float, step_g: float) -> list[float]:
    """Round masses to steps so that they add up to the total (all in ``g``).

    Parameters
    ----------
    masses_g : sequence of float
        Exact masses [g].
    total_g : float
        What they must add up to, itself a whole number of steps [g].
    step_g : float
        Smallest step [g].

    Returns
    -------
    list of float
        Each mass rounded down, and the steps then missing given to those that lost most.
    """
    steps = [mass / step_g for mass in masses_g]
    counts = [math.floor(one + _ON_A_MARK) for one in steps]
    missing = round(total_g / step_g) - sum(counts)
    by_loss = sorted(range(len(steps)), key=lambda lot: counts[lot] - steps[lot])
    for turn in range(abs(missing)):
        lot = by_loss[turn % len(by_loss)] if missing > 0 else by_loss[-1 - turn % len(by_loss)]
        counts[lot] += 1 if missing > 0 else -1
    return [in_steps(count, step_g) for count in counts]


def in_steps(count: int, step_g: float) -> float:
    """Return a number of steps as a mass [g], without binary dust."""
    return float(Decimal(count) * Decimal(str(step_g)))


def marks_up(mass_g: float, division_g: float) -> int:
    """Return the least number of marks that is not below a mass."""
    return math.ceil(mass_g / division_g - _ON_A_MARK)


def marks_down(mass_g: float, division_g: float) -> int:
    """Return the largest number of marks that is not above a mass."""
    return math.floor(mass_g / division_g + _ON_A_MARK)


@dataclass(frozen=True)
class MarkTask:
    """Whole marks wanted for lots that are all weighed.

    Parameters
    ----------
    masses_g : tuple of float
        Exact masses [g].
    fineness_permille : tuple of float
        Of each lot, at its low end [permille].
    most_count : tuple of int
        Most marks that a lot has.
    held : tuple of bool
        Lots that are used as far as they go: their marks are the exact mass rounded down.
    total_count : int
        Marks of all together.
    division_g, error_g : float
        One mark, and the error of one weighing [g].
    standard_permille : float
        The worst case must not be below it [permille]; 0 if there is no standard.
    """

    masses_g: tuple[float, ...]
    fineness_permille: tuple[float, ...]
    most_count: tuple[int, ...]
    held: tuple[bool, ...]
    total_count: int
    division_g: float
    error_g: float
    standard_permille: float


def whole_marks(task: MarkTask) -> tuple[int, ...] | None:
    """Find the leanest whole-mark weights near the exact ones whose worst case is at the standard.

    Returns
    -------
    tuple of int or None
        Marks of each lot; None if no set of marks within reach keeps to lots and standard.

    Notes
    -----
    The worst case is at the standard exactly if ``sum (a - s) m >= e sum |a - s|``, which is linear in the masses m.
    The search is an integer programme in floating point; its answer is then tried in exact fractions, and sought
    again with a hair's breadth more if it should fall short.
    """
    for slack in (0.0, 1e-6):
        counts = _search(task, slack)
        if counts is None or holds(task, counts):
            return counts
    return None


def holds(task: MarkTask, counts: Sequence[int]) -> bool:
    """Return whether the worst case of whole-mark weights is at the standard, in exact fractions."""
    margin = Fraction(str(task.error_g)) / Fraction(str(task.division_g))
    over = [Fraction(str(one)) - Fraction(str(task.standard_permille)) for one in task.fineness_permille]
    excess = sum((one * count for one, count in zip(over, counts, strict=True)), Fraction(0))
    return task.standard_permille == 0 or excess >= margin * sum(abs(one) for one in over)


def _search(task: MarkTask, slack_ratio: float) -> tuple[int, ...] | None:
    from scipy.optimize import Bounds, LinearConstraint, milp

    lots = len(task.masses_g)
    exact = np.array(task.masses_g) / task.division_g
    base = np.floor(exact + _ON_A_MARK)
    fine = np.array(task.fineness_permille)
    over = (fine - task.standard_permille) / 1000.0
    needed = task.error_g / task.division_g * np.abs(over).sum() - over @ base + slack_ratio
    none, one = np.zeros((lots, lots)), np.eye(lots)
    constraints = [
        LinearConstraint(np.hstack([one, -one]), -np.inf, exact - base),
        LinearConstraint(np.hstack([-one, -one]), -np.inf, base - exact),
        LinearConstraint(np.r_[np.ones(lots), none[0]], task.total_count - base.sum(), task.total_count - base.sum()),
    ]
    if task.standard_permille > 0:
        constraints.append(LinearConstraint(np.r_[over, none[0]], needed, np.inf))
    lean = _LEAN_FIRST_RATIO * fine / 1000.0 if task.standard_permille > 0 else none[0]
    found: Any = milp(
        np.r_[lean, np.ones(lots)],
        constraints=constraints,
        integrality=np.r_[np.ones(lots), np.zeros(lots)],
        bounds=Bounds(*_reach(task, base)),
    )
    return (
        tuple(round(start + step) for start, step in zip(base, found.x[:lots], strict=True)) if found.success else None
    )


def _reach(task: MarkTask, base: Any) -> tuple[Any, Any]:
    held = np.array(task.held)
    low = np.where(held, 0, np.maximum(-_MARKS_DOWN, -base))
    high = np.where(held, 0, np.minimum(_MARKS_UP + len(base), np.array(task.most_count) - base))
    return np.r_[low, np.zeros(len(base))], np.r_[np.maximum(low, high), np.full(len(base), np.inf)]
