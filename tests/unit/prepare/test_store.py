"""Supplies, energy, powder age and equipment checks (NEEDS E9)."""

from dataclasses import replace
from datetime import date

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report
from tests.unit.prepare.mould_bench import codes, fig, kiln, powder

from pourwright.core.findings import Level
from pourwright.prepare.plan import plan_day
from pourwright.prepare.store.checks import equipment_due
from pourwright.prepare.store.supplies import energy_kWh, powder_age
from pourwright.studio.profile import Consumable, Cylinder, EquipmentCheck

DAY = date(2026, 12, 5)


def check(what, last, days=30, of=""):
    return EquipmentCheck(what, fig(24 * days, "h"), of, last)


def planned_with(**changes):
    studio, day = demo_studio_and_day()
    return plan_day(replace(studio, **changes), day, made_up_report)


def cylinder(gas_g):
    return Cylinder("GAS-1", "propane", fig(9800 + gas_g, "g"), fig(9800, "g"), fig(90, "g"))


def test_twelve_hours_of_a_kiln_of_2_4_kW_at_45_percent_take_12_96_kWh():
    one = kiln(power_kW=fig(2.4, "kW"), duty_frac=fig(0.45, "frac"))
    assert energy_kWh(one, fig(720, "min")).value == pytest.approx(12.96)
    assert energy_kWh(kiln(), fig(720, "min")) is None


def test_energy_of_the_day_goes_by_its_own_programme():
    studio, _ = demo_studio_and_day()
    own = replace(studio.kilns[0], power_kW=fig(2.4, "kW"), duty_frac=fig(0.45, "frac"))
    plan = planned_with(kilns=(own,)).plan
    hours = (plan.burnout.total_min.value + plan.pouring.total_min.value) / 60
    assert plan.supplies.energy_kWh.value == pytest.approx(2.4 * 0.45 * hours)


def test_gas_is_counted_by_the_weight_of_the_cylinder():
    plan = planned_with(cylinders=(cylinder(3400),)).plan
    (gas,) = plan.supplies.uses
    assert gas.have_g.value == 3400
    assert gas.take_g.value == 90 * len(plan.flasks)
    assert gas.left_g.value == 3400 - 90 * len(plan.flasks)
    assert "supply-short" not in codes(plan.findings)


def test_too_little_gas_stops_and_so_does_too_little_flux():
    flux = Consumable("FLUX-1", "Borax", fig(0.4, "g"), fig(0.5, "g"))
    outcome = planned_with(cylinders=(cylinder(50),), consumables=(flux,))
    short = [one for one in outcome.findings if one.code == "prepare.supply-short"]
    assert [(one.where, one.level) for one in short] == [("GAS-1", Level.STOP), ("FLUX-1", Level.STOP)]
    assert "propane" in short[0].what


def test_a_crucible_at_the_end_of_its_melts_is_pointed_out():
    studio, _ = demo_studio_and_day()
    worn = replace(studio.crucibles[0], melts_count=49, melts_most_count=50)
    assert "crucible-worn" in codes(planned_with(crucibles=(worn,)).findings)
    fresh = replace(worn, melts_count=10)
    assert "crucible-worn" not in codes(planned_with(crucibles=(fresh,)).findings)


def test_a_powder_past_its_time_is_pointed_out_and_an_undated_one_noted():
    tin = powder(opened_on=date(2026, 1, 1), keeps_h=fig(24 * 180, "h"))
    assert codes(powder_age(tin, date(2026, 6, 30))) == []
    (old,) = powder_age(tin, date(2026, 7, 1))
    assert (old.code, old.level) == ("prepare.powder-old", Level.LOOK)
    assert "181 days" in old.what
    assert [one.level for one in powder_age(powder(), DAY)] == [Level.NOTE]


def test_a_check_is_overdue_the_day_after_it_was_due():
    rows, found = equipment_due([check("hoses", date(2026, 11, 5))], DAY, ("hoses",))
    assert (rows[0].due, rows[0].overdue, found) == (DAY, False, ())
    rows, found = equipment_due([check("hoses", date(2026, 11, 4))], DAY, ("hoses",))
    assert rows[0].overdue
    assert "2026-12-04" in found[0].what


def test_pin_and_spring_and_hoses_stop_by_the_studios_policy_and_the_others_are_looked_at():
    late = [check(one, date(2026, 1, 1)) for one in ("pin-and-spring", "hoses", "scale", "eyewash")]
    found = {one.where: one.level for one in planned_with(checks=tuple(late)).findings if "check-" in one.code}
    assert found == {"pin-and-spring": Level.STOP, "hoses": Level.STOP, "scale": Level.LOOK, "eyewash": Level.LOOK}
    studio, _ = demo_studio_and_day()
    lenient = replace(studio.habits, overdue_stops=())
    eased = planned_with(checks=tuple(late), habits=lenient).findings
    assert {one.level for one in eased if "check-" in one.code} == {Level.LOOK}


def test_a_check_never_done_is_overdue_and_all_checks_stand_on_the_plan_soonest_first():
    some = (check("scale", date(2026, 12, 1), of="SCALE-FINE"), check("thermocouple", None))
    plan = planned_with(checks=some).plan
    assert [one.what for one in plan.supplies.checks] == ["thermocouple", "scale"]
    assert [one.overdue for one in plan.supplies.checks] == [True, False]
    assert "check-never" in codes(plan.findings)
