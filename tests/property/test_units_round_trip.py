"""A value written with any unit we know, and read back, is the same value."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.core.units import SUFFIXES, convert, read, show

# suffix of the field -> units a person may write it in, as pint calls them and as they are typed
_WRITTEN = {
    "g": {"g": "g", "kg": "kg", "mg": "mg", "dwt": "pennyweight", "ozt": "troy_ounce", "ct": "0.2 g", "oz": "ounce"},
    "mm": {"mm": "mm", "cm": "cm", "in": "inch", '"': "inch", "um": "um", "m": "m"},
    "C": {"C": "degC", "F": "degF", "K": "K", "°F": "degF"},
    "C_h": {"C/h": "delta_degC/hour", "F/h": "delta_degF/hour", "K/h": "K/hour", "C/min": "delta_degC/minute"},
    "cm3": {"cm3": "cm**3", "ml": "ml", "cc": "cm**3", "l": "liter", "mm3": "mm**3"},
    "min": {"min": "minute", "h": "hour", "s": "s", "d": "day"},
    "Nm_turn": {"N.m/turn": "N*m/turn", "N·m/turn": "N*m/turn"},
    "kg_m2": {"kg.m2": "kg*m**2"},
    "kgm": {"kg.m": "kg*m", "g.m": "g*m"},
    "permille": {"permille": "permille", "%": "percent", "‰": "permille"},
    "frac": {"%": "percent", "permille": "permille"},
    "min_K": {"min/C": "minute/delta_degC", "min/F": "minute/delta_degF", "s/C": "s/delta_degC"},
}
_CASES = [(suffix, typed) for suffix, row in _WRITTEN.items() for typed in row]


@pytest.mark.parametrize(("suffix", "typed"), _CASES)
@settings(max_examples=25, deadline=None)
@given(number=st.floats(0.001, 99999.0))
def test_written_and_read_back(suffix, typed, number):
    to = SUFFIXES[suffix]
    pint_name = _WRITTEN[suffix][typed]
    factor, name = (0.2, "g") if pint_name == "0.2 g" else (1.0, pint_name)
    written = f"{number!r} {typed}"
    assert read(written, to) == pytest.approx(convert(number * factor, name, to), rel=1e-12, abs=1e-12)


@settings(max_examples=50, deadline=None)
@given(number=st.decimals(0, 9999, places=2, allow_nan=False, allow_infinity=False))
def test_decimal_comma_and_point_agree(number):
    with_comma = f"{number} g".replace(".", ",")
    assert read(with_comma, "g", decimal_comma=True) == read(f"{number} g", "g")


@pytest.mark.parametrize(
    "suffix", ["g", "kg", "mm", "cm3", "C", "min", "h", "C_h", "permille", "Nm_turn", "kg_m2", "min_K"]
)
@settings(max_examples=25, deadline=None)
@given(number=st.floats(-99999, 99999))
def test_what_is_printed_can_be_typed_back(suffix, number):
    printed = show(number, suffix, 3)
    assert read(printed, SUFFIXES[suffix]) == pytest.approx(round(number, 3), abs=1e-6)
