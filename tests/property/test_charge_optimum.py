"""The cheapest charge against trying everything, and against another solver, on stocks of chance."""

from __future__ import annotations

import itertools
from decimal import Decimal

import numpy as np
import pulp
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.prepare.charge.optimum.cheapest import cheapest_charge
from pourwright.prepare.charge.optimum.request import Request, StockPart

_PARTS = st.builds(
    lambda share, mass_g, price, is_new, melts, whole: (share, mass_g, price, is_new, melts, whole),
    st.sampled_from([0.0, 0.8, 0.9, 0.925, 0.95, 0.999]),
    st.integers(1, 6),
    st.integers(1, 30),
    st.booleans(),
    st.integers(0, 5),
    st.booleans(),
)


def stock_of(rows):
    return tuple(
        StockPart(
            f"L{n}",
            {"Ag": share, "Cu": 1.0 - share},
            share,
            share,
            float(mass_g),
            whole,
            Decimal(price) / 10,
            is_new,
            melts,
        )
        for n, (share, mass_g, price, is_new, melts, whole) in enumerate(rows)
    )


def by_trying_all(stock, request):
    """Return the least cost over every set of whole grams, or None."""
    choices = [(0, round(one.mass_g)) if one.whole else range(round(one.mass_g) + 1) for one in stock]
    best = None
    for grams in itertools.product(*choices):
        if sum(grams) != request.mass_g:
            continue
        used = [(one, mass) for one, mass in zip(stock, grams, strict=True) if mass]
        excess = sum((one.composition_frac["Ag"] - 0.925) * mass for one, mass in used)
        error_g = request.scale_error_g * sum(abs(one.composition_frac["Ag"] - 0.925) for one, _ in used)
        new_g = sum(mass for one, mass in used if one.is_new)
        if excess < error_g - 1e-9 or new_g < request.new_least_frac * request.mass_g - 1e-9:
            continue
        cost = sum(one.price_per_g * mass for one, mass in used)
        best = cost if best is None else min(best, cost)
    return best


@settings(max_examples=40, deadline=None)
@given(st.lists(_PARTS, min_size=1, max_size=5), st.integers(2, 12), st.sampled_from([0.0, 0.1]))
def test_no_charge_of_whole_grams_is_cheaper(rows, mass_g, error_g):
    stock = stock_of(rows)
    request = Request("Ag", 925.0, float(mass_g), new_least_frac=0.4, scale_division_g=1.0, scale_error_g=error_g)
    charge, standing = cheapest_charge(stock, request)
    expected = by_trying_all(stock, request)
    if expected is None:
        assert charge is None
        assert standing
    else:
        assert charge is not None
        assert charge.cost == pytest.approx(expected, abs=Decimal("0.005"))
        assert sum(one.mass_g for one in charge.weigh) == mass_g


def by_another_solver(stock, request):
    """Return the least cost by another branch and bound, from a formulation written apart from ours."""
    task = pulp.LpProblem("charge", pulp.LpMinimize)
    marks = [pulp.LpVariable(f"n{n}", 0, round(one.mass_g / request.scale_division_g), cat="Integer")
             for n, one in enumerate(stock)]  # fmt: skip
    used = [pulp.LpVariable(f"u{n}", cat="Binary") for n in range(len(stock))]
    grams = [request.scale_division_g * one for one in marks]
    task += pulp.lpSum(float(one.price_per_g) * mass for one, mass in zip(stock, grams, strict=True))
    task += pulp.lpSum(marks) == round(request.mass_g / request.scale_division_g)
    over = [1000 * one.noble_low_frac - 925 for one in stock]
    task += (
        pulp.lpSum(
            one * mass - request.scale_error_g * abs(one) * on for one, mass, on in zip(over, grams, used, strict=True)
        )
        >= 0
    )
    task += pulp.lpSum(mass for one, mass in zip(stock, grams, strict=True) if one.is_new) >= (
        request.new_least_frac * request.mass_g
    )
    for one, mark, on in zip(stock, marks, used, strict=True):
        most = round(one.mass_g / request.scale_division_g)
        task += mark <= most * on
        if one.whole:
            task += mark == most * on
    task.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=1e-9, timeLimit=30))
    return pulp.value(task.objective) if task.status == pulp.LpStatusOptimal else None


@pytest.mark.parametrize("seed", range(6))
def test_another_solver_finds_the_same_cost(seed):
    chance = np.random.default_rng(seed)
    stock = tuple(
        StockPart(
            f"L{n}",
            {"Ag": share, "Cu": 1 - share},
            share - doubt,
            share + doubt,
            mass_g,
            bool(chance.random() < 0.3),
            Decimal(str(round(0.2 + share + 0.2 * chance.random(), 2))),
            bool(chance.random() < 0.6),
        )
        for n in range(9)
        for share, doubt, mass_g in [
            (round(chance.uniform(0.7, 0.99), 3), round(chance.uniform(0, 0.009), 4), round(chance.uniform(5, 60), 1))
        ]
    )
    request = Request("Ag", 925.0, 90.0, new_least_frac=0.3, scale_division_g=0.1, scale_error_g=0.05)
    charge, _ = cheapest_charge(stock, request)
    expected = by_another_solver(stock, request)
    if expected is None:
        assert charge is None
    else:
        assert float(charge.cost) == pytest.approx(expected, abs=0.006)
