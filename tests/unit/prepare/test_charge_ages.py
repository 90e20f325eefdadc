"""What a share of new metal means in the long run, held against melting charge after charge."""

from __future__ import annotations

import pytest

from pourwright.prepare.charge.ages import ages_frac, mean_melts_count, often_melted_frac


@pytest.mark.parametrize(("new", "mean", "often"), [(0.5, 1.0, 3.1), (0.3, 2.33, 16.8)])
def test_half_and_half_means_one_earlier_melt_and_3_1_percent_of_five_or_more(new, mean, often):
    assert mean_melts_count(new) == pytest.approx(mean, abs=0.005)
    assert 100 * often_melted_frac(new, 5) == pytest.approx(often, abs=0.05)


@pytest.mark.parametrize("new", [0.3, 0.5, 0.8])
def test_the_long_run_is_where_charge_after_charge_ends(new):
    share = {0: 1.0}
    for _ in range(200):
        share = {0: new, **{melts + 1: (1 - new) * one for melts, one in share.items()}}
    assert sum(melts * one for melts, one in share.items()) == pytest.approx(mean_melts_count(new))
    assert sum(one for melts, one in share.items() if melts >= 5) == pytest.approx(often_melted_frac(new, 5))


def test_all_new_metal_has_no_past_and_none_has_no_long_run():
    assert mean_melts_count(1.0) == 0.0
    assert often_melted_frac(1.0, 1) == 0.0
    for wrong in (0.0, 1.5):
        with pytest.raises(ValueError, match="long run"):
            mean_melts_count(wrong)
        with pytest.raises(ValueError, match="long run"):
            often_melted_frac(wrong, 5)


def test_a_charge_is_spread_over_its_ages_youngest_first():
    assert ages_frac([(2, 30.0), (0, 60.0), (2, 10.0)]) == {0: 0.6, 2: 0.4}
