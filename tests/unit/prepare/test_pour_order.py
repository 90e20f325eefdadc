"""The order of pours from one kiln."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.prepare.flasking.pour_order import MOST_TRIED_COUNT, Pace, PourGroup, order_pours

PACE = Pace(cooling_C_min=2.0, soak_min=45.0, each_min=6.0)
HOT = PourGroup(("F1", "F2"), 620.0, 600.0, 640.0)
MID = PourGroup(("F3", "F4", "F5"), 540.0, 500.0, 560.0)
COOL = PourGroup(("F6",), 480.0, 460.0, 520.0)


def _fixed(group):
    return PourGroup(group.flasks, group.wanted_C, group.wanted_C, group.wanted_C)


def _of(order):
    return [(one.temperature_C, len(one.flasks), one.first_min) for one in order.set_points]


def test_three_fixed_temperatures_take_196_minutes():
    """Six pours of 6 min, 80 K and 60 K at 2 K/min, two soaks of 45 min: 36 + 40 + 30 + 90."""
    order = order_pours([_fixed(COOL), _fixed(MID), _fixed(HOT)], PACE)
    assert order.total_min == pytest.approx(196.0)
    assert _of(order) == [(620.0, 2, 0.0), (540.0, 3, 97.0), (480.0, 1, 190.0)]


def test_two_windows_that_overlap_are_merged_at_510_and_take_136_minutes():
    """Six pours of 6 min, 110 K at 2 K/min, one soak of 45 min: 36 + 55 + 45."""
    order = order_pours([HOT, MID, COOL], PACE)
    assert order.total_min == pytest.approx(136.0)
    assert _of(order) == [(620.0, 2, 0.0), (510.0, 4, 112.0)]


def test_windows_without_a_common_temperature_have_set_points_of_their_own():
    assert [one.temperature_C for one in order_pours([COOL, HOT], PACE).set_points] == [620.0, 480.0]


def test_flasks_that_want_the_same_wait_for_nothing():
    order = order_pours([MID, PourGroup(("F9",), 540.0, 530.0, 560.0)], PACE)
    assert _of(order) == [(540.0, 4, 0.0)]
    assert order.total_min == 24.0


@pytest.mark.parametrize("groups", [[], [PourGroup(("F1",), 700.0, 500.0, 600.0)]])
def test_an_order_of_nothing_or_of_the_impossible_is_refused(groups):
    with pytest.raises(ValueError, match=r"group|outside"):
        order_pours(groups, PACE)


def test_a_kiln_that_does_not_cool_is_refused():
    with pytest.raises(ValueError, match="cool"):
        order_pours([HOT], Pace(0.0, 45.0, 6.0))


def _group(number, low, width, share):
    return PourGroup((f"F{number}",), low + share * width, float(low), float(low + width))


_DRAWN = st.tuples(st.integers(400, 650), st.integers(0, 120), st.floats(0, 1))


@settings(max_examples=40, deadline=None)
@given(st.lists(_DRAWN, min_size=1, max_size=MOST_TRIED_COUNT + 3))
def test_every_flask_is_poured_once_inside_its_window_from_hot_to_cool(drawn):
    groups = [_group(number, *one) for number, one in enumerate(drawn)]
    order = order_pours(groups, PACE)
    at = {flask: one.temperature_C for one in order.set_points for flask in one.flasks}
    assert sorted(at) == sorted(one.flasks[0] for one in groups)
    for one in groups:
        assert one.low_C - 1e-9 <= at[one.flasks[0]] <= one.high_C + 1e-9
    for hotter, cooler in pairwise(order.set_points):
        assert hotter.temperature_C >= cooler.temperature_C
        assert cooler.first_min > hotter.first_min


@settings(max_examples=30, deadline=None)
@given(st.lists(_DRAWN, min_size=1, max_size=5))
def test_sharing_is_never_slower_than_a_set_point_for_each(drawn):
    groups = [_group(number, *one) for number, one in enumerate(drawn)]
    alone = sum(PACE.each_min for _ in groups) + PACE.soak_min * (len(groups) - 1)
    alone += (max(one.wanted_C for one in groups) - min(one.wanted_C for one in groups)) / PACE.cooling_C_min
    assert order_pours(groups, PACE).total_min <= alone + 1e-6
