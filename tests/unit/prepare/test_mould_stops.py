"""The kiln's curve after the first pour: falls, soaks, core lag at each set-point (NEEDS E2, F1)."""

import pytest
from tests.unit.prepare.mould_bench import ZONE, at, codes, fig, kiln, to_burn, wish

from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.core_lag import core_lag_s
from pourwright.prepare.mould.loads import CastingStop
from pourwright.prepare.mould.stops import fall_min

POUR = at("2026-12-05T10:00")


def _stop(temperature_C, flask, soak_min=90.0, pours_min=6.0):
    return CastingStop(fig(temperature_C, "C"), fig(soak_min, "min"), fig(pours_min, "min"), (flask,))


def _plan(stops, oven=None):
    loads = [to_burn(one.flasks[0], 63.5) for one in stops]
    asked = wish(casting_C=stops[0].temperature_C, soak_min=stops[0].soak_min, stops=tuple(stops))
    return plan_burnout(oven or kiln(), loads, POUR, ZONE, asked)


def test_a_fall_takes_the_difference_over_the_kilns_own_rate():
    cooling = kiln(cooling_C_h=fig(120.0, "C_h", 100.0, 150.0))
    fall = fall_min(cooling, fig(620.0, "C", 600.0, 640.0), fig(480.0, "C", 460.0, 520.0))
    assert (fall.low, fall.value, fall.high) == pytest.approx((56.0, 70.0, 84.0))
    assert fall.mover == "cooling_C_h"


def test_the_core_follows_the_small_step_from_one_set_point_to_the_next():
    burnout = _plan([_stop(620.0, "F1"), _stop(540.0, "F2"), _stop(480.0, "F3")])
    steps_K = (732.0 - 620.0, 80.0, 60.0)
    for hold, step_K in zip(burnout.casting, steps_K, strict=True):
        (lag,) = hold.lags
        diffusivity = lag.lag_min.inputs["diffusivity_mm2_s"].value
        assert lag.lag_min.value == pytest.approx(core_lag_s(63.5, diffusivity, step_K) / 60)
    lags = [hold.lags[0].lag_min.value for hold in burnout.casting]
    assert lags == sorted(lags, reverse=True)


def test_a_soak_too_short_at_a_later_set_point_names_its_flask():
    burnout = _plan([_stop(620.0, "F1"), _stop(480.0, "F2", soak_min=5.0)])
    (short,) = [one for one in burnout.findings if one.code == "prepare.soak-short"]
    assert short.where == "F2"
    assert "5" in short.what
    assert "soak-short" not in codes(_plan([_stop(620.0, "F1"), _stop(480.0, "F2")]).findings)


def test_the_controller_is_set_by_its_reading_at_each_set_point():
    burnout = _plan([_stop(620.0, "F1"), _stop(480.0, "F2")], kiln(offset_C=fig(-18.0, "C", -22.0, -14.0)))
    assert [one.reading_C.value for one in burnout.casting] == [638.0, 498.0]
    assert [one.reading_C.value for one in burnout.steps[-2:]] == [498.0, 498.0]


def test_a_set_point_below_the_inversion_of_cristobalite_is_pointed_out():
    assert "casting-too-cool" in codes(_plan([_stop(540.0, "F1"), _stop(200.0, "F2")]).findings)


def test_the_first_pour_stands_and_the_curve_goes_on():
    alone, both = _plan([_stop(620.0, "F1")]), _plan([_stop(620.0, "F1"), _stop(480.0, "F2")])
    assert alone.light_at == both.light_at
    assert alone.total_min.value == both.total_min.value
    assert alone.steps[-1].end == both.casting[0].first_pour == POUR
    assert both.steps[-3].end == both.casting[0].done
    assert "F1" in both.steps[-3].because
