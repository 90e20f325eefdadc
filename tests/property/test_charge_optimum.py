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
    step_g = request.scale_division_g
    marks = [pulp.LpVariable(f"n{n}", 0, 1 if one.whole else round(one.mass_g / step_g), cat="Integer")
             for n, one in enumerate(stock)]  # fmt: skip
    used = [pulp.LpVariable(f"u{n}", cat="Binary") for n in range(len(stock))]
    grams = [(one.mass_g if one.whole else step_g) * mark for one, mark in zip(stock, marks, strict=True)]
    task += pulp.lpSum(float(one.price_per_g) * mass for one, mass in zip(stock, grams, strict=True))
    whole_g = pulp.lpSum(grams)
    task += whole_g >= request.mass_g
    task += whole_g <= request.mass_g + request.surplus_most_g
    over = [1000 * one.noble_low_frac - 925 for one in stock]
    task += (
        pulp.lpSum(
            one * mass - request.scale_error_g * abs(one) * on for one, mass, on in zip(over, grams, used, strict=True)
        )
        >= 0
    )
    new_g = pulp.lpSum(mass for one, mass in zip(stock, grams, strict=True) if one.is_new)
    task += new_g >= request.new_least_frac * whole_g
    for element, (low, high) in request.windows_frac.items():
        held_g = pulp.lpSum(
            one.composition_frac.get(element, 0.0) * mass for one, mass in zip(stock, grams, strict=True)
        )
        task += held_g >= low * whole_g
        task += held_g <= high * whole_g
    if request.melts_mean_most_count is not None:
        melts = pulp.lpSum(one.melts_count * mass for one, mass in zip(stock, grams, strict=True))
        task += melts <= request.melts_mean_most_count * whole_g
    for one, mark, on in zip(stock, marks, used, strict=True):
        task += mark <= (1 if one.whole else round(one.mass_g / step_g)) * on
    task.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=1e-9, timeLimit=30))
    return pulp.value(task.objective) if task.status == pulp.LpStatusOptimal else None


def stock_of_chance(chance, lumps_frac, zinc_most):
    """Return nine lots of silver, copper and some zinc, part of them lumps."""
    found = []
    for n in range(9):
        share, doubt = round(chance.uniform(0.7, 0.99), 3), round(chance.uniform(0, 0.009), 4)
        zinc = round(chance.uniform(0, zinc_most), 3) if chance.random() < 0.5 else 0.0
        found.append(
            StockPart(
                f"L{n}",
                {"Ag": share, "Cu": round(1 - share - zinc, 6), "Zn": zinc},
                share - doubt,
                share + doubt,
                round(chance.uniform(5, 60), 1),
                bool(chance.random() < lumps_frac),
                Decimal(str(round(0.2 + share + 0.2 * chance.random(), 2))),
                bool(chance.random() < 0.6),
                int(chance.integers(0, 5)),
            )
        )
    return tuple(found)


@pytest.mark.parametrize("seed", range(6))
def test_another_solver_finds_the_same_cost(seed):
    stock = stock_of_chance(np.random.default_rng(seed), 0.3, 0.0)
    request = Request("Ag", 925.0, 90.0, new_least_frac=0.3, scale_division_g=0.1, scale_error_g=0.05)
    _same_cost(stock, request)


@pytest.mark.parametrize("seed", range(8))
def test_another_solver_finds_the_same_cost_with_lumps_windows_and_ages(seed):
    stock = stock_of_chance(np.random.default_rng(100 + seed), 0.6, 0.03)
    request = Request(
        "Ag",
        925.0,
        90.0,
        surplus_most_g=1.5,
        windows_frac={"Zn": (0.0, 0.008), "Cu": (0.05, 0.2)},
        new_least_frac=0.3,
        melts_mean_most_count=2.0,
        scale_division_g=0.1,
        scale_error_g=0.05,
    )
    _same_cost(stock, request)


def _same_cost(stock, request):
    charge, standing = cheapest_charge(stock, request)
    expected = by_another_solver(stock, request)
    if expected is None:
        assert charge is None
        assert standing
    else:
        assert charge is not None
        assert float(charge.cost) == pytest.approx(expected, abs=0.006)
