"""Milligrams are neither made nor lost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourwright.books.masses import g_from_mg, mg_from_g, portions_mg, split_mg, to_ppm

_SHARES = st.dictionaries(st.sampled_from(["Ag", "Cu", "Zn", "Au", "Sn"]), st.integers(1, 1000), min_size=1)


def test_grams_as_written_become_milligrams():
    assert mg_from_g("31.103") == 31_103
    assert mg_from_g(0.1) == 100
    assert str(g_from_mg(31_103)) == "31.103"


def test_sterling_is_split_by_largest_remainder():
    assert split_mg(1001, {"Ag": 925_000, "Cu": 75_000}) == {"Ag": 926, "Cu": 75}


@given(st.integers(0, 10**9), _SHARES)
def test_elements_add_up_to_the_gross(gross_mg, weights):
    whole = sum(weights.values())
    shares = to_ppm({name: weight / whole for name, weight in weights.items()})
    assert sum(shares.values()) == 1_000_000
    parts = split_mg(gross_mg, shares)
    assert sum(parts.values()) == gross_mg
    assert all(abs(parts.get(name, 0) - gross_mg * share / 1e6) < 1 for name, share in shares.items())


@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=8), _SHARES)
def test_portions_add_up_both_ways_and_are_alike(portions, weights):
    gross_mg = sum(portions)
    whole = sum(weights.values())
    melt = split_mg(gross_mg, to_ppm({name: weight / whole for name, weight in weights.items()}))
    found = portions_mg(portions, melt)
    assert [sum(one.values()) for one in found] == portions
    assert {name: sum(one.get(name, 0) for one in found) for name in melt} == melt
    for portion, one in zip(portions, found, strict=True):
        for name, mass in melt.items():
            # Two borders, each rounded by at most half a milligram; the main element takes what the others leave.
            assert abs(one.get(name, 0) - portion * mass / gross_mg) <= len(melt)


def test_portions_that_are_not_the_melt_are_refused():
    with pytest.raises(ValueError, match="from a melt"):
        portions_mg([1, 2], {"Ag": 4})
    with pytest.raises(ValueError, match="million"):
        split_mg(5, {"Ag": 3})
