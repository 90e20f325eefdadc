"""Units at the edges: never ambiguous, never silent (need M1)."""

import pytest

from pourwright.core.errors import UnitError
from pourwright.core.units import UnclearUnitError, read, show


@pytest.mark.parametrize(
    ("text", "to", "expected", "tolerance"),
    [
        ("10 dwt", "g", 15.55, 0.005),
        ("1350 F", "degC", 732.2, 0.05),
        ("50 F", "delta_degC", 27.8, 0.05),
        ("60 dwt", "g", 93.31, 0.005),
        ("2 ct", "g", 0.40, 1e-9),
        ("167 C/h", "delta_degC/hour", 167, 1e-9),
        ("300 F/h", "delta_degC/hour", 166.67, 0.01),
        ("60 %", "", 0.60, 1e-12),
        ("925 permille", "permille", 925, 1e-9),
        ("92.5 %", "permille", 925, 1e-9),
        ("0.96 g/cm³", "g/cm**3", 0.96, 1e-12),
        ("2 KG", "g", 2000, 1e-9),
        ("\u22126 °C", "delta_degC", -6, 1e-12),
    ],
)
def test_a_text_with_its_unit_is_read(text, to, expected, tolerance):
    assert read(text, to) == pytest.approx(expected, abs=tolerance)


def test_a_troy_ounce_is_heavier_than_the_other_ounce():
    assert read("1 ozt", "g") - read("1 oz", "g") == pytest.approx(2.75, abs=0.005)


@pytest.mark.parametrize("text", ["900", 900, "900 degrees", "900°", 900.0])
def test_a_bare_temperature_asks_for_its_scale(text):
    with pytest.raises(UnclearUnitError, match="Celsius or Fahrenheit"):
        read(text, "degC", "flask_temperature")


def test_one_comma_two_three_four_asks():
    with pytest.raises(UnclearUnitError, match="thousands or decimals"):
        read("1,234 g", "g")


def test_a_point_before_three_digits_asks_where_decimals_have_a_comma():
    with pytest.raises(UnclearUnitError, match="thousands or decimals"):
        read("1.234 g", "g", decimal_comma=True)


def test_a_decimal_comma_is_read_where_it_is_the_custom():
    assert read("12,5 g", "g", decimal_comma=True) == 12.5
    assert read("1,234 g", "g", decimal_comma=True) == 1.234
    assert read("0.964 g", "g", decimal_comma=True) == 0.964
    with pytest.raises(UnitError, match="decimal_comma = true"):
        read("12,5 g", "g")


@pytest.mark.parametrize("text", ["1.234,5 g", "1,2,3 g"])
def test_two_marks_in_a_number_are_refused(text):
    with pytest.raises(UnitError, match="several commas"):
        read(text, "g", decimal_comma=True)


def test_grams_written_gr_ask():
    with pytest.raises(UnclearUnitError, match="two ways"):
        read("10 gr", "g")


@pytest.mark.parametrize(
    ("text", "to"),
    [("1.5 N.m", "N*m/turn"), ("3 deg", ""), ("12 %", "turn"), ("6 g", "mm"), ("5 C/h", "degC")],
)
def test_another_kind_of_quantity_is_refused(text, to):
    with pytest.raises(UnitError, match="something else"):
        read(text, to)


@pytest.mark.parametrize("text", ["1/4 in", "5 g**9**9**9", "5 (g)", "5 blups", "5 g;g", "6 5 g", "5 " + "g" * 40])
def test_an_unknown_unit_is_refused_at_once(text):
    with pytest.raises(UnitError, match="not known"):
        read(text, "g")


@pytest.mark.parametrize("text", ["nan g", "inf g", "1e999 g", "g", "", "9" * 100 + " g"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(UnitError, match="does not start with a number"):
        read(text, "g")


def test_messages_name_the_place_and_the_form():
    with pytest.raises(UnitError, match=r'^kiln K1, ramp: 900 has no unit.*"167 C/h"'):
        read("900", "delta_degC/hour", "kiln K1, ramp")


def test_printed_numbers_can_be_typed_back():
    assert show(-1234.5, "g") == "\u22121\u2009234.50\u00a0g"
    assert read(show(-1234.5, "g"), "g") == -1234.5


def test_a_hair_below_nothing_prints_as_nothing():
    assert show(-0.0004, "mm", 1) == "0.0\u00a0mm"
    assert show(-0.06, "mm", 1) == "\u22120.1\u00a0mm"
