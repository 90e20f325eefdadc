"""The burnout backwards from the first pour (NEEDS E1, E5, O2; DECISIONS 12 and 18)."""

from datetime import UTC, timedelta

import pytest
from tests.unit.prepare.mould_bench import RESIN, SHORT_WAX, ZONE, at, codes, fig, kiln, to_burn, wish

from pourwright.core.findings import Level
from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.loads import PatternBurn
from pourwright.prepare.mould.reading import controller_reading
from pourwright.studio.profile import PrintUnits

POUR = at("2026-12-05T10:00")


def plan(loads=None, pour=POUR, oven=None, zone=ZONE, units=None, mould="gypsum-bonded", **wishes):
    loads = [to_burn()] if loads is None else loads
    return plan_burnout(oven or kiln(), loads, pour, zone, wish(**wishes), mould, units)


def found(burnout, code):
    (one,) = [one for one in burnout.findings if one.code == f"prepare.{code}"]
    return one


def test_at_300_C_an_hour_the_programme_takes_718_4_minutes_and_is_lit_at_22_01():
    burnout = plan(ramp_C_h=fig(300, "C_h"))
    assert burnout.total_min.value == pytest.approx(718.4, abs=0.05)
    assert f"{burnout.light_at:%d %H:%M}" == "04 22:01"


def test_at_the_default_rate_it_takes_831_8_minutes_and_is_lit_at_20_08():
    burnout = plan()
    assert burnout.total_min.value == pytest.approx(831.8, abs=0.05)
    assert f"{burnout.light_at:%d %H:%M}" == "04 20:08"
    assert "ramp-fast" not in codes(burnout.findings)


def test_steps_are_ramps_and_holds_then_the_fall_and_the_soak():
    burnout = plan()
    kinds = [one.kind for one in burnout.steps]
    assert kinds == ["ramp", "hold"] * 3 + ["cool", "soak"]
    assert [one.to_C for one in burnout.steps if one.kind == "hold"] == [149, 371, 732]
    assert burnout.steps[-1].end == burnout.first_pour == POUR
    assert burnout.steps[0].start == burnout.light_at


def test_heating_faster_than_the_rule_warns():
    warning = found(plan(ramp_C_h=fig(300, "C_h")), "ramp-fast")
    assert warning.level is Level.LOOK
    assert "167" in warning.what
    assert warning.sources


def test_a_kiln_slower_than_asked_sets_the_rate_and_says_so():
    slow = kiln(ramp_limit_C_h=fig(100, "C_h"))
    burnout = plan(oven=slow, ramp_C_h=fig(150, "C_h"))
    assert codes(burnout.findings)[0] == "ramp-beyond-kiln"
    first = burnout.steps[0]
    assert (first.end - first.start).total_seconds() == pytest.approx(129 / 100 * 3600, abs=1)
    assert "kiln-a" in first.because


def test_the_usual_rate_of_a_slow_kiln_needs_no_warning():
    assert not [one for one in codes(plan(oven=kiln(ramp_limit_C_h=fig(100, "C_h"))).findings) if "ramp" in one]


def test_a_kiln_18_degrees_off_is_set_to_750_for_732():
    burnout = plan(oven=kiln(offset_C=fig(-18, "C")))
    top = max(burnout.steps, key=lambda one: one.to_C)
    assert top.reading_C.value == 750
    assert burnout.top_true_C.value == 732
    assert "top-warm" not in codes(burnout.findings)


def test_a_reading_keeps_the_doubt_about_the_offset():
    reading = controller_reading(fig(540, "C"), fig(-18, "C", -25, -10))
    assert (reading.low, reading.value, reading.high) == (550, 558, 565)


def test_doubt_about_the_kiln_over_732_warns_and_gives_the_setting():
    warning = found(plan(oven=kiln(offset_C=fig(-18, "C", -23, -13))), "top-warm")
    assert warning.level is Level.LOOK
    assert "737" in warning.what
    assert "745" in warning.do_next


@pytest.mark.parametrize(("doubt_C", "code"), [(0, ""), (0.5, "top-warm"), (18, "top-warm"), (18.5, "top-too-hot")])
def test_ceilings_stand_at_732_and_750(doubt_C, code):
    burnout = plan(oven=kiln(offset_C=fig(0, "C", -doubt_C, doubt_C)))
    assert [one for one in codes(burnout.findings) if one.startswith("top")] == [code] * bool(code)


def test_over_750_stops():
    assert found(plan(oven=kiln(offset_C=fig(0, "C", -20, 20))), "top-too-hot").level is Level.STOP


def test_the_gypsum_ceiling_is_not_held_against_other_moulds():
    burnout = plan(oven=kiln(offset_C=fig(0, "C", -20, 20)), mould="phosphate-bonded")
    assert not [one for one in codes(burnout.findings) if one.startswith("top")]


def test_a_soak_shorter_than_the_largest_core_lag_says_what_is_lacking():
    burnout = plan([to_burn("F1"), to_burn("F2", 101.6)])
    lag_min = next(one.lag_min.value for one in burnout.lags if one.flask == "F2")
    warning = found(burnout, "soak-short")
    assert warning.where == "F2"
    assert warning.params["lacking"] == f"{lag_min - 60:.0f}\u00a0min"


def test_a_soak_that_is_long_enough_says_nothing():
    assert "soak-short" not in codes(plan(soak_min=fig(120, "min")).findings)


def test_flasks_must_be_invested_two_hours_before_the_kiln_is_lit():
    burnout = plan()
    assert burnout.light_at - burnout.invest_by == timedelta(hours=2)


@pytest.mark.parametrize(("minutes", "stops"), [(121, False), (119, True), (-30, True)])
def test_a_flask_that_has_set_less_than_two_hours_stops_the_kiln(minutes, stops):
    lit = plan().light_at
    burnout = plan(invested_at=lit - timedelta(minutes=minutes))
    assert ("bench-set-short" in codes(burnout.findings)) is stops


def test_the_refusal_says_by_when_to_invest():
    refusal = found(plan(invested_at=at("2026-12-04T19:00")), "bench-set-short")
    assert refusal.level is Level.STOP
    assert "2026-12-04 18:08" in refusal.do_next
    assert "1\u00a0h\u00a008" in refusal.what


@pytest.mark.parametrize(
    ("diameters_mm", "signed", "hours"), [((45, 50), True, 1), ((45, 50), False, 2), ((45, 64), True, 2)]
)
def test_only_a_signed_load_of_small_flasks_may_set_one_hour(diameters_mm, signed, hours):
    loads = [to_burn(f"F{number}", one) for number, one in enumerate(diameters_mm, 1)]
    burnout = plan(loads, small_flasks_signed=signed)
    assert burnout.light_at - burnout.invest_by == timedelta(hours=hours)


def test_flasks_that_wait_long_are_kept_damp():
    assert "keep-damp" in codes(plan(invested_at=at("2026-12-04T12:00")).findings)
    assert "keep-damp" not in codes(plan(invested_at=at("2026-12-04T17:30")).findings)


def test_a_kiln_left_overnight_is_pointed_out_and_a_day_run_is_not():
    assert "kiln-overnight" in codes(plan().findings)
    day_run = plan([to_burn(patterns=[SHORT_WAX])], pour=at("2026-12-05T20:00"))
    assert "kiln-overnight" not in codes(day_run.findings)


def test_a_long_programme_is_pointed_out():
    assert "13\u00a0h\u00a052" in found(plan(longest_h=12), "programme-long").what
    assert "programme-long" not in codes(plan(longest_h=14).findings)


def test_more_flasks_than_the_kiln_holds_stop_but_the_programme_is_still_shown():
    burnout = plan([to_burn(f"F{number}") for number in range(7)])
    assert found(burnout, "kiln-full").level is Level.STOP
    assert burnout.steps


def test_a_refused_load_has_no_steps():
    burnout = plan([to_burn("F1", stones=True), to_burn("F2", patterns=[RESIN])], casting_C=fig(430, "C"))
    assert burnout.steps == ()
    assert found(burnout, "no-common-burnout").level is Level.STOP
    assert burnout.light_at == POUR


def test_stones_cast_from_a_flask_over_their_ceiling_stop():
    assert found(plan([to_burn(stones=True)]), "stones-too-hot").level is Level.STOP


def test_stones_cast_from_a_cool_flask_are_planned_and_heat_up_to_it():
    burnout = plan([to_burn(stones=True)], casting_C=fig(430, "C"), oven=kiln(offset_C=fig(0, "C", -20, 20)))
    assert not [one for one in burnout.findings if one.level is Level.STOP]
    assert [one.kind for one in burnout.steps[-2:]] == ["ramp", "soak"]
    hotter = plan([to_burn(stones=True)], casting_C=fig(430, "C"), oven=kiln(offset_C=fig(0, "C", -30, 30)))
    assert "stones-too-hot" in codes(hotter.findings)


def test_a_flask_cast_below_the_inversion_is_pointed_out():
    assert "casting-too-cool" in codes(plan(casting_C=fig(250, "C")).findings)


def test_a_wax_programme_without_a_hot_end_is_pointed_out():
    dental = PatternBurn("casting wax", "wax", "prog.dental")
    assert "top-low-for-wax" in codes(plan([to_burn(patterns=[dental])], casting_C=fig(400, "C")).findings)


def test_a_dial_kiln_names_the_times_to_turn_it():
    assert "20:08" in found(plan(oven=kiln(controller="dial")), "kiln-dial").what


def test_spring_clock_change_lights_the_kiln_at_the_true_minutes():
    # Clocks go from 03:00 to 04:00 in the night of 29 March 2026 in this zone.
    burnout = plan(pour=at("2026-03-29T10:00"))
    assert (burnout.first_pour - burnout.light_at).total_seconds() / 60 == pytest.approx(831.8, abs=0.05)
    assert f"{burnout.light_at:%H:%M %z}" == "19:08 +0200"
    assert f"{burnout.first_pour:%H:%M %z}" == "10:00 +0300"


def test_autumn_clock_change_lights_the_kiln_at_the_true_minutes():
    # Clocks go from 04:00 back to 03:00 in the night of 25 October 2026 in this zone.
    burnout = plan(pour=at("2026-10-25T10:00"), invested_at=at("2026-10-24T19:00"))
    assert f"{burnout.light_at:%H:%M %z}" == "21:08 +0300"
    lengths_s = sum((one.end - one.start).total_seconds() for one in burnout.steps)
    assert lengths_s == pytest.approx(60 * burnout.total_min.value, abs=1)
    assert "bench-set-short" not in codes(burnout.findings)


def test_the_same_pour_in_utc_gives_the_same_plan():
    def times(burnout):
        return [(one.start, one.end) for one in burnout.steps]

    assert times(plan(pour=POUR.astimezone(UTC))) == times(plan())


def test_a_pour_without_a_zone_is_a_fault_of_the_program():
    with pytest.raises(ValueError, match="time zone"):
        plan(pour=POUR.replace(tzinfo=None))


def test_total_carries_the_range_of_the_kiln_and_a_trail():
    burnout = plan(oven=kiln(cooling_C_h=fig(120, "C_h", 90, 150)))
    assert burnout.total_min.low < burnout.total_min.value < burnout.total_min.high
    assert burnout.total_min.mover == "7 cool"


def test_findings_speak_the_studio_s_degrees():
    burnout = plan(ramp_C_h=fig(300, "C_h"), units=PrintUnits(temperature="F"))
    assert "540\u00a0°F/h" in found(burnout, "ramp-fast").what


def test_no_flasks_means_no_programme():
    assert plan([]).steps == ()


def test_everything_at_once_can_be_said():
    bad = plan(
        [to_burn(f"F{number}", 101.6) for number in range(9)],
        oven=kiln(offset_C=fig(0, "C", -30, 30), controller="dial"),
        ramp_C_h=fig(500, "C_h"),
        casting_C=fig(200, "C"),
        invested_at=at("2026-12-05T09:00"),
        longest_h=5,
    )
    assert len(bad.findings) >= 9
    assert all(one.what and one.do_next for one in bad.findings)
