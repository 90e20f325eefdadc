"""What the page on two workshop rules says is what the runs give, and the page is the one that they made."""

from tests.long.throw_practice import FEW_GEE, PAGE, TURNS, USUAL_TURNS, demo_machine, filled, page, thrown


def test_the_page_is_what_the_runs_give():
    assert PAGE.read_text("utf-8") == filled(page())


def test_a_few_times_gravity_comes_while_the_arm_swings_out_and_not_at_the_peak():
    usual = thrown(demo_machine(), USUAL_TURNS)
    start, stop = usual.few_spans_s[0]
    assert 0 <= usual.runs_s < start < stop < usual.straight_s < usual.peak_s
    assert usual.peak_pull > 2 * FEW_GEE[1]


def test_more_turns_bring_the_few_earlier():
    starts = [thrown(demo_machine(), turns).few_spans_s[0][0] for turns in TURNS]
    assert starts == sorted(starts, reverse=True)


def test_the_charge_changes_the_peak_by_less_than_a_twentieth():
    light, heavy = (thrown(demo_machine(), USUAL_TURNS, charge_g).peak_pull for charge_g in (50.0, 150.0))
    assert heavy < light < 1.05 * heavy
