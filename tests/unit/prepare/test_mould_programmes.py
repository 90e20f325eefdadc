"""Merging the programmes of all flasks in one kiln (NEEDS E3)."""

import pytest
from tests.unit.prepare.mould_bench import RESIN, SHORT_WAX, WAX, WAXLIKE, codes, fig, to_burn

from pourwright.core.findings import Level
from pourwright.matter.practice import Programme, ProgrammeStep
from pourwright.prepare.mould.loads import PatternBurn
from pourwright.prepare.mould.programmes import Demand, demands_of, merge, merge_refusals
from pourwright.studio.profile import PrintUnits

UNITS = PrintUnits()


def asked(flask, *steps, diameter_mm=64.0, pattern="wax"):
    programme = Programme("prog.test", "test", tuple(ProgrammeStep(*one) for one in steps), "", ("none",))
    return Demand(flask, pattern, "wax", fig(diameter_mm, "mm"), programme)


def shape(holds):
    return [(one.temperature_C.value, round(one.length_min.value, 6)) for one in holds]


def test_longest_hold_of_each_stage_wins():
    small = asked("F1", (149, 1), (371, 1), (732, 2))
    large = asked("F2", (149, 2), (371, 2), (732, 3))
    assert shape(merge([small, large])) == [(149, 120), (371, 120), (732, 180)]


def test_a_resin_flask_adds_exactly_one_hour_and_is_named():
    wax = asked("F1", (150, 1), (350, 1), (732, 2))
    resin = asked("F2", (732, 3), pattern="castable resin")
    alone, both = merge([wax]), merge([wax, resin])
    assert sum(one.length_min.value for one in both) - sum(one.length_min.value for one in alone) == 60
    assert "F2" in both[-1].because
    assert "castable resin" in both[-1].because
    assert "1\u00a0h\u00a000" in both[-1].because


def test_drying_takes_the_lowest_temperature_and_other_stages_the_highest():
    holds = merge([asked("F1", (120, 2), (350, 1), (700, 2)), asked("F2", (150, 1), (371, 1), (732, 1))])
    assert shape(holds) == [(120, 120), (371, 60), (732, 120)]
    assert "F2" in holds[1].because


def test_a_stage_that_only_one_flask_asks_for_stays():
    holds = merge([asked("F1", (260, 1.5), (732, 3)), asked("F2", (149, 1), (371, 1), (732, 2))])
    assert shape(holds) == [(149, 60), (260, 90), (371, 60), (732, 180)]


def test_holds_below_the_top_grow_with_the_square_of_the_diameter():
    holds = merge([asked("F1", (149, 1), (732, 2), diameter_mm=128)])
    assert shape(holds) == [(149, 240), (732, 120)]


def test_a_small_flask_keeps_the_floor_of_its_holds():
    assert shape(merge([asked("F1", (149, 1), (732, 2), diameter_mm=30)])) == [(149, 36), (732, 120)]


def test_what_follows_the_top_is_left_to_the_soak():
    (demand,), _ = demands_of([to_burn(patterns=[WAX])])
    assert len(demand.programme.steps) == 4
    assert shape(merge([demand])) == [(149, 120), (371, 120), (732, 180)]


def test_wax_with_stones_asks_for_the_programme_for_stones():
    demands, findings = demands_of([to_burn(stones=True)])
    assert demands[0].programme.id == "prog.stone"
    assert codes(findings) == ["stones-steam-first"]
    assert merge_refusals(demands, UNITS) == []
    assert max(one.temperature_C.value for one in merge(demands)) < 454


def test_stones_in_resin_are_refused():
    demands, _ = demands_of([to_burn("F3", patterns=[RESIN], stones=True)])
    (refusal,) = merge_refusals(demands, UNITS)
    assert (refusal.code, refusal.level) == ("prepare.stones-in-hot-pattern", Level.STOP)
    assert "454" in refusal.what
    assert "castable resin" in refusal.what


@pytest.mark.parametrize("other", [RESIN, SHORT_WAX, WAXLIKE])
def test_stones_cannot_share_a_kiln_with_patterns_that_need_more_heat(other):
    demands, _ = demands_of([to_burn("F1", stones=True), to_burn("F2", patterns=[other])])
    (refusal,) = merge_refusals(demands, UNITS)
    assert refusal.code == "prepare.no-common-burnout"
    assert "F1" in refusal.do_next
    assert "F2" in refusal.what


def test_refusals_speak_the_studio_s_degrees():
    demands, _ = demands_of([to_burn("F1", stones=True), to_burn("F2")])
    assert "849\u00a0°F" in merge_refusals(demands, PrintUnits(temperature="F"))[0].what


@pytest.mark.parametrize("programme", ["", "prog.nowhere"])
def test_a_material_without_a_known_programme_asks(programme):
    demands, findings = demands_of([to_burn(patterns=[PatternBurn("mystery print", "resin", programme)])])
    assert demands == ()
    assert [one.level for one in findings] == [Level.ASK]
    assert "mystery print" in findings[0].what


def test_a_rapid_programme_stops():
    _, findings = demands_of([to_burn(patterns=[PatternBurn("wax", "wax", "prog.wax.fast")])])
    assert [(one.code, one.level) for one in findings] == [("prepare.rapid-burnout", Level.STOP)]


def test_every_hold_has_a_trail_to_its_programme():
    demands, _ = demands_of([to_burn(patterns=[RESIN], diameter_mm=76.2)])
    hold = merge(demands)[0]
    assert hold.length_min.inputs["chart_h"].origin == "practice.toml prog.resin.castable"
    assert hold.length_min.inputs["chart_h"].sources
