"""A flask's throw over time: from the studio's numbers to moments, forces and their ranges."""

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.prepare.test_throw import machine

from pourwright.core.figure import given
from pourwright.physics.spin.arm import straight_inertia_kg_m2
from pourwright.physics.spin.body_force import pull_along_gee
from pourwright.prepare.throw.course import throw_course, throws_of
from pourwright.prepare.throw.hinged import hinge_figures, hinge_measured
from pourwright.prepare.throw.setup import load_of


def _is(value, unit, low=None, high=None):
    return given(value, unit, "test", low, high)


HINGED = {
    "hinge_radius_mm": _is(100, "mm"),
    "outer_kg": _is(0.4, "kg"),
    "outer_radius_mm": _is(170, "mm"),
    "outer_own_kg_m2": _is(0.0005, "kg_m2"),
    "folded_deg": _is(90, "deg"),
    "friction_dry_Nm": _is(0.06, "Nm"),
    "friction_air_Nms2": _is(6e-5, "Nms2"),
    "rebound_frac": _is(0.05, "frac"),
    "lip_deg": _is(25, "deg"),
    "mouth_mm": _is(8, "mm"),
    "torque_start_Nm": _is(1.0, "Nm", 0.9, 1.1),
}


def _thrown(turns=3.0, charge_g=140.0, **changes):
    one = machine(**{**HINGED, **changes})
    load = load_of(one, _is(0.6, "kg"), _is(charge_g, "g"))
    throws = throws_of(one, load, turns)
    return one, load, throws, throw_course(one, load, throws)


def test_the_two_bodies_have_together_the_inertia_that_the_studio_stated():
    _, _, throws, _ = _thrown()
    arm = throws.best.arm
    whole = straight_inertia_kg_m2(arm.inner_kg_m2, arm.outer_kg, arm.hinge_m, arm.outer_centre_m, arm.outer_own_kg_m2)
    assert whole == pytest.approx(0.164)
    assert arm.outer_kg == pytest.approx(0.4 + 0.6 + 0.18 + 0.42 + 0.14)


def test_friction_read_off_the_spring_is_not_counted_twice():
    _, _, throws, _ = _thrown(friction_frac=_is(0.1, "frac"))
    arm = throws.best.arm
    assert arm.spring_loss_frac == pytest.approx(0.1 - 0.06 / (1.0 + 1.5 * 1.5))


def test_the_moments_come_in_their_order():
    _, _, _, course = _thrown()
    assert 0 <= course.opens_s.value < course.straight_s.value < course.peak_s.value < course.holds_s.value
    for one in (course.opens_s, course.straight_s, course.runs_s, course.peak_s, course.speed_rpm, course.holds_s):
        assert one.low <= one.value <= one.high


def test_more_turns_are_faster_and_hold_longer():
    courses = [_thrown(turns)[3] for turns in (1.0, 2.0, 3.0, 4.0)]
    for name, sign in (("speed_rpm", 1), ("pull_gee", 1), ("holds_s", 1), ("straight_s", -1), ("runs_s", -1)):
        values = [sign * getattr(one, name).value for one in courses]
        assert values == sorted(values), name


def test_a_weaker_spring_is_slower_everywhere():
    strong, weak = _thrown()[3], _thrown(torque_rate_Nm_turn=_is(1.1, "Nm_turn"))[3]
    assert weak.speed_rpm.value < strong.speed_rpm.value
    assert weak.straight_s.value > strong.straight_s.value
    assert np.all(np.array(weak.line.along_gee[:20]) <= np.array(strong.line.along_gee[:20]) + 1e-3)


def test_without_the_hinge_the_ranges_are_wide_and_what_is_missing_is_named():
    known, guessed = _thrown()[3], _thrown(hinge_radius_mm=None, outer_kg=None, outer_radius_mm=None)[3]
    assert known.not_measured == ()
    assert guessed.not_measured == ("hinge_radius_mm", "outer_kg", "outer_radius_mm")
    assert guessed.opens_deg.high - guessed.opens_deg.low > 20
    assert guessed.opens_deg.high - guessed.opens_deg.low > 5 * (known.opens_deg.high - known.opens_deg.low)


def test_a_spring_that_nobody_measured_has_a_factor_of_two_in_speed():
    course = _thrown(calibrated=False, torque_start_Nm=_is(1.0, "Nm"))[3]
    assert course.speed_rpm.high / course.speed_rpm.low == pytest.approx(2.0, rel=0.03)


def test_the_force_of_slow_and_fast_arm_is_a_multiple_of_the_stated_one():
    _, _, throws, _ = _thrown()
    slow, fast = throws.force_ratio.low, throws.force_ratio.high
    assert slow < 1 < fast
    assert (throws.fast.speed_rad_s.max() / throws.best.speed_rad_s.max()) ** 2 == pytest.approx(fast)


def test_the_chart_holds_the_force_at_the_flask_with_its_band():
    _, _, throws, course = _thrown()
    line = course.line
    assert line.time_s[0] == 0 and line.time_s[-1] > course.peak_s.value
    at = len(line.time_s) // 3
    expected = np.interp(line.time_s[at], throws.best.time_s, pull_along_gee(throws.best, 0.130))
    assert line.along_gee[at] == pytest.approx(expected, abs=1e-3)
    assert all(
        low <= best <= high
        for low, best, high in zip(line.along_low_gee, line.along_gee, line.along_high_gee, strict=True)
    )
    assert line.runs_s == course.runs_s.value


def test_metal_in_a_steep_crucible_runs_later():
    flat, steep = _thrown(lip_deg=_is(10, "deg"))[3], _thrown(lip_deg=_is(60, "deg"))[3]
    assert flat.runs_s.value < steep.runs_s.value


def test_metal_that_no_force_tilts_over_the_lip_never_runs():
    course = _thrown(turns=0.05, lip_deg=_is(80, "deg"), torque_start_Nm=_is(0.1, "Nm"))[3]
    assert course.runs_s is None and course.run_pull_gee is None and course.line.runs_s is None


def test_an_inertia_too_small_for_what_hangs_on_the_arm_gives_no_throw():
    one = machine(**HINGED, inertia_kg_m2=_is(0.05, "kg_m2"))
    assert throws_of(one, load_of(one, _is(0.6, "kg"), _is(140, "g")), 3.0) is None


def test_where_the_metal_is_hardly_changes_the_speed():
    """The metal counts in the flask from the start; in the crucible it would be this much faster at most."""
    one = machine(**HINGED)
    load = load_of(one, _is(0.6, "kg"), _is(140, "g"))
    inside = throws_of(one, load, 3.0).best.speed_rad_s.max()
    outside = throws_of(one, replace(load, metal_mm=load.charge_mm), 3.0).best
    lighter = replace(outside.arm, inner_kg_m2=throws_of(one, load, 3.0).best.arm.inner_kg_m2)
    from pourwright.physics.spin.throwing import throw_arm

    assert throw_arm(lighter, 3.0).speed_rad_s.max() == pytest.approx(inside, rel=0.02)


def test_what_is_measured_counts_and_the_rest_is_judged():
    figures = hinge_figures(machine())
    assert not hinge_measured(machine())
    assert hinge_measured(machine(**HINGED))
    assert figures.hinge_radius_mm.value == pytest.approx(0.65 * 150)
    assert (figures.lip_deg.low, figures.lip_deg.high) == (10, 45)
    assert figures.rebound_frac.high == 0.2
