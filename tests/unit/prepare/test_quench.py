"""When a flask may be quenched (NEEDS I1, I2)."""

from dataclasses import replace

import pytest
from tests.unit.prepare.mould_bench import codes, fig

from pourwright.core.errors import StudioError
from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.matter.alloys import alloy
from pourwright.prepare.quench.colour import colour_hints
from pourwright.prepare.quench.cooling import Cooling, Reading, calibrated_cooling, fit_cooling, minutes_to
from pourwright.prepare.quench.window import quench_window
from pourwright.studio.profile import Calibrated, PrintUnits

ROOM = fig(20, "C")
STERLING = alloy("sterling-925")


def learned(doubt_C=0.0):
    readings = [
        Reading(5, fig(520, "C", 520 - doubt_C, 520 + doubt_C)),
        Reading(10, fig(430, "C", 430 - doubt_C, 430 + doubt_C)),
    ]
    return fit_cooling(readings, ROOM)


def window(diameter_mm=102.0, metal=STERLING, stones=False, cooling=None, units=None):
    return quench_window("F1", fig(diameter_mm, "mm"), metal, stones, cooling, units)


def accepted(quantity, subject, value, unit):
    return Calibrated(quantity, subject, Interval(value, value, value, unit), unit, "readings", "F1", "keeper", "today")


def test_two_readings_give_the_time_constant_and_the_time_to_350():
    cooling = learned()
    assert cooling.tau_min.value == pytest.approx(25.2, abs=0.02)
    assert minutes_to(cooling, fig(350, "C")).value == pytest.approx(15.5, abs=0.04)


def test_doubt_in_the_readings_widens_the_time_constant():
    tau = learned(doubt_C=5).tau_min
    assert tau.low < 25.2 < tau.high
    assert tau.high - tau.low > 4


def test_more_readings_on_one_curve_give_the_same_fit():
    cooling = learned()
    third = Reading(15.47, fig(350, "C"))
    more = fit_cooling([Reading(5, fig(520, "C")), Reading(10, fig(430, "C")), third], ROOM)
    assert more.tau_min.value == pytest.approx(cooling.tau_min.value, rel=1e-3)
    assert more.start_C.value == pytest.approx(cooling.start_C.value, rel=1e-3)


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([(5, 520)], "Two readings"),
        ([(5, 520), (5, 430)], "Two readings"),
        ([(5, 520), (10, 15)], "no warmer than the room"),
        ([(5, 430), (10, 520)], "do not fall"),
    ],
)
def test_readings_that_cannot_be_used_say_why(readings, words):
    with pytest.raises(StudioError, match=words):
        fit_cooling([Reading(minute, fig(heat, "C")) for minute, heat in readings], ROOM)


def test_a_flask_that_starts_below_a_temperature_needs_no_time():
    assert minutes_to(learned(), fig(700, "C")).value == 0.0


def test_dark_room_loses_its_red_7_1_minutes_after_daylight():
    gone = {one.light: one.gone_min.value for one in colour_hints(learned())}
    assert gone["prepare.light-dark"] - gone["prepare.light-daylight"] == pytest.approx(7.11, abs=0.02)
    assert list(gone.values()) == sorted(gone.values(), reverse=True)


def test_colour_is_from_memory_and_has_words_for_each_light():
    hints = colour_hints(learned())
    assert all(one.fades_C.sources == ("memory",) and say(one.light) for one in hints)


def test_practice_gives_12_to_20_minutes_for_the_flask_it_was_printed_for():
    practice = window()
    assert (practice.earliest_min.value, practice.latest_min.value) == (12, 20)
    assert practice.basis == "prepare.quench-basis-practice"
    assert practice.earliest_min.inputs["rule_min"].sources


def test_practice_scales_on_the_safe_side_both_ways():
    assert window(51).earliest_min.value == pytest.approx(6)
    assert window(204).earliest_min.value == pytest.approx(48)


def test_readings_open_the_window_below_500_and_close_it_at_350():
    measured = window(51, cooling=learned())
    assert measured.basis == "prepare.quench-basis-calibrated"
    assert measured.earliest_min.value == pytest.approx(6.04, abs=0.02)
    assert measured.latest_min.value == pytest.approx(15.47, abs=0.02)
    assert "quench-not-measured" not in codes(measured.findings)


def test_readings_never_open_the_window_before_practice():
    assert window(102, cooling=learned()).earliest_min.value == 12


def test_a_flask_that_cools_before_practice_allows_waits():
    quick = Cooling(fig(8, "min"), fig(630, "C"), ROOM)
    late = window(102, cooling=quick)
    assert late.earliest_min.value == late.latest_min.value == 12
    assert "quench-late" in codes(late.findings)


@pytest.mark.parametrize("cooling", [None, learned()])
def test_black_heat_is_never_called_safe(cooling):
    found = next(one for one in window(cooling=cooling).findings if one.code == "prepare.quench-black-heat")
    assert "779" in found.what
    assert "500" in found.what


def test_black_heat_speaks_the_studio_s_degrees():
    found = window(units=PrintUnits(temperature="F")).findings[0]
    assert "932\u00a0°F" in found.what


def test_minutes_that_nobody_measured_are_said_to_be_so():
    assert "quench-not-measured" in codes(window().findings)


def test_stones_are_left_to_cool_until_hand_warm():
    whole = window(cooling=learned(), stones=True)
    assert whole.basis == "prepare.quench-basis-hand-warm"
    assert whole.earliest_min is whole.latest_min
    assert whole.earliest_min.value == pytest.approx(25.19 * 3.4166, rel=1e-2)  # ln(609.8/20)
    assert "quench-stones" in codes(whole.findings)


def test_stones_without_readings_wait_longer_than_any_quench():
    assert window(stones=True).earliest_min.value > 3 * window().latest_min.value


def test_nickel_white_gold_is_left_to_cool():
    gold = alloy("gold-14k")
    white = replace(gold, title="white", composition_frac={"Au": 0.585, "Cu": 0.28, "Ni": 0.135})
    assert "quench-nickel" in codes(window(metal=white).findings)
    assert "quench-nickel" not in codes(window(metal=gold).findings)


@pytest.mark.parametrize(
    ("metal", "code"),
    [("gold-14k", "quench-gold"), ("tin-bronze-c90300", "quench-bronze"), ("yellow-brass-c85700", "quench-bronze")],
)
def test_other_metals_say_that_the_minutes_were_printed_for_sterling(metal, code):
    assert code in codes(window(metal=alloy(metal)).findings)
    assert code not in codes(window().findings)


def test_accepted_values_of_this_flask_come_before_those_for_all():
    values = {
        "quench.tau": accepted("quench.tau", "", 30, "min"),
        "quench.tau:FL-03": accepted("quench.tau", "FL-03", 25.2, "min"),
        "quench.start": accepted("quench.start", "", 630, "C"),
    }
    own = calibrated_cooling(values, "FL-03", ROOM, fig(970, "C"))
    other = calibrated_cooling(values, "FL-04", ROOM, fig(970, "C"))
    assert (own.tau_min.value, own.start_C.value) == (25.2, 630)
    assert other.tau_min.value == 30


def test_a_time_constant_alone_starts_from_the_pour_so_that_it_errs_late():
    values = {"quench.tau:FL-03": accepted("quench.tau", "FL-03", 25.2, "min")}
    late = calibrated_cooling(values, "FL-03", ROOM, fig(970, "C"))
    assert minutes_to(late, fig(500, "C")).value > minutes_to(learned(), fig(500, "C")).value
    assert calibrated_cooling(values, "FL-03", ROOM, None) is None
    assert calibrated_cooling({}, "FL-03", ROOM, fig(970, "C")) is None


def test_every_sentence_about_a_quench_can_be_said():
    for one in (window(stones=True), window(metal=alloy("gold-14k")), window(cooling=learned())):
        assert say(one.basis)
        assert all(found.what and found.do_next for found in one.findings)
