"""Data sheets, gas, checks and assay of the studio file."""

from tests.unit.studio.helpers import day_of, one_with, studio_of

from pourwright.core.findings import Level

_STEPS = """programme = "prog.wax.standard"
ash = true
wash = ["first bath", "second bath"]
steps_diameter = "64 mm"

[[material.step]]
temperature = "150 C"
hold = "2 h"
ramp = "60 C/h"

[[material.step]]
temperature = "{top}"
hold = "3 h"
"""


def test_a_material_brings_its_own_steps(tmp_path):
    studio, _ = studio_of(tmp_path, ('programme = "prog.wax.standard"\n', _STEPS.format(top="700 C")))
    material = studio.materials[0]
    assert [one.temperature_C.value for one in material.steps] == [150, 700]
    assert [one.hold_min.value for one in material.steps] == [120, 180]
    assert material.steps[0].ramp_C_h.value == 60
    assert material.steps[1].ramp_C_h is None
    assert material.ash
    assert material.wash == ("first bath", "second bath")


def test_steps_that_fall_on_the_way_up_are_refused(tmp_path):
    text = _STEPS.format(top="120 C") + '\n[[material.step]]\ntemperature = "700 C"\nhold = "2 h"\n'
    studio, found = studio_of(tmp_path, ('programme = "prog.wax.standard"\n', text))
    assert studio is None
    assert "demo-blue-wax" in one_with(found, "studio.steps-fall").what


def test_a_powder_says_what_its_data_sheet_says(tmp_path):
    sheet = 'stock = "8 kg"\nbench_set = "3 h"\ntop_most = "1330 F"\nopened = 2026-10-10\nkeeps = "180 d"\n'
    sheet += 'working_time_per_degree = "-12 s/C"\n'
    studio, _ = studio_of(tmp_path, ('stock = "8 kg"\n', sheet))
    powder = studio.powders[0]
    assert powder.bench_set_min.value == 180
    assert round(powder.top_limit_C.value, 1) == 721.1
    assert powder.keeps_h.value == 4320
    assert round(powder.working_per_degree_min_K.value, 3) == -0.2
    assert (powder.working_at_C.low, powder.working_at_C.high) == (20, 25)


def test_a_tin_opened_before_it_was_bought_is_asked_about(tmp_path):
    dates = 'stock = "8 kg"\nopened = 2026-10-10\nbought = 2026-10-11\n'
    _, found = studio_of(tmp_path, ('stock = "8 kg"\n', dates))
    assert "2026-10-10" in one_with(found, "studio.opened-before-bought").what


def test_a_country_outside_the_table_is_only_noted(tmp_path):
    studio, found = studio_of(tmp_path, ('zone = "Europe/Vienna"', 'zone = "Europe/Vienna"\ncountry = "finnland"'))
    assert studio.country == "finnland"
    assert one_with(found, "studio.country-unlisted").level is Level.NOTE


def test_a_leaf_is_entered_by_the_water_it_displaces(tmp_path):
    leaf = 'displaced = "2.1 cm3"\nthickest = "3.2 mm"'
    day, found = day_of(tmp_path, ('weighed = "1.62 g"\nthickest = "3.2 mm"', leaf))
    assert not found
    assert day.pieces[4].displaced_cm3.value == 2.1


def test_water_displaced_by_a_stone_is_no_metal(tmp_path):
    leaf = 'displaced = "2.1 cm3"\nstone = "2 ct"'
    _, found = day_of(tmp_path, ('weighed = "1.62 g"', leaf))
    assert "stone" in one_with(found, "studio.displaced-with-stone").what
