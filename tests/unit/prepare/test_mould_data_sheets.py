"""Own programmes, ramp limits, data sheets, dewaxing and ash (NEEDS A7, E3)."""

from datetime import timedelta

import pytest
from tests.unit.prepare.mould_bench import RESIN, WAX, ZONE, at, codes, fig, kiln, to_burn, wish

from pourwright.core.findings import Level
from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.loads import PatternBurn, PowderSheet
from pourwright.studio.profile import MaterialStep

POUR = at("2026-12-05 10:00")
LEAF = PatternBurn("leaf", "organic", "prog.pla")


def step(temperature_C, hold_h, ramp_C_h=None):
    ramp = fig(ramp_C_h, "C_h") if ramp_C_h else None
    return MaterialStep(fig(temperature_C, "C"), fig(60 * hold_h, "min"), ramp)


def own(*steps, diameter_mm=None):
    diameter = fig(diameter_mm, "mm") if diameter_mm else None
    return PatternBurn("green resin", "resin", "prog.resin.castable", steps, diameter)


def plan(loads, sheet=None, **changes):
    sheet = sheet or PowderSheet()
    return plan_burnout(kiln(), loads, POUR, ZONE, wish(**changes), sheet=sheet)


def shape(one):
    minutes = [(step.end - step.start) / timedelta(minutes=1) for step in one.steps]
    return [(step.kind, step.to_C, round(length)) for step, length in zip(one.steps, minutes, strict=True)]


def test_an_own_programme_comes_before_the_one_of_the_tables_as_written():
    made = plan([to_burn(patterns=[own(step(120, 1), step(600, 5))], diameter_mm=40)])
    assert [one for one in shape(made) if one[0] == "hold"] == [("hold", 120, 60), ("hold", 600, 300)]


def test_a_data_sheet_that_ends_too_cool_is_pointed_out_and_a_whole_one_is_not():
    short = plan([to_burn(patterns=[own(step(150, 1), step(371, 2))])])
    (found,) = [one for one in short.findings if one.code == "prepare.top-low-on-sheet"]
    assert found.level is Level.LOOK
    assert "371" in found.what and "649" in found.what
    whole = plan([to_burn(patterns=[own(step(150, 1), step(371, 2), step(730, 3))])])
    assert "top-low-on-sheet" not in codes(whole.findings)


def test_a_flask_larger_than_the_data_sheets_gets_longer_holds():
    made = plan([to_burn(patterns=[own(step(120, 1), step(600, 5), diameter_mm=50)], diameter_mm=100)])
    assert [one for one in shape(made) if one[0] == "hold"] == [("hold", 120, 240), ("hold", 600, 300)]


def test_its_ramp_limit_holds_for_the_whole_load_and_names_who_asks():
    gentle = own(step(150, 1, 60), step(732, 3))
    made = plan([to_burn("F1"), to_burn("F2", patterns=[gentle])])
    first, second = [one for one in made.steps if one.kind == "ramp"][:2]
    assert (first.end - first.start) / timedelta(hours=1) == pytest.approx((149 - 20) / 60, abs=1e-3)
    assert "F2" in first.because
    assert "green resin" in first.because
    assert (second.end - second.start) / timedelta(hours=1) < (second.to_C - second.from_C) / 60


def test_an_own_programme_without_drying_needs_a_powder_that_allows_it():
    rapid = [to_burn(patterns=[own(step(700, 3))])]
    assert "rapid-burnout" in codes(plan(rapid).findings)
    assert "rapid-burnout" not in codes(plan(rapid, PowderSheet(rapid_allowed=True)).findings)


@pytest.mark.parametrize(("limit_C", "level"), [(700, Level.STOP), (740, None)])
def test_the_top_is_held_against_the_powders_data_sheet(limit_C, level):
    made = plan([to_burn()], PowderSheet(top_limit_C=fig(limit_C, "C")))
    found = [one for one in made.findings if one.code == "prepare.top-over-sheet"]
    assert [one.level for one in found] == ([level] if level else [])
    assert all(one.what and one.why and one.do_next for one in found)


@pytest.mark.parametrize(("sheet_min", "hours"), [(60, 2), (300, 5)])
def test_a_data_sheet_may_lengthen_the_rest_before_the_kiln_but_not_shorten_it(sheet_min, hours):
    made = plan([to_burn()], PowderSheet(bench_set_min=fig(sheet_min, "min")))
    assert made.light_at - made.invest_by == timedelta(hours=hours)


def test_steam_ends_so_that_the_flask_enters_the_hot_kiln_within_ten_minutes():
    made = plan([to_burn("F1"), to_burn("F2", patterns=[RESIN])], dewax="steam", dewax_min=fig(45, "min"))
    first_hold = next(one for one in made.steps if one.kind == "hold")
    assert made.dewax.flasks == ("F1",)
    assert made.dewax.into_kiln_by == first_hold.start
    assert first_hold.start - made.dewax.end == timedelta(minutes=10)
    assert made.dewax.end - made.dewax.start == timedelta(minutes=45)
    assert made.invest_by <= made.dewax.start - timedelta(hours=2)
    assert "steam-long" not in codes(made.findings)


def test_more_than_an_hour_of_steam_is_pointed_out_and_of_oven_is_not():
    long = {"dewax_min": fig(90, "min")}
    (found,) = [one for one in plan([to_burn()], dewax="steam", **long).findings if one.code == "prepare.steam-long"]
    assert "90" in found.what
    assert "steam-long" not in codes(plan([to_burn()], dewax="oven", **long).findings)


def test_a_load_without_wax_is_not_dewaxed():
    assert plan([to_burn(patterns=[RESIN])], dewax="steam", dewax_min=fig(45, "min")).dewax is None


def test_ash_of_a_leaf_is_tapped_out_with_at_least_15_minutes_of_reheating_before_the_pour():
    made = plan([to_burn("F1", patterns=[WAX]), to_burn("F2", patterns=[LEAF])])
    (ash,) = made.ash
    assert ash.flask == "F2"
    soak = made.steps[-1]
    assert soak.start <= ash.at < soak.end
    assert made.first_pour - ash.at >= timedelta(minutes=15)
    assert ash.reheat_min.low == 15


def test_a_soak_too_short_for_the_ash_is_lengthened_and_says_why():
    made = plan([to_burn("F2", patterns=[LEAF])], soak_min=fig(10, "min"))
    soak = made.steps[-1]
    assert soak.end - soak.start == timedelta(minutes=23)
    assert "F2" in soak.because


def test_two_holds_of_one_stage_are_kept_apart_alone_and_added_in_company():
    two = own(step(120, 1), step(400, 1), step(550, 2), step(700, 3))
    alone = [one for one in shape(plan([to_burn(patterns=[two])])) if one[0] == "hold"]
    shared = [one for one in shape(plan([to_burn("F1"), to_burn("F2", patterns=[two])])) if one[0] == "hold"]
    assert alone == [("hold", 120, 60), ("hold", 400, 60), ("hold", 550, 120), ("hold", 700, 180)]
    assert ("hold", 550, 180) in shared
