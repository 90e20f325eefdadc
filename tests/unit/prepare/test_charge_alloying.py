import pytest
from tests.unit.prepare.charge_bench import charge_of, codes, lots_of, masses

from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.lots import take_from

STERLING = "sterling-925"


def test_fine_silver_and_copper_for_120_g():
    charge, findings = charge_of(STERLING, 120.0, "fine-silver-999", "copper")
    assert findings == ()
    assert masses(charge.weigh) == {"fine-silver-999": 111.1111, "copper": 8.8889}
    assert charge.fineness_permille.value == pytest.approx(925.0, abs=1e-6)
    assert masses(charge.weigh_to_aim) == {"fine-silver-999": 111.12, "copper": 8.88}
    assert charge.aim_low_permille.value >= 925.0


@pytest.mark.parametrize(("error_g", "worst"), [(0.05, 924.58), (0.005, 924.96)])
def test_the_scale_decides_the_worst_case(error_g, worst):
    charge, _ = charge_of(STERLING, 120.0, "fine-silver-999", "copper", division_g=2 * error_g)
    assert charge.fineness_low_permille.value == pytest.approx(worst, abs=0.005)


def test_a_one_gram_scale_is_refused_for_a_nine_gram_addition():
    charge, findings = charge_of(STERLING, 120.0, "fine-silver-999", "copper", division_g=1.0)
    assert charge is None
    assert codes(findings) == ["prepare.alloy-scale-coarse"]
    assert "9 marks" in findings[0].what
    assert "0.2\u00a0g" in findings[0].do_next


def test_a_charge_of_few_marks_is_refused_even_where_no_fineness_hangs_on_it():
    charge, findings = charge_of(STERLING, 120.0, STERLING, division_g=5.0)
    assert charge is None
    assert codes(findings) == ["prepare.alloy-scale-charge"]
    assert "24 marks" in findings[0].what and "1\u00a0g" in findings[0].do_next
    assert charge_of(STERLING, 120.0, STERLING, division_g=1.0)[0] is not None


def test_the_scale_proposed_is_fine_enough():
    assert charge_of(STERLING, 120.0, "fine-silver-999", "copper", division_g=0.2)[0] is not None


def test_a_finer_scale_gives_less_silver_away():
    aims = [charge_of(STERLING, 120.0, "fine-silver-999", "copper", division_g=one)[0] for one in (0.2, 0.1, 0.01)]
    values = [one.aim_permille.value for one in aims]
    assert values == sorted(values, reverse=True)


def test_low_scrap_is_lifted():
    charge, _ = charge_of(STERLING, 130.0, "scrap:40 g@900", "fine-silver-999", "copper")
    assert masses(charge.weigh) == {"scrap": 40.0, "fine-silver-999": 84.3343, "copper": 5.6657}
    assert charge.scrap_frac == pytest.approx(40 / 130)


def test_unknown_scrap_is_taken_at_its_low_end():
    unknown, findings = charge_of(STERLING, 130.0, "scrap:40 g@880..900", "fine-silver-999", "copper")
    known, _ = charge_of(STERLING, 130.0, "scrap:40 g@880", "fine-silver-999", "copper")
    assert unknown.weigh == known.weigh
    assert unknown.fineness_permille.high > known.fineness_permille.high
    assert findings == ()


def test_three_charges_of_a_day_from_stock():
    charge, _ = charge_of(STERLING, 343.7, "scrap:120 g@925", "fine-silver-999:300 g", "copper:50 g")
    weighed = masses(charge.weigh)
    assert weighed["scrap"] == 120.0
    assert weighed["fine-silver-999"] == pytest.approx(207.13, abs=0.005)
    assert weighed["copper"] == pytest.approx(16.57, abs=0.005)


def test_scrap_stops_at_half_and_the_rest_is_named():
    charge, findings = charge_of(STERLING, 130.0, "scrap:100 g@900", "fine-silver-999", "copper")
    assert masses(charge.weigh)["scrap"] == pytest.approx(65.0)
    assert codes(findings) == ["prepare.alloy-scrap-capped"]
    assert charge.scrap_frac <= 0.5


@pytest.mark.parametrize(
    ("lots", "code", "word"),
    [
        (["scrap:400 g@900"], "prepare.alloy-too-lean", "900"),
        (["fine-silver-999"], "prepare.alloy-too-rich", "copper"),
        (["scrap:400 g@925"], "prepare.alloy-only-scrap", "50"),
        (["scrap:400 g@925", "fine-silver-999:20 g", "copper"], "prepare.alloy-stock", "fine-silver-999"),
        (["scrap:400 g@930", "fine-silver-999"], "prepare.alloy-too-rich", "930"),
        (["scrap:400 g@905", "britannia-958"], "prepare.alloy-needs-new", "50"),
        (["fine-silver-999:60 g", "copper"], "prepare.alloy-stock", "64.80"),
        ([], "prepare.alloy-no-lots", "lot"),
        (["copper", "copper:3 g", "fine-silver-999"], "prepare.alloy-lot-twice", "copper"),
    ],
)
def test_what_stands_in_the_way_is_named(lots, code, word):
    charge, findings = charge_of(STERLING, 120.0, *lots)
    assert charge is None
    assert codes(findings) == [code]
    said = f"{findings[0].what} {findings[0].why} {findings[0].do_next}"
    assert word in said


def test_the_nearest_charge_named_can_be_made():
    charge, _ = charge_of(STERLING, 64.80, "fine-silver-999:60 g", "copper", error_g=0.0)
    assert charge is not None


def test_lots_that_leave_no_margin_are_refused():
    charge, findings = charge_of(STERLING, 120.0, "fine-silver-999:111.115 g", "copper")
    assert charge is None
    assert codes(findings) == ["prepare.alloy-no-margin"]


def test_leaded_brass_is_not_melted_in_class():
    charge, findings = charge_of("yellow-brass-c85700", 100.0, "yellow-brass-c85700")
    assert charge is None
    assert codes(findings) == ["prepare.alloy-not-in-class"]


def test_a_mass_of_nothing_is_refused():
    assert codes(charge_of(STERLING, 0.0, "copper")[1]) == ["prepare.alloy-mass"]


@pytest.mark.parametrize("name", ["sterling-925", "britannia-958", "gold-14k", "tin-bronze-c90300"])
def test_an_alloy_used_as_grain_is_cast_as_it_is(name):
    charge, findings = charge_of(name, 80.0, name)
    assert findings == ()
    assert masses(charge.weigh_to_aim) == {name: 80.0}


def test_gold_of_three_metals_meets_each_of_them():
    charge, findings = charge_of("gold-18k-3n", 20.0, "fine-gold-999", "fine-silver-999", "copper")
    assert findings == ()
    weighed = masses(charge.weigh)
    assert weighed["fine-gold-999"] == pytest.approx(20 * 0.75 / 0.999, abs=1e-4)
    silver_g = 0.001 * weighed["fine-gold-999"] + 0.999 * weighed["fine-silver-999"]
    assert silver_g == pytest.approx(20 * 0.125, abs=2e-4)
    assert charge.aim_low_permille.value >= 750.0


def test_gold_without_its_silver_is_another_alloy():
    charge, findings = charge_of("gold-18k-3n", 20.0, "fine-gold-999", "copper")
    assert charge is None
    assert set(codes(findings)) == {"prepare.alloy-other-alloy"}
    assert "silver" in findings[0].what


def test_a_small_miss_of_another_metal_is_only_looked_at():
    charge, findings = charge_of("gold-18k-2n", 30.0, "gold-18k-3n", "fine-silver-999:1 g", "fine-gold-9999")
    assert charge is not None
    assert "prepare.alloy-other-metal" in codes(findings)


def test_bronze_is_held_by_its_main_metal():
    charge, _ = charge_of("tin-bronze-c90300", 400.0, "tin-bronze-c90300", "scrap:120 g", division_g=0.1)
    assert masses(charge.weigh) == {"tin-bronze-c90300": 280.0, "scrap": 120.0}
    assert charge.fineness_permille.value == pytest.approx(877.0)


def test_the_trail_names_what_moves_the_fineness_most():
    charge, _ = charge_of(STERLING, 130.0, "scrap:40 g@880..900", "fine-silver-999", "copper")
    assert charge.fineness_permille.mover == "scrap fineness"
    assert charge.fineness_permille.inputs["copper"].value == pytest.approx(charge.weigh[2].mass_g, abs=1e-4)


def test_what_one_charge_takes_is_missing_for_the_next():
    lots = lots_of(STERLING, "scrap:60 g@925", "fine-silver-999:200 g", "copper")
    charge, _ = charge_of(STERLING, 100.0, "scrap:60 g@925", "fine-silver-999:200 g", "copper")
    left = {one.name: one.limit_g for one in take_from(lots, charge.weigh_to_aim)}
    assert left["scrap"].value == pytest.approx(10.0)
    assert left["fine-silver-999"].value == pytest.approx(200.0 - masses(charge.weigh_to_aim)["fine-silver-999"])


def test_charges_share_no_marks_with_a_total_off_the_scale():
    charge, _ = charge_of(STERLING, 124.4139, "fine-silver-999", "copper", division_g=0.1)
    assert sum(masses(charge.weigh_to_aim).values()) == pytest.approx(124.5)
    assert charge.total_g == 124.4139


def test_zinc_as_metal_is_weighed_with_a_caution_and_grain_of_the_alloy_without():
    lots = ("fine-gold-9999", "fine-silver-999", "copper", "zinc")
    charge, found = charge_of("gold-14k-zn", 40.0, *lots)
    held = alloy("gold-14k-zn").composition_frac["Zn"]
    assert masses(charge.weigh)["zinc"] == pytest.approx(40.0 * held, abs=0.05)
    (caution,) = [one for one in found if one.code == "prepare.alloy-zinc"]
    assert "907" in caution.what and "5 mg/m3" in caution.why
    _, of_grain = charge_of("gold-14k-zn", 40.0, "gold-14k-zn", "fine-gold-9999")
    assert "prepare.alloy-zinc" not in codes(of_grain)
