"""One clock for a bowl (NEEDS D3)."""

import pytest
from tests.unit.prepare.mould_bench import codes, fig, habits, powder, small_flasks

from pourwright.prepare.mould.investment import plan_mix
from pourwright.prepare.mould.mix_clock import bowl_clock, bowl_ends, finish_limit, split_into_bowls


def test_limit_is_the_working_time_less_the_margin_of_practice():
    limit = finish_limit(fig(10.5, "min"))
    assert (limit.low, limit.value) == (8.5, 9.0)


def test_four_flasks_end_at_8_minutes_and_share_a_bowl():
    assert bowl_ends(4, habits()).value == 8.0
    assert [len(one.flasks) for one in plan_mix(small_flasks(4), powder(), habits()).batches] == [4]


def test_six_flasks_would_end_at_10_30_and_take_two_bowls():
    assert bowl_ends(6, habits()).value == 10.5
    mix = plan_mix(small_flasks(6), powder(), habits())
    assert [one.flasks for one in mix.batches] == [("F1", "F2", "F3"), ("F4", "F5", "F6")]
    assert all(one.ends_min.value <= one.limit_min.value for one in mix.batches)


def test_clock_runs_without_gaps_and_names_the_flasks():
    steps = bowl_clock(["F1", "F2", "F3", "F4", "F5"], habits())
    assert [one.start_min for one in steps[1:]] == [one.end_min for one in steps[:-1]]
    assert steps[-1].end_min == bowl_ends(5, habits()).value
    assert [one.flasks for one in steps if one.step == "prepare.step-flask-vacuum"] == [
        ("F1", "F2", "F3", "F4"),
        ("F5",),
    ]


def test_a_bowl_too_slow_for_a_single_flask_stops():
    mix = plan_mix(small_flasks(2), powder(working_min=fig(6, "min")), habits())
    assert [len(one.flasks) for one in mix.batches] == [1, 1]
    assert codes(mix.findings).count("mix-too-slow") == 2


def test_a_bowl_that_ends_early_says_how_much_longer_to_mix():
    (finding,) = plan_mix(small_flasks(1), powder(), habits()).findings
    assert finding.code == "prepare.mix-early"
    assert "2:00" in finding.do_next  # ends at 6:30, should not end before 8:30


def test_a_bowl_that_ends_exactly_on_the_limit_fits():
    tenths = habits(mix_min=fig(6.1, "min"), bowl_vacuum_min=fig(0.7, "min"), fill_each_min=fig(0.1, "min"))
    assert len(plan_mix(small_flasks(7), powder(), tenths).batches) == 2
    assert len(plan_mix(small_flasks(2), powder(working_min=fig(10.0, "min")), tenths).batches) == 1


@pytest.mark.parametrize(("count", "most", "sizes"), [(0, 4, []), (9, 4, [3, 3, 3]), (5, 4, [2, 3]), (3, 0, [1, 1, 1])])
def test_bowls_are_few_and_even(count, most, sizes):
    bowls = split_into_bowls([str(number) for number in range(count)], most)
    assert sorted(len(one) for one in bowls) == sizes
    assert [name for bowl in bowls for name in bowl] == [str(number) for number in range(count)]
