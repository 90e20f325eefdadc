"""Worked examples and printed values, each reached through the functions that the plan uses.

Case: sums of the bench and the workshop with stated inputs, and properties that several sources print.
Source: beside each row, the source or the arithmetic; where a print is wrong the right answer stands here and the print
is named as a trap. docs/verification/known-answers.md lists every such answer and where it is shown.
Tolerance: half the last digit printed, or what the row says.
"""

from dataclasses import replace
from math import pi

import pytest
from tests.demo_day import planned
from tests.unit.prepare.charge_bench import charge_of, codes, figure, masses
from tests.unit.prepare.mould_bench import habits, powder, to_invest

from pourwright.core.findings import Level
from pourwright.core.units import convert, read
from pourwright.doors.service.evidence import sums
from pourwright.matter.alloys import alloy
from pourwright.matter.elements import element, ideal_density_kg_m3, molar_mass_kg_mol
from pourwright.matter.practice import rule
from pourwright.matter.safety import prompt
from pourwright.physics.spin.arm import speed_rad_s
from pourwright.physics.spin.head import spin_head_Pa
from pourwright.prepare.charge.karat import karat_permille
from pourwright.prepare.charge.pieces import piece_mass
from pourwright.prepare.densities import density_lookup
from pourwright.prepare.mould.investment import plan_mix
from pourwright.shape.tree.rules import gate_mm, tree_rules
from pourwright.studio.day import PieceOrder
from pourwright.studio.profile import StudioMaterial

_ZERO_C_K = 273.15
_WATER, _GYPSUM = {"H": 2, "O": 1}, {"Ca": 1, "S": 1, "O": 6, "H": 4}
_HEMIHYDRATE_HALVES = {"Ca": 2, "S": 2, "O": 9, "H": 2}  # two of CaSO4.0.5H2O


def _wax_to_metal_g(pattern_g, density_g_cm3, alloy_id="sterling-925"):
    own = StudioMaterial("wax", "wax", figure(density_g_cm3, "g_cm3"))
    order = PieceOrder("P01", "Piece", "Student A", "wax", weighed_g=figure(pattern_g, "g"))
    return piece_mass(order, None, density_lookup((own,)), alloy(alloy_id)).cast_g.value


def _of_factor_10_4():
    """Return the density of a wax of which 1 g becomes 10.4 g of sterling [g/cm**3]."""
    return alloy("sterling-925").solid_kg_m3.best / 1000 / 10.4


def _empty_flask(slurry=None):
    """Mix for an empty flask of 2.5 by 4 inches at 40 to 100."""
    load = to_invest("F1", convert(2.5, "inch", "mm"), convert(4, "inch", "mm"), 0.0)
    return plan_mix([load], powder(slurry_g_cm3=slurry), habits()).flasks[0]


def _rule20_g(diameter_in, height_in):
    return rule("inv.powder.rule20").value * diameter_in**2 * height_in


def _left_on_setting_g(plaster_g):
    """Water that plaster binds when it sets: one and a half for each of its half."""
    return plaster_g * 3 * molar_mass_kg_mol(_WATER) / molar_mass_kg_mol(_HEMIHYDRATE_HALVES)


def _free_water_heat_kJ():
    """Heat that boils off what water is left free of 40 g on 100 g of powder with 30 g of plaster; 2.257 kJ/g."""
    return (40 - _left_on_setting_g(30)) * 2.257


WORKED = [
    # id, ours, expected, tolerance, source or arithmetic
    ("worked-02 powder", _rule20_g(4, 8), 2560.0, 0.0, "20 D2 H, a distributor's rule"),
    ("worked-02 water", _rule20_g(4, 8) * rule("inv.wp.hotmix").value / 100, 1126.4, 1e-9, "0.44 of it"),
    ("worked-03 volume", _empty_flask().fill_cm3.value, 321.8, 0.05, "pi/4 x 63.5^2 x 101.6"),
    ("worked-03 powder", _empty_flask().powder_g.value, 406.0, 4.1, "V / (1 / 2.546 + 0.4), 1 %"),
    ("worked-03 water", _empty_flask().water_g.value, 162.0, 1.7, "0.4 of it, 1 %"),
    ("worked-04 cavity", _wax_to_metal_g(153 - 144, _of_factor_10_4()), 93.6, 0.005, "9 x 10.4"),
    ("worked-04 charge", 1.10 * _wax_to_metal_g(153 - 144, _of_factor_10_4()), 102.96, 0.005, "trap: 99.9 printed"),
    (
        "worked-05",
        _wax_to_metal_g(181, _of_factor_10_4()) + read("10 dwt", "g"),
        1897.95,
        0.005,
        "trap: 6.43 g",
    ),
    ("worked-11 room", convert(10000.0, "ft**3", "m**3"), 283.2, 0.05, "10 000 cubic feet"),
    ("worked-12 boiling under vacuum", rule("inv.vac.level").value, 28.99, 0.05, "water at 25 C, sea level"),
    (
        "worked-13 oxygen in molten silver",
        rule("melt.o2").value,
        20.2,
        1.0,
        "0.31 % in 100 g; trap: 20 %",
    ),
    (
        "worked-16 to plaster",
        1.5 * molar_mass_kg_mol(_WATER) / molar_mass_kg_mol(_GYPSUM),
        0.1569,
        2e-4,
        "stoichiometry",
    ),
    (
        "worked-16 to anhydrite",
        2 * molar_mass_kg_mol(_WATER) / molar_mass_kg_mol(_GYPSUM),
        0.2093,
        2e-4,
        "stoichiometry",
    ),
    ("worked-17 bound", _left_on_setting_g(30), 5.585, 0.005, "1.5 x 18.015 / 145.148 x 30"),
    ("worked-17 boiled off", _free_water_heat_kJ(), 77.6, 0.1, "34.4 g at 2.257 kJ/g"),
    ("worked-20 gate", gate_mm(2.0, tree_rules(10.0, 0.25, 3.0)), 3.0, 1e-9, "1.5 x 2 mm"),
    ("worked-20 area", 25 * pi * gate_mm(2.0, tree_rules(10.0, 0.25, 3.0)) ** 2 / 8, 88.4, 0.05, "7.069 over 8 mm2"),
    ("worked-21 1350 F", read("1350 F", "degC"), 732.2, 0.05, "conversion"),
    ("worked-21 1450 F", read("1450 F", "degC"), 787.8, 0.05, "conversion"),
    ("worked-21 900 F", read("900 F", "degC"), 482.2, 0.05, "conversion"),
    ("worked-21 1150 F", read("1150 F", "degC"), 621.1, 0.05, "conversion"),
    ("worked-21 1640 F", read("1640 F", "degC"), 893.3, 0.05, "conversion"),
    ("worked-21 1778 F", read("1778 F", "degC"), 970.0, 0.05, "conversion"),
    ("worked-22 superheat", read("1778 F", "degC") - read("1640 F", "degC"), 76.7, 0.05, "inside 50 to 100 K"),
    ("worked-24 gauge", convert(prompt("gas.acet").value, "psi", "kPa"), 103.4, 0.05, "15 psi; the text prints 103"),
    ("worked-24 absolute", convert(30.0, "psi", "kPa"), 206.8, 0.05, "30 psi; the text prints 206"),
    ("worked-28 eyes", 15 * 1.5, 22.5, 0.0, "1.5 l/min for 15 min"),
    (
        "worked-28 eyewash flow",
        convert(prompt("acid.flow").value, "gallon", "liter"),
        1.5,
        0.02,
        "0.4 gallons a minute",
    ),
    (
        "worked-28 shower",
        15 * convert(prompt("acid.shower").value, "gallon", "liter"),
        1125.0,
        12.0,
        "75 l/min, rounded",
    ),
]

_STERLING = {"Ag": 0.925, "Cu": 0.075}
CHECKS = [
    ("atomic_mass_Ag", 1000 * element("Ag").molar_kg_mol.best, 107.8682, 1e-4, "periodic table"),
    ("atomic_mass_Cu", 1000 * element("Cu").molar_kg_mol.best, 63.546, 1e-3, "periodic table"),
    ("atomic_mass_Au", 1000 * element("Au").molar_kg_mol.best, 196.966569, 2e-4, "periodic table"),
    ("density_sterling_ideal", ideal_density_kg_m3(_STERLING), 10357.354197, 1.04, "1 / sum(w / rho)"),
    ("density_C87300", alloy("silicon-bronze-c87300").solid_kg_m3.best, 8359.33, 83.6, "data sheet, 0.302 lb/in3"),
    ("lb_in3_to_si", convert(1.0, "lb/in**3", "kg/m**3"), 27679.905, 0.03, "definition"),
    ("btu_k", convert(1.0, "BTU*ft/(hour*ft**2*delta_degF)", "W/m/K"), 1.730735, 2e-5, "definition"),
    ("liquidus_C90300", alloy("tin-bronze-c90300").liquidus_K.best - _ZERO_C_K, 1000.0, 2.0, "data sheet, 1832 F"),
    ("solidus_C90300", alloy("tin-bronze-c90300").solidus_K.best - _ZERO_C_K, 854.4, 2.0, "data sheet, 1570 F"),
    ("iso_9202_gold_585_vs_14_24", karat_permille(14), 583.333, 0.006, "14 of 24 is below the mark 585"),
    ("us_dollar_fine", read("371.25 grain", "g") / read("412.5 grain", "g"), 0.9, 1e-12, "371.25 of 412.5 grains"),
    ("us_gold_dollar_fine", read("23.22 grain", "g") / read("25.8 grain", "g"), 0.9, 1e-12, "23.22 of 25.8 grains"),
    ("wax_to_sterling", _wax_to_metal_g(1.0, 0.96), 10.791667, 1e-5, "10.36 / 0.96"),
    ("metallostatic_spin", spin_head_Pa(9208.0, speed_rad_s(300.0), 0.12, 0.20), 116325.526, 0.01, "0.5 rho w2 dr2"),
    ("chv_10cm_sphere", sums.OURS["ball-freezing"](), 9.72222, 0.01, "3.5 min/cm2 times (D / 6)2"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "ours", "expected", "tolerance", "source"), WORKED, ids=[row[0] for row in WORKED])
def test_a_worked_example_comes_out_as_it_must(name, ours, expected, tolerance, source):
    assert ours == pytest.approx(expected, abs=tolerance), f"{name}: {source}"


@pytest.mark.parametrize(("name", "ours", "expected", "tolerance", "source"), CHECKS, ids=[row[0] for row in CHECKS])
def test_a_printed_value_is_what_the_plan_works_with(name, ours, expected, tolerance, source):
    assert ours == pytest.approx(expected, abs=tolerance), f"{name}: {source}"


def test_a_base_weighed_with_its_wax_is_never_planned_as_1_9_kg_of_silver():
    """Worked example 5: 181 g of wax is surely a rubber base; no flask takes it and the plan stops with its name."""
    from tests.demo_day import demo_studio_and_day

    _, day = demo_studio_and_day()
    heavy = replace(day.pieces[4], weighed_g=figure(181.0, "g"))
    outcome = planned(pieces=(heavy,))
    assert [one for one in outcome.findings if one.level in (Level.STOP, Level.ASK) and "P" in one.where]
    assert outcome.plan is None


def test_120_g_of_scrap_in_200_g_is_cut_to_half_new():
    """Worked example 23: 40 % new is too little; 100 g of scrap stay out or in, never more."""
    charge, found = charge_of("sterling-925", 200.0, "scrap:120 g@925", "fine-silver-999", "copper")
    assert masses(charge.weigh)["scrap"] == pytest.approx(100.0, abs=0.01)
    assert "prepare.alloy-scrap-capped" in codes(found)


def test_shades_are_those_of_the_law():
    """Worked example 25: filter shades for soldering, torch brazing and gas welding of light, medium, heavy."""
    names = ("soldering", "braze", "light", "medium", "heavy")
    shades = [prompt(f"eye.shade.{one}").value for one in ("solder", "braze", "gas.light", "gas.medium", "gas.heavy")]
    assert dict(zip(names, shades, strict=True)) == dict(zip(names, (2, 3, 4, 5, 6), strict=True))


def test_the_fire_watch_lasts_an_hour_where_the_law_asks_for_half():
    """Worked example 26: last flame 16:10, 16:40 at the least, 17:10 by our own rule."""
    plan = planned().plan
    (watch,) = [one for one in plan.timeline if one.what == "prepare.timeline-watch"]
    assert (watch.end - watch.start).total_seconds() / 60 == 60 == 2 * prompt("fire.watch").value
    assert watch.start == max(one.pour_at for one in plan.flasks)


def test_a_hold_at_371_C_lies_where_anhydrite_shrinks():
    """Worked example 31: the window 350 to 450 C holds 371 C."""
    window = rule("burn.anhydrite")
    assert window.low <= 371 <= window.high


def test_gates_of_practice_keep_the_area_of_the_shank():
    """Worked example 20: 88.4 % is inside what practice allows."""
    allowed = rule("gate.area")
    assert allowed.low <= 88.4 <= allowed.high


def test_the_superheat_of_the_chart_is_inside_practice():
    """Worked example 22."""
    allowed = rule("melt.superheat")
    assert allowed.low <= 76.7 <= allowed.high
