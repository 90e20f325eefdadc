"""Every fault of a studio file is a finding that names file, key and mend."""

import pytest
from tests.unit.studio.helpers import one_with, spoken, studio_of

from pourwright.core.findings import Level
from pourwright.studio.profile import PROFILE_FORMAT
from pourwright.studio.reading import read_studio

_CHANGES = [
    # what is changed, code, words that the finding must say (file, key, mend)
    (('diameter = "63.5 mm"\nheight = "76.2', 'diameter = "63.5"\nheight = "76.2'), "studio.value-unreadable",
     ["flask FL-01, diameter", "has no unit", 'diameter = "63.5 mm"']),
    (('diameter = "63.5 mm"\nheight = "76.2', 'diameter = 63.5\nheight = "76.2'), "studio.value-unreadable",
     ["flask FL-01, diameter", "has no unit"]),
    (('diameter = "63.5 mm"\nheight = "76.2', 'diameter = "63.5 g"\nheight = "76.2'), "studio.value-unreadable",
     ["flask FL-01, diameter", "something else"]),
    (('diameter = "63.5 mm"\nheight = "76.2', 'diameter = "-3 mm"\nheight = "76.2'), "studio.value-not-above",
     ["flask FL-01", "\u22123.000", "above 0 mm"]),
    (('diameter = "63.5 mm"\nheight = "76.2', 'diameter = "63.5 in"\nheight = "76.2'), "studio.value-high",
     ["flask FL-01", "1\u2009612.900", "300 mm", "slip of the unit"]),
    (('mass = "420 g"', 'mass = "1,234 g"'), "studio.value-unclear",
     ["lot L-0001, mass", "thousands or decimals", 'mass = "120 g"']),
    (('mass = "420 g"', 'mass = "10 oz"'), "studio.ounce-unclear", ["lot L-0001, mass", "troy", "ozt"]),
    (('mass = "420 g"', 'mass = "10 gr"'), "studio.value-unclear", ["lot L-0001, mass", "grain"]),
    (('mass = "420 g"', 'mass = { best = "9 g", low = "10 g", high = "11 g" }'), "studio.value-order",
     ["lot L-0001, mass", "rising order"]),
    (('mass = "420 g"', 'mass = { best = "9 g", lo = "8 g", high = "11 g" }'), "studio.key-unknown",
     ["lot L-0001, mass.lo", "low"]),
    (('mass = "420 g"', 'mass = { best = "9 g", low = "8 g" }'), "studio.key-missing",
     ["lot L-0001, mass.high", "high = "]),
    (('fill = "60 %"', 'fill = "0.6"'), "studio.value-unreadable", ["crucible CR-SILVER, fill", '"60 %"']),
    (('friction = { best = "12 %"', 'friction = { best = "12 deg"'), "studio.value-unreadable",
     ["machine ARM-1, friction.best", "something else"]),
    (('water = "40/100"', 'water = "40/0"'), "studio.value-unreadable", ["powder POWDER-A, water", "40/0"]),
    (('height = "76.2 mm"\n', ""), "studio.key-missing", ["line 19: flask FL-01, height", '"101.6 mm"']),
    (('height = "76.2 mm"', 'heigth = "76.2 mm"'), "studio.key-unknown", ["flask FL-01, heigth", "height"]),
    (("flasks = 6", 'flasks = "6"'), "studio.value-kind", ["kiln KILN-1, flasks", '"6"', "count"]),
    (("flasks = 6", "flasks = 0"), "studio.value-low", ["kiln KILN-1, flasks", "below 1"]),
    (("flasks = 6", "flasks = true"), "studio.value-kind", ["kiln KILN-1, flasks", "true"]),
    (("certain = false\n", "certain = 0\n"), "studio.value-kind", ["lot L-0004, certain", "flag"]),
    (('id = "FL-02"', 'id = "FL-01"'), "studio.id-double", ["line 27: flask FL-01, id", "line 19"]),
    (('fits = ["FL-04"]', 'fits = ["FL-44"]'), "studio.id-unknown", ["base BASE-76, fits", "FL-44", "FL-04"]),
    (('fits = ["FL-04"]', 'fits = "FL-04"'), "studio.value-kind", ["base BASE-76, fits", "texts"]),
    (('fits = ["FL-04"]', 'fits = ["FL-04", "FL-04"]'), "studio.text-twice", ["base BASE-76, fits", "FL-04"]),
    (('metals = ["silver"]', 'metals = ["sliver"]'), "studio.choice-unknown", ["crucible CR-SILVER", "silver"]),
    (('mould = "gypsum-bonded"', 'mould = "gypsum"'), "studio.id-unknown", ["powder POWDER-A, mould", "gypsum-bonded"]),
    (('material = "fine-silver-999"', 'material = "fine-silver"'), "studio.id-unknown",
     ["lot L-0001, material", "fine-silver-999"]),
    (('material = "copper"\n', 'material = "copper"\nelement = "Ag"\n'), "studio.lot-element",
     ["lot L-0002", "copper"]),
    (('fineness = "920..926 permille"\nelement = "Ag"', 'element = "Ag"'), "studio.scrap-fineness",
     ["L-0003", "880..910 permille"]),
    (('fineness = "920..926 permille"\nelement = "Ag"', 'fineness = "920..926 permille"'), "studio.scrap-element",
     ["L-0003", 'element = "Ag"']),
    (('fineness = "800..930 permille"', 'fineness = "850 permille"'), "studio.scrap-range",
     ["L-0004", "range", "certain = true"]),
    (('fineness = "920..926 permille"', 'fineness = "920..1026 permille"'), "studio.value-high",
     ["lot L-0003, fineness", "1000 permille"]),
    (('programme = "prog.wax.standard"', 'programme = "prog.wax.standart"'), "studio.id-unknown",
     ["material demo-blue-wax, programme", "prog.wax.standard"]),
    (('family = "wax"', 'family = "waxx"'), "studio.choice-unknown", ["material demo-blue-wax, family", "wax"]),
    (('zone = "Europe/Vienna"', 'zone = "Vienna"'), "studio.zone-unknown", ["zone", "Europe/Vienna"]),
    (('zone = "Europe/Vienna"', 'zone = "../Vienna"'), "studio.zone-unknown", ["zone", "Europe/Vienna"]),
    (('name = "Demo Evening Studio"', 'name = " "'), "studio.text-empty", ["line 3: name", "name = "]),
    (('name = "Demo Evening Studio"', 'name = "a\\u0007b"'), "studio.text-form", ["line 3: name"]),
    (('turns_usual = "3 turns"', 'turns_usual = "5 turns"'), "studio.not-below",
     ["machine ARM-1, turns_usual", "turns_limit"]),
    (('weight_low = "70 mm"', 'weight_low = "270 mm"'), "studio.not-below", ["machine ARM-1, weight_low", "260.0"]),
    (('torque_rate = "1.5 N.m/turn"', 'torque_rate = "1.5 N.m"'), "studio.value-unreadable",
     ["machine ARM-1, torque_rate", '"1.5 N.m/turn"']),
    (('capacity = "500 g"', 'capacity = "0.005 g"'), "studio.not-below", ["scale SCALE-FINE, division", "capacity"]),
    (('water_least = "38/100"', 'water_least = "41/100"'), "studio.not-below", ["powder POWDER-A, water_least"]),
    (('funnel = "6.0 cm3"', 'funnel = "2.0 cm3"'), "studio.button-over-funnel", ["base BASE-63", "2.29", "2.00"]),
    (('[habits]\nminutes_per_pour = "8 min"', "[habits]"), "studio.key-missing",
     ["habits, minutes_per_pour", '"8 min"']),
    (("[habits]", "[[habits]]"), "studio.table-wanted", ["habits", "[habits]"]),
    (('[[kiln]]', "[kiln]"), "studio.rows-wanted", ["kiln", "[[kiln]]"]),
    (("format = 1\n", ""), "studio.key-missing", ["format", "format = 1"]),
]  # fmt: skip


@pytest.mark.parametrize(("change", "code", "words"), _CHANGES, ids=lambda part: part if isinstance(part, str) else "")
def test_each_fault_says_file_key_and_mend(tmp_path, change, code, words):
    studio, findings = studio_of(tmp_path, change)
    assert studio is None
    found = one_with(findings, code)
    assert found.level in (Level.STOP, Level.ASK)
    assert found.where.startswith("studio.toml")
    for word in words:
        assert word in spoken(found), spoken(found)


@pytest.mark.parametrize(
    "change",
    [
        ("pour", 'pour_temperature = "900"'),
        ("pour", "pour_temperature = 900"),
        ("pour", 'pour_temperature = "900 deg"'),
    ],
)
def test_a_bare_temperature_asks_celsius_or_fahrenheit(tmp_path, change):
    studio, findings = studio_of(tmp_path, ("flasks_per_vacuum = 3", f"flasks_per_vacuum = 3\n{change[1]}"))
    found = one_with(findings, "studio.value-unclear")
    assert studio is None
    assert found.level is Level.ASK
    assert "Celsius or Fahrenheit" in found.what
    assert "habits, pour_temperature" in found.where


def test_several_faults_come_at_once(tmp_path):
    studio, findings = studio_of(
        tmp_path,
        ('diameter = "63.5 mm"', "diameter = 63.5"),
        ('height = "76.2 mm"\n', ""),
        ("flasks = 6", 'flasks = "six"'),
        ('zone = "Europe/Vienna"', 'zone = "Nowhere"'),
        ('mass = "420 g"', 'mass = "1,234 g"'),
        ('fits = ["FL-04"]', 'fits = ["FL-44"]'),
        ('[[scale]]\nid = "SCALE-FINE"', '[[scale]]\nid = "SCALE-FINE"\ncolour = "red"'),
    )
    assert studio is None
    stopping = {one.code for one in findings if one.level in (Level.STOP, Level.ASK)}
    assert stopping == {
        "studio.value-unreadable", "studio.key-missing", "studio.value-kind", "studio.zone-unknown",
        "studio.value-unclear", "studio.id-unknown", "studio.key-unknown",
    }  # fmt: skip


def test_a_newer_format_is_refused_by_name(tmp_path):
    studio, findings = studio_of(tmp_path, ("format = 1", f"format = {PROFILE_FORMAT + 1}"))
    assert studio is None
    assert [one.code for one in findings] == ["studio.format-newer"]
    assert f"format = {PROFILE_FORMAT + 1}" in findings[0].what


def test_a_missing_studio_is_one_finding(tmp_path):
    studio, findings = read_studio(tmp_path / "nowhere")
    assert studio is None
    assert [one.code for one in findings] == ["studio.file-missing"]


def test_the_demo_profile_reads_with_notes_only(tmp_path):
    studio, findings = studio_of(tmp_path)
    assert studio is not None
    assert {one.level for one in findings} == {Level.NOTE}
    assert one_with(findings, "studio.lot-solder").where == "studio.toml, line 150: lot L-0006, solder"


def test_numbers_carry_where_they_were_read(tmp_path):
    studio, _ = studio_of(tmp_path)
    assert studio.flasks[2].diameter_mm.origin == "studio.toml: flask FL-03, diameter"
    assert studio.flasks[2].diameter_mm.value == 63.5
    assert studio.machines[0].weight_kg.value == pytest.approx(2.2)
    assert studio.powders[0].water_ratio.value == pytest.approx(0.40)


def test_a_range_is_kept(tmp_path):
    studio, _ = studio_of(tmp_path)
    friction = studio.machines[0].friction_frac
    assert (friction.low, friction.value, friction.high) == pytest.approx((0.08, 0.12, 0.18))
    scrap = studio.lots[2].fineness_permille
    assert (scrap.low, scrap.value, scrap.high) == pytest.approx((920, 923, 926))


def test_what_is_left_out_comes_from_the_practice_table(tmp_path):
    studio, _ = studio_of(tmp_path, ('fill = "60 %"\n', ""))
    assert studio.crucibles[0].fill_frac.origin == "practice table, rule melt.crucible.fill"
    habits = studio.habits
    assert habits.wall_clearance_mm.value == 10
    assert habits.end_clearance_per_diameter_ratio.value == pytest.approx(0.25)
    assert habits.scrap_most_frac.value == pytest.approx(0.5)
    assert habits.scrap_most_frac.origin == "practice table, rule melt.scrap"
    assert habits.soak_at_casting_min.value == pytest.approx(60)
    assert (habits.spill_frac.low, habits.spill_frac.high) == pytest.approx((0.05, 0.15))
    assert habits.loss_frac.value == pytest.approx(0.01)
    assert habits.pour_temperature_C is None


def test_a_lot_of_our_tables_takes_its_fineness_from_them(tmp_path):
    studio, _ = studio_of(tmp_path)
    silver, copper = studio.lots[:2]
    assert (silver.element, silver.fineness_permille.low) == ("Ag", 999)
    assert silver.fineness_permille.origin == "metal table, fine-silver-999"
    assert (copper.element, copper.fineness_permille.value) == ("", 0)


def test_the_error_of_a_scale_is_half_its_step_unless_stated(tmp_path):
    studio, _ = studio_of(tmp_path, ('division = "1 g"', 'division = "1 g"\nerror = "0.8 g"'))
    assert [one.error_g.value for one in studio.scales] == [0.005, 0.8]


def test_decimals_may_have_a_comma(tmp_path):
    studio, findings = studio_of(
        tmp_path, ("format = 1", "format = 1\ndecimal_comma = true"), ('height = "76.2 mm"', 'height = "76,2 mm"')
    )
    assert studio is not None, [one.what for one in findings]
    assert studio.flasks[0].height_mm.value == 76.2
    assert studio.decimal_comma


def test_unusual_water_is_looked_at_but_not_refused(tmp_path):
    studio, findings = studio_of(
        tmp_path, ('water = "40/100"', 'water = "44/100"'), ('water_most = "42/100"', 'water_most = "46/100"')
    )
    assert studio is not None
    assert one_with(findings, "studio.water-unusual").level is Level.LOOK


def test_a_flask_without_a_base_is_looked_at(tmp_path):
    studio, findings = studio_of(tmp_path, ('"FL-02", "FL-03"]', '"FL-02"]'))
    assert studio is not None
    assert "FL-03" in one_with(findings, "studio.flask-without-base").what


def test_the_hash_changes_with_either_file(tmp_path):
    first = studio_of(tmp_path)[0].sha256
    second = studio_of(tmp_path, ("Demo Evening", "Demo Morning"))[0].sha256
    third = studio_of(tmp_path, ("Demo Evening", "Demo Morning"), calibration="format = 1\n")[0].sha256
    assert len({first, second, third}) == 3


def test_a_crucible_of_which_nobody_said_how_full_is_filled_to_60_percent(tmp_path):
    studio, _ = studio_of(tmp_path, ('fill = "60 %"\n', ""))
    fill = studio.crucibles[0].fill_frac
    assert fill.value == 0.6
    assert fill.sources == ("none",)
    assert "melt.crucible.fill" in fill.origin
