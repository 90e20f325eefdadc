"""A flask that stands open cools from outside; beside the published solution for a thick wall in moving air."""

import numpy as np
import pytest
from scipy.special import erfc

from pourwright.simulate import throw_open
from pourwright.simulate.throw_open import stand_open

FLASK = ("gypsum-bonded", 753.15, 293.15)
SIZE_MM = (31.75, 101.6, 1.6)
AXIS_M, SKIN_M, MIDDLE_M = np.array([0.0]), np.array([31.7e-3]), np.array([50.8e-3])


def test_no_time_cools_nothing():
    one = stand_open(*FLASK, 0.0, *SIZE_MM)
    assert one.temp_K(SKIN_M, MIDDLE_M) == pytest.approx(753.15)


def test_the_skin_cools_first_and_the_axis_hardly_in_a_minute():
    one = stand_open(*FLASK, 60.0, *SIZE_MM)
    assert one.temp_K(AXIS_M, MIDDLE_M)[0] == pytest.approx(753.15, abs=0.5)
    assert one.temp_K(SKIN_M, MIDDLE_M)[0] < 700.0
    assert one.temp_K(AXIS_M, np.array([3e-3]))[0] < 730.0


def test_longer_is_cooler_everywhere_and_never_under_the_room():
    away_m = np.linspace(0, 31e-3, 7)
    before_K = np.full(7, 753.16)
    for open_s in (15.0, 60.0, 240.0, 3600.0, 36000.0):
        temp_K = stand_open(*FLASK, open_s, *SIZE_MM).temp_K(away_m, np.full(7, 20e-3))
        assert np.all(temp_K < before_K)
        assert np.all(temp_K >= 293.15)
        before_K = temp_K


def test_a_thick_wall_in_moving_air_cools_as_the_textbook_says():
    # Exact for a half-space with a constant coefficient: erfc(a) - exp(h x/k + h^2 d t/k^2) erfc(a + h sqrt(d t)/k),
    # a = x / (2 sqrt(d t)); the steel and the glow are left out of both. 0.1 % of the step: the shells' own error.
    k, c, h, time_s = 0.5, 1e6, 50.0, 60.0
    place_m, temp_K = throw_open._cooled(700.0, 300.0, time_s, 0.05, False, k, c, 0.0, h, 0.0)
    deep = np.sqrt(k / c * time_s)
    a = (0.05 - place_m) / (2 * deep)
    exact = erfc(a) - np.exp(h * (0.05 - place_m) / k + (h * deep / k) ** 2) * erfc(a + h * deep / k)
    assert (700.0 - temp_K) / 400.0 == pytest.approx(exact, abs=1e-3)
