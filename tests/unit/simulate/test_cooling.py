"""Times of cooling read off histories."""

import numpy as np
import pytest

from pourwright.physics.freeze.results import Histories
from pourwright.simulate.cooling import QuenchLimits, cooling_times, falls_below_s

TIME_S = np.array([0.0, 10.0, 20.0, 30.0])


def test_the_time_lies_between_the_entries_about_the_limit():
    assert falls_below_s(TIME_S, np.array([1000.0, 900.0, 800.0, 700.0]), 850.0) == pytest.approx(15.0)


def test_what_warms_again_counts_from_its_last_fall():
    assert falls_below_s(TIME_S, np.array([900.0, 700.0, 900.0, 700.0]), 800.0) == pytest.approx(25.0)


def test_never_cold_enough_is_not_a_number_and_always_cold_is_the_start():
    assert np.isnan(falls_below_s(TIME_S, np.full(4, 900.0), 800.0))
    assert falls_below_s(TIME_S, np.full(4, 700.0), 800.0) == 0.0
    assert np.isnan(falls_below_s(TIME_S, np.full(4, np.nan), 800.0))


def test_black_heat_goes_by_the_button_and_the_quench_by_the_hottest_metal():
    button, hottest = np.array([1000.0, 900, 800, 700]), np.array([1100.0, 1000, 900, 800])
    histories = Histories(TIME_S, np.zeros((4, 0)), hottest, button, button, TIME_S)
    times = cooling_times(histories, QuenchLimits(850.0, 950.0, 850.0))
    assert (times.black_heat_s, times.quench_from_s, times.quench_to_s) == pytest.approx((15.0, 15.0, 25.0))
