"""The request as an integer programme: how many marks of each grain, which lumps, and every limit as a row.

For part i the programme holds a whole number n (marks of the scale for grain, 0 or 1 for a lump) and a switch u that
tells whether the part is weighed at all. Its mass is ``unit_g * n``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.prepare.charge.marks import marks_down, marks_up
from pourwright.prepare.charge.optimum.request import Request, StockPart

Floats = NDArray[np.float64]
# The solver keeps rows to about a millionth; where that falls short the fineness (permille times gram) is held a hair
# above its limit, a millionth of a permille on a hundred grams.
HAIR = 1e-4


@dataclass(frozen=True, eq=False)
class Row:
    """A limit ``low <= coefficients @ (n, u) <= high``.

    ``limit`` and ``subject`` name it for people; ``limit`` is empty for rows that only tie n to u.
    """

    limit: str
    subject: str
    coefficients: Floats
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Model:
    """Parts, request, and what follows from them; parts of which nothing can be used are left out before.

    ``hair_ratio`` 1 holds the fineness a hair above its limit.
    """

    parts: tuple[StockPart, ...]
    request: Request
    hair_ratio: float = 0.0

    @cached_property
    def unit_g(self) -> Floats:
        """Mass of one of each part's counts [g], shape (parts,)."""
        return np.array([one.mass_g if one.whole else self.request.scale_division_g for one in self.parts])

    @cached_property
    def most_count(self) -> Floats:
        """Largest count of each part, shape (parts,)."""
        most = marks_up(self.request.mass_g + self.request.surplus_most_g, self.request.scale_division_g)
        there = [1 if one.whole else marks_down(one.mass_g, self.request.scale_division_g) for one in self.parts]
        return np.array([min(one, most) for one in there], dtype=np.float64)

    @cached_property
    def elements(self) -> tuple[str, ...]:
        """The noble metal first, then all others that occur."""
        others = {name for one in self.parts for name in one.composition_frac} - {self.request.element}
        return (self.request.element, *sorted(others))

    def kept_frac(self, noble_frac: Sequence[float]) -> Floats:
        """Return what a gram of each part leaves of each element after the melt (in ``frac``), shape (parts, elements).

        ``noble_frac`` is the share of the noble metal that each part is taken at.
        """
        keep = np.array([1.0 - self.request.loss_frac.get(name, 0.0) for name in self.elements])
        rows = [
            [one.contents_frac(self.request.element, noble).get(name, 0.0) for name in self.elements]
            for one, noble in zip(self.parts, noble_frac, strict=True)
        ]
        return np.asarray(np.array(rows) * keep)

    @cached_property
    def best_frac(self) -> Floats:
        """What a gram of each part leaves at its best composition, shape (parts, elements)."""
        return self.kept_frac([one.composition_frac.get(self.request.element, 0.0) for one in self.parts])

    def over_frac(self, kept_frac: Floats) -> Floats:
        """Return by how much a gram of each part lies over the standard (in ``frac``), shape (parts,)."""
        return np.asarray(kept_frac[:, 0] - self.request.standard_permille / 1000.0 * kept_frac.sum(axis=1))

    @cached_property
    def guarded(self) -> tuple[Floats, Floats]:
        """Return, for a gram of each part, its least excess over the standard, and what its weighing may take off [g].

        With every error in the worst direction the charge is at the standard exactly if the excesses of its parts
        outweigh the errors; both are linear in the masses and switches.
        """
        guard = self.request.guard_frac
        best = self.over_frac(self.best_frac)
        low = self.over_frac(self.kept_frac([one.noble_low_frac for one in self.parts]))
        least = best - guard * (best - low)
        return least, guard * self.request.scale_error_g * np.abs(least)

    def is_fine(self, counts: Floats) -> bool:
        """Return whether counts, shape (parts,), keep the guarded fineness, apart from binary dust."""
        least, error_g = self.guarded
        over_g = float(least @ (self.unit_g * counts) - error_g @ (counts > 0))
        return self.request.standard_permille <= 0 or over_g >= -1e-12 * self.request.mass_g

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """All limits."""
        return (*self._mass(), *self._fineness(), *self._windows(), *self._ages(), *self._ties())

    def _on_mass(self, per_gram: Floats) -> Floats:
        return np.asarray(np.r_[per_gram * self.unit_g, np.zeros(len(self.parts))])

    def _mass(self) -> tuple[Row, ...]:
        wish, ones = self.request, np.ones(len(self.parts))
        dust_g = 1e-6 * wish.scale_division_g
        return (Row("mass", "", self._on_mass(ones), wish.mass_g - dust_g, wish.mass_g + wish.surplus_most_g + dust_g),)

    def _fineness(self) -> tuple[Row, ...]:
        least, error_g = self.guarded
        if self.request.standard_permille <= 0:
            return ()
        return (Row("fineness", "", 1000.0 * np.r_[least * self.unit_g, -error_g], self.hair_ratio * HAIR, np.inf),)

    def _windows(self) -> tuple[Row, ...]:
        kept, whole = self.best_frac, self.best_frac.sum(axis=1)
        found = []
        for name, (low, high) in self.request.windows_frac.items():
            own = kept[:, self.elements.index(name)] if name in self.elements else np.zeros(len(self.parts))
            found.append(Row("window", f"{name} least", self._on_mass(own - low * whole), 0.0, np.inf))
            found.append(Row("window", f"{name} most", self._on_mass(own - high * whole), -np.inf, 0.0))
        return tuple(found)

    def _ages(self) -> tuple[Row, ...]:
        wish, found = self.request, []
        new = np.array([float(one.is_new) for one in self.parts])
        melts = np.array([float(one.melts_count) for one in self.parts])
        if wish.new_least_frac > 0:
            found.append(Row("new", "", self._on_mass(new - wish.new_least_frac), 0.0, np.inf))
        if wish.melts_mean_most_count is not None:
            found.append(Row("melts", "", self._on_mass(melts - wish.melts_mean_most_count), -np.inf, 0.0))
        if wish.old_most_frac < 1:
            old = (melts >= wish.old_melts_count).astype(float)
            found.append(Row("old", "", self._on_mass(old - wish.old_most_frac), -np.inf, 0.0))
        return tuple(found)

    def _ties(self) -> tuple[Row, ...]:
        """Tie counts to switches: nothing unless switched on, and then no less than the scale can weigh."""
        count, found = len(self.parts), []
        least = max(1, marks_up(self.request.weigh_least_g, self.request.scale_division_g))
        for place, one in enumerate(self.parts):
            most = np.zeros(2 * count)
            most[place], most[count + place] = 1.0, -max(self.most_count[place], 1.0)
            found.append(Row("", one.lot, most, -np.inf, 0.0))
            lower = np.zeros(2 * count)
            lower[place], lower[count + place] = 1.0, -1.0 if one.whole else -float(least)
            found.append(Row("" if one.whole else "weigh", one.lot, lower, 0.0, np.inf))
        return tuple(found)

    def cost_per_count(self) -> Floats:
        """Return the price of one count of each part as plain numbers, shape (parts,) (in ``ratio`` to the money)."""
        return np.asarray(np.array([float(one.price_per_g) for one in self.parts]) * self.unit_g)


def usable(parts: Sequence[StockPart], request: Request) -> tuple[StockPart, ...]:
    """Return the parts of which something could go into the charge at all."""
    most_g = request.mass_g + request.surplus_most_g
    return tuple(
        one
        for one in parts
        if (one.whole and 0 < one.mass_g <= most_g)
        or (not one.whole and marks_down(one.mass_g, request.scale_division_g) > 0)
    )


def solve(
    model: Model,
    aim: Floats,
    rows: Sequence[Row],
    extra: NDArray[np.float64] | None = None,
    time_limit_s: float = 20.0,
) -> Any:
    """Minimise ``aim`` over counts, switches and extra columns (slacks, at least 0) under the rows.

    Parameters
    ----------
    model : Model
        Gives bounds and whole numbers.
    aim : array, shape (2 parts + slacks,)
        What to minimise.
    rows : sequence of Row
        Limits.
    extra : array, shape (rows, slacks), or None
        Coefficients of the slacks in each row.
    time_limit_s : float
        Longest search [s].

    Returns
    -------
    scipy.optimize.OptimizeResult
        Of :func:`scipy.optimize.milp`.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    count = len(model.parts)
    slacks = 0 if extra is None else extra.shape[1]
    left = np.array([one.coefficients for one in rows])
    if extra is not None:
        left = np.hstack([left, extra])
    low, high = np.array([one.low for one in rows]), np.array([one.high for one in rows])
    return milp(
        aim,
        constraints=LinearConstraint(left, low, high),
        integrality=np.r_[np.ones(2 * count), np.zeros(slacks)],
        bounds=Bounds(np.zeros(2 * count + slacks), np.r_[model.most_count, np.ones(count), np.full(slacks, np.inf)]),
        options={"time_limit": time_limit_s, "mip_rel_gap": 1e-9},
    )
