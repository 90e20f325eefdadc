"""How far the core lags behind the kiln (NEEDS E2)."""

import numpy as np
import pytest
from tests.unit.prepare.mould_bench import fig

from pourwright.prepare.mould.core_lag import core_curve_C, core_excess_ratio, core_lag, core_lag_s, mould_diffusivity


@pytest.mark.parametrize(
    ("diffusivity_mm2_s", "diameter_mm", "minutes"),
    [
        (0.4, 63.5, 24.9),
        (0.4, 76.2, 35.8),
        (0.4, 101.6, 63.7),
        (0.285, 63.5, 34.9),
        (0.285, 76.2, 50.2),
        (0.285, 101.6, 89.4),
    ],
)
def test_core_follows_the_kiln_from_732_to_540(diffusivity_mm2_s, diameter_mm, minutes):
    assert core_lag_s(diameter_mm, diffusivity_mm2_s, 732 - 540) / 60 == pytest.approx(minutes, abs=0.1)


def test_conductivity_range_gives_45_to_179_minutes_for_the_large_flask():
    diffusivity = fig(0.285, "mm2_s", 0.285 / 2, 0.285 * 2)
    lag = core_lag("F1", fig(101.6, "mm"), diffusivity, fig(732, "C"), fig(540, "C")).lag_min
    assert (lag.low, lag.high) == (pytest.approx(44.7, abs=0.1), pytest.approx(178.8, abs=0.1))
    assert lag.mover == "diffusivity_mm2_s"


def test_table_gives_the_diffusivity_of_the_check():
    assert mould_diffusivity("gypsum-bonded", 600.0).value == pytest.approx(0.285, rel=0.01)


def test_a_step_within_the_band_needs_no_time():
    assert core_lag_s(63.5, 0.4, 9.9) == 0.0
    assert core_lag_s(63.5, 0.4, 0.0) == 0.0


def test_up_and_down_take_the_same_time():
    assert core_lag_s(63.5, 0.4, -192) == core_lag_s(63.5, 0.4, 192)


def test_a_step_just_over_the_band_takes_little_time():
    assert 0 < core_lag_s(63.5, 0.4, 10.01) < core_lag_s(63.5, 0.4, 12) < core_lag_s(63.5, 0.4, 192)


def test_excess_starts_at_one_and_dies_out():
    assert core_excess_ratio(1e-3) == pytest.approx(1.0, abs=1e-9)
    assert core_excess_ratio(3.0) < 1e-7


def test_core_of_a_steady_kiln_stays_where_it_is():
    still = core_curve_C(np.array([0.0, 30.0, 300.0]), np.array([540.0, 540.0, 540.0]), 63.5, 0.285)
    assert still == pytest.approx([540, 540, 540])


def test_core_trails_a_long_ramp_by_rate_times_radius_squared_over_four_diffusivities():
    at_min = np.linspace(0, 600, 13)
    core_C = core_curve_C(at_min, 20 + 2.0 * at_min, 63.5, 0.4)
    assert 20 + 2.0 * at_min[-1] - core_C[-1] == pytest.approx(2.0 / 60 * 31.75**2 / (4 * 0.4), rel=1e-4)
