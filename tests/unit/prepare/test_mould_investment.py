"""Powder and water, stock, dry mass, and what is said about them (NEEDS D1)."""

import pytest
from tests.unit.prepare.mould_bench import codes, fig, habits, powder, small_flasks, to_invest

from pourwright.core.findings import Level
from pourwright.prepare.mould.investment import clock_text, plan_mix


def test_one_flask_needs_561_5_g_powder_and_224_6_g_water():
    flask = plan_mix([to_invest()], powder(), habits()).flasks[0]
    assert flask.fill_cm3.value == pytest.approx(441.6, abs=0.1)
    assert flask.powder_g.value == pytest.approx(561.5, abs=0.1)
    assert flask.water_g.value == pytest.approx(224.6, abs=0.1)


def test_four_flasks_with_spill_need_1245_9_g_powder_and_498_4_g_water():
    mix = plan_mix(small_flasks(4), powder(), habits(spill_frac=fig(0.05, "frac")))
    assert len(mix.batches) == 1
    assert mix.batches[0].powder_g.value == pytest.approx(1245.9, abs=0.1)
    assert mix.batches[0].water_g.value == pytest.approx(498.4, abs=0.1)


def test_without_a_slurry_density_the_grain_density_of_the_table_is_used():
    flask = plan_mix([to_invest()], powder(slurry_g_cm3=None), habits()).flasks[0]
    grain_g_cm3 = flask.powder_g.inputs["grain_g_cm3"]
    by_hand_g = flask.fill_cm3.value / (1 / grain_g_cm3.value + 0.40)
    assert flask.powder_g.value == pytest.approx(by_hand_g)
    assert grain_g_cm3.sources
    assert flask.powder_g.value == pytest.approx(561.5, rel=0.03)


def test_burned_out_flask_loses_all_water_and_the_half_water_of_its_plaster():
    flask = plan_mix([to_invest()], powder(), habits()).flasks[0]
    plaster_frac = flask.dry_kg.inputs["hemihydrate_frac"].value
    by_hand_g = 300.0 + flask.powder_g.value * (1 - plaster_frac * 0.0621)
    assert 1000 * flask.dry_kg.value == pytest.approx(by_hand_g, abs=0.05)
    assert flask.dry_kg.mover == "hemihydrate_frac"


def test_powder_left_is_stock_less_all_bowls():
    mix = plan_mix(small_flasks(6), powder(), habits(spill_frac=fig(0.05, "frac")))
    used_g = sum(one.powder_g.value for one in mix.batches)
    assert mix.powder_left_g.value == pytest.approx(20000 - used_g)
    assert "powder-short" not in codes(mix.findings)


def test_too_little_powder_stops_and_says_how_much():
    mix = plan_mix([to_invest()], powder(stock_g=fig(500, "g")), habits())
    (short,) = [one for one in mix.findings if one.code == "prepare.powder-short"]
    assert short.level is Level.STOP
    assert "61.5" in short.what


def test_powder_that_may_be_too_little_is_pointed_out():
    mix = plan_mix([to_invest()], powder(stock_g=fig(570, "g", 540, 600)), habits())
    assert "powder-tight" in codes(mix.findings)


def test_water_outside_the_data_sheet_is_pointed_out():
    mix = plan_mix([to_invest()], powder(water_ratio=fig(0.427, "ratio")), habits())
    (finding,) = [one for one in mix.findings if "water" in one.code]
    assert finding.code == "prepare.water-outside-powder"
    assert "42.7" in finding.what


def test_water_that_only_the_data_sheet_allows_is_noted_with_its_source():
    sheet = powder(water_ratio=fig(0.44, "ratio"), water_high_ratio=fig(0.45, "ratio"))
    (finding,) = [one for one in plan_mix([to_invest()], sheet, habits()).findings if "water" in one.code]
    assert (finding.code, finding.level) == ("prepare.water-unusual", Level.NOTE)
    assert finding.sources


@pytest.mark.parametrize("ratio", [0.38, 0.40, 0.42])
def test_water_within_both_bands_says_nothing(ratio):
    mix = plan_mix([to_invest()], powder(water_ratio=fig(ratio, "ratio")), habits())
    assert not [one for one in codes(mix.findings) if one.startswith("water")]


def test_a_tree_larger_than_its_flask_stops():
    mix = plan_mix([to_invest(displaced_cm3=600)], powder(), habits())
    assert "mould-no-room" in codes(mix.findings)


def test_many_flasks_still_have_a_range():
    mix = plan_mix(small_flasks(40), powder(slurry_g_cm3=None), habits())
    assert mix.powder_left_g.low < mix.powder_left_g.value < mix.powder_left_g.high


def test_the_timer_reads_minutes_and_seconds():
    assert clock_text(10.5) == "10:30"


def test_every_sentence_about_a_bad_mix_can_be_said():
    bad = powder(stock_g=fig(1, "g"), water_ratio=fig(0.5, "ratio"), working_min=fig(4, "min"))
    findings = plan_mix([to_invest(displaced_cm3=600), to_invest("F2")], bad, habits()).findings
    assert len(findings) >= 4
    assert all(one.what and one.do_next for one in findings)
