"""Moments, marks and the force of an imbalance."""

import pytest

from pourwright.physics.spin import balance


def test_a_weight_at_its_mark_leaves_nothing():
    moment = balance.side_moment_kgm(0.02, 0.78, 0.23, 0.42, 0.15, 0.14, 0.225)
    assert balance.residual_kgm(moment, 1.2, balance.mark_m(moment, 1.2)) == pytest.approx(0, abs=1e-15)


def test_the_weight_for_a_mark_has_that_mark():
    assert balance.mark_m(0.3, balance.weight_for_mark_kg(0.3, 0.25)) == pytest.approx(0.25)


def test_force_has_no_sign_and_goes_with_speed_squared():
    assert balance.shaft_force_N(-0.01, 20) == pytest.approx(4.0)
    assert balance.shaft_force_N(0.01, 40) == pytest.approx(16.0)


def test_a_rotor_at_its_allowed_moment_meets_the_grade():
    allowed = balance.residual_allowed_kgm(0.016, 6.0, 31.4159)
    assert balance.balance_grade_m_s(allowed, 6.0, 31.4159) == pytest.approx(0.016)


def test_a_weight_of_nothing_and_a_mark_on_the_shaft_are_refused():
    with pytest.raises(ValueError, match="weight"):
        balance.mark_m(0.3, 0.0)
    with pytest.raises(ValueError, match="mark"):
        balance.weight_for_mark_kg(0.3, 0.0)
