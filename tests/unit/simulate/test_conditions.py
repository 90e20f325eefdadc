"""Cases drawn from the ranges of the conditions."""

import pytest
from tests.unit.simulate.made_up_flask import made_up_job

from pourwright.simulate.conditions import best_case, draw_cases, ranges

CONDITIONS = made_up_job().conditions


def test_the_best_case_lies_within_all_ranges():
    case = best_case(CONDITIONS)
    assert case.conductivity_ratio == pytest.approx(1.0)
    for name, one in ranges(CONDITIONS).items():
        assert one.low < getattr(case, name) < one.high, name


def test_draws_are_within_the_ranges_and_the_same_for_the_same_seed():
    cases = draw_cases(CONDITIONS, 30, 7)
    assert cases == draw_cases(CONDITIONS, 30, 7)
    assert cases != draw_cases(CONDITIONS, 30, 8)
    for name, one in ranges(CONDITIONS).items():
        drawn = [getattr(case, name) for case in cases]
        assert one.low <= min(drawn) < max(drawn) <= one.high


def test_no_contact_grows_when_the_gap_opens():
    assert all(case.after_gap_W_m2K <= case.contact_W_m2K for case in draw_cases(CONDITIONS, 200, 1))
