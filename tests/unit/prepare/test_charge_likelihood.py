"""The probability of a fineness against drawing lots, and against cases that are known in full."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.prepare.charge.optimum.likelihood import Term, met_frac

DRAWS = 200_000


def by_drawing(terms, seed):
    """Return the share of draws that meet, and its standard error."""
    chance = np.random.default_rng(seed)
    excess_g = np.zeros(DRAWS)
    for one in terms:
        mass_g = one.mass_g + chance.uniform(-one.error_g, one.error_g, DRAWS)
        excess_g += mass_g * chance.uniform(min(one.over_low_frac, one.over_high_frac),
                                            max(one.over_low_frac, one.over_high_frac), DRAWS)  # fmt: skip
    share = float(np.mean(excess_g >= 0))
    return share, max(np.sqrt(share * (1 - share) / DRAWS), 1 / DRAWS)


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(1, 100), st.sampled_from([0.0, 0.005, 0.5]), st.floats(-0.05, 0.05), st.floats(0, 0.03)
        ),
        min_size=1,
        max_size=6,
    ),
    st.floats(-0.9, 0.9),
    st.integers(0, 1000),
)  # fmt: skip
def test_the_probability_is_that_of_drawing_lots(rows, place, seed):
    terms = [Term(mass, error, over, over + span) for mass, error, over, span in rows]
    # Move the standard to somewhere within the span, where the answer is neither 0 nor 1.
    low, high = sum(min(one.corners_g) for one in terms), sum(max(one.corners_g) for one in terms)
    shift = ((low + high) / 2 + place * (high - low) / 2) / sum(one.mass_g for one in terms)
    terms = [Term(one.mass_g, one.error_g, one.over_low_frac - shift, one.over_high_frac - shift) for one in terms]
    if high - low < 1e-6:
        return
    drawn, error = by_drawing(terms, seed)
    assert met_frac(terms) == pytest.approx(drawn, abs=5 * error + 2e-3)


def test_one_lot_whose_span_is_cut_at_a_quarter_meets_in_three_quarters():
    assert met_frac([Term(40.0, 0.0, -0.005, 0.015)]) == pytest.approx(0.75, abs=1e-4)


def test_two_like_lots_follow_the_triangle():
    # The sum of two even spans of one width is above a point a quarter up the whole span with 1 - (1/2)^2 / 2.
    half = Fraction(1) - Fraction(1, 2) ** 2 / 2
    assert met_frac([Term(10.0, 0.0, -0.01, 0.03)] * 2) == pytest.approx(float(half), abs=1e-4)


def test_no_doubt_is_no_probability():
    assert met_frac([Term(111.0, 0.05, 0.074, 0.074), Term(8.0, 0.05, -0.925, -0.925)]) == 1.0
    assert met_frac([Term(111.0, 0.0, 0.074, 0.074), Term(9.0, 0.0, -0.925, -0.925)]) == 0.0
    # Exactly at the standard counts as met.
    assert met_frac([Term(925.0, 0.0, 0.075, 0.075), Term(75.0, 0.0, -0.925, -0.925)]) == 1.0
