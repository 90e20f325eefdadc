"""Setting up the arm: marks, windings and what is said about them."""

from dataclasses import replace

import pytest

from pourwright.core.figure import given
from pourwright.core.findings import Level
from pourwright.matter.alloys import alloy
from pourwright.prepare.densities import liquid_kg_m3
from pourwright.prepare.throw.balancing import ArmLoad, WeightReach, balance_arm
from pourwright.prepare.throw.setup import compare_marks, say_over_time, set_up_throw
from pourwright.prepare.throw.winding import wind, wind_range, wind_table
from pourwright.studio.profile import Machine


def _is(value, unit, low=None, high=None):
    return given(value, unit, "test", low, high)


def machine(**changes):
    """Return an invented machine: H1's arm with H2's spring."""
    plain = Machine(
        id="arm",
        turns_usual_turns=_is(3, "turns"),
        turns_limit_turns=_is(4, "turns"),
        torque_start_Nm=_is(0.0, "Nm"),
        torque_rate_Nm_turn=_is(1.5, "Nm_turn"),
        friction_frac=_is(0.0, "frac"),
        inertia_kg_m2=_is(0.164, "kg_m2"),
        bare_arm_moment_kgm=_is(0.0, "kgm"),
        cradle_kg=_is(0.180, "kg"),
        flask_radius_mm=_is(230, "mm"),
        metal_in_flask_radius_mm=_is(225, "mm"),
        crucible_radius_mm=_is(150, "mm"),
        crucible_kg=_is(0.420, "kg"),
        weight_kg=_is(1.200, "kg"),
        weight_low_mm=_is(100, "mm"),
        weight_high_mm=_is(260, "mm"),
        calibrated=True,
    )
    return replace(plain, **changes)


def load(**changes):
    """Return H1's loaded arm."""
    plain = ArmLoad(
        flask_kg=_is(0.780, "kg"),
        flask_mm=_is(230, "mm"),
        crucible_kg=_is(0.420, "kg"),
        crucible_mm=_is(150, "mm"),
        charge_g=_is(140, "g"),
        charge_mm=_is(150, "mm"),
        metal_mm=_is(225, "mm"),
        weight_kg=_is(1.200, "kg"),
        arm_kgm=_is(0.0, "kgm"),
    )
    return replace(plain, **changes)


def _setup(**changes):
    where = "F1"
    pour_C = _is(970, "C", 950, 1000)
    return set_up_throw(machine(**changes), _is(0.600, "kg"), _is(140, "g"), alloy("sterling-925"), pour_C, where)


def _codes(findings):
    return [one.code for one in findings]


def test_the_marks_before_after_and_halfway():
    balance = balance_arm(load(), "F1")
    marks = [one.value for one in (balance.start_mark_mm, balance.mark_mm, balance.halfway_mark_mm)]
    assert marks == pytest.approx([219.5, 228.25, 223.875], abs=0.05)


def test_the_forces_at_300_rpm():
    balance = balance_arm(load(), "F1")
    assert balance.start_force_N.value == pytest.approx(10.36, abs=0.01)
    assert balance.residual_force_N.value == pytest.approx(5.18, abs=0.01)
    assert balance.start_force_N.inputs["stated_rpm"].value == 300


def test_the_setup_adds_the_cradle_to_the_dry_flask():
    assert _setup().balance.mark_mm.value == pytest.approx(228.25, abs=0.01)


def test_the_bare_arm_moves_the_mark():
    heavy = balance_arm(load(arm_kgm=_is(0.024, "kgm")), "F1")
    assert heavy.mark_mm.value - balance_arm(load(), "F1").mark_mm.value == pytest.approx(20.0)


def test_an_uncertain_flask_gives_a_range_for_the_mark():
    mark = balance_arm(load(flask_kg=_is(0.780, "kg", 0.770, 0.790)), "F1").mark_mm
    assert mark.high - mark.low == pytest.approx(0.020 * 230 / 1.2)
    assert mark.mover == "flask_kg"


def test_a_mark_beyond_the_arm_asks_for_a_second_weight_that_balances():
    reach = WeightReach(_is(100, "mm"), _is(200, "mm"))
    (finding, _) = balance_arm(load(), "F1", reach=reach).findings
    assert (finding.code, finding.level) == ("prepare.throw-mark-too-far", Level.STOP)
    second_kg = float(str(finding.params["second"]).removesuffix("\u00a0kg"))
    assert 1.2 * 0.200 + second_kg * 0.200 == pytest.approx(0.2739, abs=0.0002)
    assert "200.0" in finding.what
    assert str(finding.params["second"]) in finding.do_next


def test_a_mark_too_near_the_shaft_asks_for_a_lighter_weight():
    reach = WeightReach(_is(240, "mm"), _is(300, "mm"))
    (finding, _) = balance_arm(load(), "F1", reach=reach).findings
    assert (finding.code, finding.level) == ("prepare.throw-mark-too-near", Level.STOP)
    assert finding.params["least"] == "0.913\u00a0kg"
    assert finding.params["most"] == "1.141\u00a0kg"
    assert finding.do_next


def test_an_arm_that_outweighs_the_flask_is_stopped():
    reach = WeightReach(_is(100, "mm"), _is(260, "mm"))
    (finding, _) = balance_arm(load(arm_kgm=_is(-0.5, "kgm")), "F1", reach=reach).findings
    assert (finding.code, finding.level) == ("prepare.throw-no-moment", Level.STOP)
    assert finding.what


def test_a_mark_whose_range_passes_the_end_is_worth_a_look():
    reach = WeightReach(_is(100, "mm"), _is(229, "mm"))
    findings = balance_arm(load(flask_kg=_is(0.780, "kg", 0.770, 0.790)), "F1", reach=reach).findings
    assert _codes(findings)[0] == "prepare.throw-mark-near-end"
    assert findings[0].what


def test_what_turns_give_on_a_linear_spring():
    rows = [wind(machine(), turns, _is(9300, "kg_m3")) for turns in (2.0, 3.0, 4.0)]
    assert [one.energy_J.value for one in rows] == pytest.approx([18.85, 42.41, 75.40], abs=0.01)
    assert [one.speed_rpm.value for one in rows] == pytest.approx([144.8, 217.2, 289.6], abs=0.1)
    assert [one.flask_gee.value for one in rows] == pytest.approx([5.4, 12.1, 21.6], abs=0.05)
    assert [one.head_kPa.value for one in rows] == pytest.approx([32.5, 73.1, 130.0], abs=0.1)


def test_the_table_has_every_whole_turn_the_usual_and_the_limit():
    odd = machine(turns_usual_turns=_is(2.5, "turns"), turns_limit_turns=_is(3.5, "turns"))
    assert [row.turns_turns for row in wind_table(odd, _is(9300, "kg_m3"))] == [2.0, 2.5, 3.0, 3.5]


@pytest.mark.parametrize(
    ("usual", "limit", "expected"),
    [(3, 6, (2, 3, 4)), (3, 2.5, (2, 2.5, 2.5)), (1.5, 4, (1.5, 1.5, 4)), (5, 6, (2, 4, 4))],
)
def test_the_range_of_turns_is_cut_and_never_stretched(usual, limit, expected):
    one = machine(turns_usual_turns=_is(usual, "turns"), turns_limit_turns=_is(limit, "turns"))
    assert tuple(figure.value for figure in wind_range(one)) == expected


def test_a_usual_winding_over_the_limit_is_said():
    setup = _setup(turns_usual_turns=_is(5, "turns"))
    assert setup.wind_turns.value == 4
    assert "prepare.throw-usual-too-much" in _codes(setup.findings)


def test_an_unmeasured_machine_says_so_with_a_band_of_two():
    setup = _setup(calibrated=False)
    row = next(one for one in setup.windings if one.turns_turns == 3)
    assert row.speed_rpm.value == pytest.approx(217.2, abs=0.1)
    assert row.speed_rpm.high / row.speed_rpm.low == pytest.approx(2)
    (finding,) = [one for one in setup.findings if one.code == "prepare.throw-not-calibrated"]
    assert finding.level is Level.LOOK
    assert "154" in finding.what
    assert "307" in finding.what


def test_a_measured_machine_is_not_called_unmeasured():
    setup = _setup()
    assert "prepare.throw-not-calibrated" not in _codes(setup.findings)
    assert setup.windings[0].speed_rpm.low == setup.windings[0].speed_rpm.high


def test_the_sheet_says_that_the_peak_comes_after_the_metal_ran():
    (finding,) = say_over_time(machine(), [_setup().course])
    assert "1.2 to 1.3" in finding.what  # a straight arm without friction would take 1.302 s
    assert "a few times gravity" in finding.why


def test_the_density_range_covers_the_range_of_pour_temperatures():
    narrow = liquid_kg_m3(alloy("sterling-925"), _is(970, "C"))
    wide = liquid_kg_m3(alloy("sterling-925"), _is(970, "C", 930, 1050))
    assert wide.low <= narrow.low <= narrow.value <= narrow.high <= wide.high
    assert wide.high - wide.low > narrow.high - narrow.low


def test_marks_that_move_are_announced_and_small_moves_are_not():
    marks = [("F1", _is(220.0, "mm")), ("F2", _is(229.0, "mm")), ("F3", _is(230.0, "mm")), ("F4", _is(215.0, "mm"))]
    findings = compare_marks(marks)
    assert [(one.where, one.code.rsplit("-", 1)[1]) for one in findings] == [("F2", "out"), ("F4", "in")]
    assert all(one.what and one.do_next for one in findings)


def test_one_flask_has_no_mark_to_compare():
    assert compare_marks([("F1", _is(220.0, "mm"))]) == ()
