"""Units at the edges: texts with units come in, texts with units go out; inside there are plain floats.

The only module that uses pint. ``SUFFIXES`` is the one table of unit endings that names of floats may carry; the
contract test over names, the figures and the printed sheet all use it.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from pourwright.core.errors import UnitError
from pourwright.core.text import say

if TYPE_CHECKING:
    from pint import Unit, UnitRegistry

# ending of a name -> the unit as pint writes it
SUFFIXES: dict[str, str] = {
    "m": "m", "mm": "mm", "um": "um", "m2": "m**2", "mm2": "mm**2", "cm2": "cm**2",
    "m3": "m**3", "mm3": "mm**3", "cm3": "cm**3", "ml": "ml",
    "kg": "kg", "g": "g", "mg": "mg", "dwt": "pennyweight", "ozt": "troy_ounce",
    "s": "s", "min": "minute", "h": "hour",
    "K": "K", "C": "degC", "K_s": "K/s", "C_h": "delta_degC/hour", "C_min": "delta_degC/minute",
    "Pa": "Pa", "pa": "Pa", "kPa": "kPa", "kpa": "kPa", "J": "J", "W": "W", "kW": "kW", "kWh": "kWh",
    "rad": "rad", "deg": "degree", "rad_s": "rad/s", "rpm": "rpm",
    "m_s": "m/s", "m_s2": "m/s**2", "m2_s": "m**2/s", "mm2_s": "mm**2/s",
    "kg_m3": "kg/m**3", "g_cm3": "g/cm**3", "J_kg": "J/kg", "kJ_kg": "kJ/kg", "J_kgK": "J/kg/K",
    "W_mK": "W/m/K", "W_m2K": "W/m**2/K", "N_m": "N/m", "Pa_s": "Pa*s", "N": "N", "Nm": "N*m",
    "Nm_turn": "N*m/turn", "kg_m2": "kg*m**2", "kgm": "kg*m", "gm": "g*m", "g_mol": "g/mol",
    "kg_m3K": "kg/m**3/K", "N_mK": "N/m/K", "turns": "turn", "gee": "standard_gravity",
    "min_K": "minute/delta_degC", "J_m3": "J/m**3", "J_m3K": "J/m**3/K", "W_K": "W/K", "J_K": "J/K", "K_m": "K/m",
    "per_m": "1/m", "per_m2": "1/m**2", "per_s": "1/s", "sqrtKs_m": "K**0.5*s**0.5/m",
    "rad_s2": "rad/s**2", "m3_s": "m**3/s", "Nms": "N*m*s", "Nms2": "N*m*s**2",
    "permille": "permille", "percent": "percent", "frac": "", "ratio": "", "count": "", "px": "pixel", "pt": "point",
}  # fmt: skip

# Units a user may write for each dimension, the first being the example in messages.
_EXAMPLES: dict[str, str] = {
    "": "60 %", "mm": "63.5 mm", "g": "12.40 g", "kg": "1.200 kg", "degC": "540 C", "minute": "9 min", "hour": "2 h",
    "s": "30 s",
    "delta_degC/hour": "167 C/h", "delta_degC": "5 C", "cm**3": "20 cm3", "g/cm**3": "0.96 g/cm3", "N*m": "1.5 N.m",
    "N*m/turn": "1.5 N.m/turn", "kg*m**2": "0.164 kg.m2", "rpm": "300 rpm", "permille": "925 permille",
    "W/m/K": "0.4 W/m/K", "mm**2/s": "0.29 mm2/s", "mm**2": "4 mm2", "kg*m": "0.2 kg.m", "turn": "3 turns",
    "N*m*s": "0.001 N.m.s", "N*m*s**2": "0.00006 N.m.s2", "degree": "25 deg",
    "kW": "2.4 kW", "minute/delta_degC": "-0.2 min/C",
}  # fmt: skip

_ABSOLUTE = {"c": "degC", "°c": "degC", "degc": "degC", "f": "degF", "°f": "degF", "degf": "degF", "k": "K"}
_STEP = {"degC": "delta_degC", "degF": "delta_degF", "K": "K"}
_WORDS = {
    "dwt": "pennyweight", "pennyweight": "pennyweight", "ozt": "troy_ounce", "oz t": "troy_ounce",
    "troy oz": "troy_ounce", "troy ounce": "troy_ounce", "ct": "carat_mass", "carat": "carat_mass",
    "in": "inch", "inch": "inch", "inches": "inch", '"': "inch", "hours": "hour", "minutes": "minute",
    "g": "g", "kg": "kg", "mm": "mm", "l": "liter", "permil": "permille", "percent": "percent", "‰": "permille",
    "cc": "cm**3", "cm3": "cm**3", "mm3": "mm**3", "mm2": "mm**2", "cm2": "cm**2", "ml": "ml", "g/cm3": "g/cm**3",
    "g/cc": "g/cm**3", "kg/m3": "kg/m**3", "n.m": "N*m", "nm": "N*m", "n.m/turn": "N*m/turn", "nm/turn": "N*m/turn",
    "n.m.s": "N*m*s", "nms": "N*m*s", "n.m.s2": "N*m*s**2", "nms2": "N*m*s**2",
    "kg.m2": "kg*m**2", "kg.m": "kg*m", "g.m": "g*m", "w/m/k": "W/m/K", "mm2/s": "mm**2/s", "turns": "turn",
    "turn": "turn", "rpm": "rpm", "permille": "permille", "%": "percent", "min": "minute", "h": "hour", "d": "day",
    "um": "um", "grain": "grain", "grains": "grain", "lb": "pound", "oz": "ounce", "°": "degree", "deg": "degree",
}  # fmt: skip
_RATES = {
    "c/h": "delta_degC/hour", "°c/h": "delta_degC/hour", "f/h": "delta_degF/hour", "°f/h": "delta_degF/hour",
    "k/h": "K/hour", "c/min": "delta_degC/minute", "°c/min": "delta_degC/minute", "f/min": "delta_degF/minute",
    "°f/min": "delta_degF/minute", "k/min": "K/minute",
    "min/c": "minute/delta_degC", "min/°c": "minute/delta_degC", "min/f": "minute/delta_degF",
    "min/°f": "minute/delta_degF", "s/c": "s/delta_degC", "s/°c": "s/delta_degC", "s/f": "s/delta_degF",
}  # fmt: skip

# A unit that two trades read differently -> the two units meant; the user is asked which.
_UNCLEAR = {"gr": ("g", "grain")}
# What a unit may look like at all. Anything else never reaches pint, which would work out powers of any size.
_UNIT_TEXT = re.compile(r"^[A-Za-zµμ°%‰×\"][A-Za-zµμ°%‰/.·²³\" 23]{0,23}$")
# Signs that our own printing uses (see show), and what they are when typed.
_TYPED = str.maketrans(
    {"\u2212": "-", "\u00a0": " ", "\u00b7": ".", "\u00b2": "2", "\u00b3": "3", "\u2103": "C", "\u2109": "F"}
)
_PRINTED_GROUPS = re.compile(r"(?<=\d)[\u2009\u202f](?=\d{3})")

_NUMBER = re.compile(r"^\s*([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
_GROUPED = re.compile(r"^\s*[+-]?[1-9]\d{0,2}(,\d{3})+(?!\d)")
_GROUPED_BY_POINT = re.compile(r"^\s*[+-]?[1-9]\d{0,2}(\.\d{3})+(?![\d.eE])")
_COMMA = re.compile(r"^(\s*[+-]?\d+),(\d+)([^,]*)$")
_LONGEST_TEXT = 80


class UnclearUnitError(UnitError):
    """A text that can be read in two ways; the user is asked which is meant."""


@lru_cache(maxsize=1)
def _registry() -> UnitRegistry[Any]:
    import pint

    registry: UnitRegistry[Any] = pint.UnitRegistry()
    registry.define("carat_mass = 0.2 g")
    return registry


def read(text: object, to: str, where: str = "", decimal_comma: bool = False) -> float:
    """Read a text such as ``"6.20 g"`` or ``"900 F"`` and return the number in the unit ``to``.

    Parameters
    ----------
    text : object
        Must be a text with a number and a unit; a bare number is refused, and so is ``1,234`` (thousand or decimal?).
        What :func:`show` prints can be typed back.
    to : str
        Unit as in the values of :data:`SUFFIXES`; ``delta_degC`` reads a temperature step.
    where : str
        File and key, for the message.
    decimal_comma : bool
        Whether the user's language writes decimals with a comma.

    Returns
    -------
    float
        The number, in ``to``.

    Raises
    ------
    UnitError
        What is wrong, where, and the right form; :class:`UnclearUnitError` when it can be read in two ways.
    """
    example = example_of(to)
    if not isinstance(text, str):
        raise _bare(text, to, where)
    typed = _decimal_point(_PRINTED_GROUPS.sub("", text).translate(_TYPED), where, decimal_comma)
    match = _NUMBER.match(typed) if len(text) <= _LONGEST_TEXT else None
    if match is None or math.isinf(float(match[1])):
        raise UnitError(say("core.unit-no-number", where=where, text=text[:_LONGEST_TEXT], example=example))
    number, unit_text = float(match[1]), match[2]
    if not unit_text:
        raise _bare(text, to, where)
    _refuse_unclear(unit_text, to, where, text)
    return _convert(number, unit_text, to, where, text, example)


def example_of(to: str) -> str:
    """Return a well-written value for a unit (as in the values of :data:`SUFFIXES`), as messages show it."""
    return _EXAMPLES.get(to, f"1 {to}")


def _bare(text: object, to: str, where: str) -> UnitError:
    if to == "degC":
        return UnclearUnitError(say("core.unit-bare-temperature", where=where, text=text))
    return UnitError(say("core.unit-bare", where=where, text=text, example=example_of(to)))


def _refuse_unclear(unit_text: str, to: str, where: str, text: str) -> None:
    lowered = unit_text.lower().rstrip(".")
    if to == "degC" and lowered in {"°", "deg", "degree", "degrees"}:
        raise UnclearUnitError(say("core.unit-bare-temperature", where=where, text=text))
    if lowered in _UNCLEAR:
        first, second = _UNCLEAR[lowered]
        raise UnclearUnitError(say("core.unit-unclear", where=where, text=text, first=first, second=second))


def _decimal_point(text: str, where: str, decimal_comma: bool) -> str:
    if _GROUPED.match(text) and not decimal_comma:
        raise UnclearUnitError(say("core.unit-comma-thousand", where=where, text=text))
    if decimal_comma and _GROUPED_BY_POINT.match(text) and "," not in text:
        raise UnclearUnitError(say("core.unit-point-thousand", where=where, text=text))
    if "," not in text:
        return text
    match = _COMMA.match(text)
    if match is None:
        raise UnitError(say("core.unit-comma-many", where=where, text=text))
    if not decimal_comma:
        raise UnitError(say("core.unit-comma", where=where, text=text))
    return f"{match[1]}.{match[2]}{match[3]}"


def _unit_name(unit_text: str, to: str) -> str:
    lowered = " ".join(unit_text.lower().split())
    if lowered in _RATES:
        return _RATES[lowered]
    if lowered in _ABSOLUTE:
        absolute = _ABSOLUTE[lowered]
        return _STEP[absolute] if to.startswith("delta_") else absolute
    return _WORDS.get(lowered, unit_text)


def _convert(number: float, unit_text: str, to: str, where: str, text: str, example: str) -> float:
    import pint

    if not _UNIT_TEXT.match(unit_text):
        raise UnitError(say("core.unit-unknown", where=where, text=text, example=example))
    try:
        unit, wanted = _unit(_unit_name(unit_text, to)), _unit(to)
        number_to = number if unit == wanted else float(_registry().Quantity(number, unit).to(wanted).magnitude)
    except pint.DimensionalityError:
        raise UnitError(say("core.unit-wrong-kind", where=where, text=text, example=example)) from None
    except Exception:  # pint raises many kinds for a text it cannot parse; all mean the same to the user
        raise UnitError(say("core.unit-unknown", where=where, text=text, example=example)) from None
    # pint counts angles as pure numbers: without this "1.5 N.m" would pass as a spring rate, "3 deg" as a share.
    if _turns(unit) != _turns(wanted):
        raise UnitError(say("core.unit-wrong-kind", where=where, text=text, example=example))
    return number_to


@lru_cache(maxsize=256)
def _unit(name: str) -> Unit:
    unit: Unit = _registry().Unit(name)
    return unit


@lru_cache(maxsize=256)
def _turns(unit: Unit) -> bool:
    return "radian" in str(_registry().get_root_units(unit)[1])


def convert(number_ratio: float, unit: str, to: str) -> float:
    """Return a number given in one unit, in ``to`` (both as pint writes them)."""
    return float(_registry().Quantity(number_ratio, unit).to(to).magnitude)


# How each unit is printed, and with how many decimals unless told.
_PRINTED: dict[str, tuple[str, str, int]] = {
    "g": ("g", "g", 2), "dwt": ("pennyweight", "dwt", 2), "ozt": ("troy_ounce", "ozt", 3), "kg": ("kg", "kg", 3),
    "mm": ("mm", "mm", 1), "in": ("inch", "in", 3), "cm3": ("cm**3", "cm³", 2), "mm3": ("mm**3", "mm³", 1),
    "mm2": ("mm**2", "mm²", 1), "C": ("degC", "°C", 0), "F": ("degF", "°F", 0), "min": ("minute", "min", 0),
    "h": ("hour", "h", 1), "s": ("s", "s", 0), "C_h": ("delta_degC/hour", "°C/h", 0), "N": ("N", "N", 1),
    "F_h": ("delta_degF/hour", "°F/h", 0), "kPa": ("kPa", "kPa", 0), "kpa": ("kPa", "kPa", 0), "rpm": ("rpm", "rpm", 0),
    "gee": ("standard_gravity", "× gravity", 1), "permille": ("permille", "‰", 1), "turns": ("turn", "turns", 1),
    "frac": ("", "", 3), "ratio": ("", "", 2), "count": ("", "", 0), "percent": ("percent", "%", 1),
    "g_cm3": ("g/cm**3", "g/cm³", 2), "kg_m3": ("kg/m**3", "kg/m³", 0), "mm2_s": ("mm**2/s", "mm²/s", 3),
    "Nm": ("N*m", "N·m", 2), "J": ("J", "J", 1), "gm": ("g*m", "g·m", 1), "kgm": ("kg*m", "kg·m", 4),
    "kg_m2": ("kg*m**2", "kg·m²", 3), "Nm_turn": ("N*m/turn", "N·m/turn", 2), "deg": ("degree", "°", 0),
    "C_min": ("delta_degC/minute", "°C/min", 1), "m_s": ("m/s", "m/s", 2), "mg": ("mg", "mg", 0),
    "Nms": ("N*m*s", "N·m·s", 4), "Nms2": ("N*m*s**2", "N·m·s²", 6), "rad_s2": ("rad/s**2", "rad/s²", 1),
    "kWh": ("kWh", "kWh", 2), "kW": ("kW", "kW", 2), "min_K": ("minute/delta_degC", "min/°C", 2),
}  # fmt: skip


def show(value_ratio: float, unit: str, digits: int | None = None) -> str:
    """Return a number in ``unit`` (a suffix of :data:`SUFFIXES`) as text with its printed sign, as ``138.73 g``."""
    _, sign, usual = _PRINTED.get(unit, (unit, unit, 2))
    number = f"{value_ratio:z,.{usual if digits is None else digits}f}".replace(",", "\u2009")
    number = number.replace("-", "\u2212") if value_ratio < 0 else number
    return f"{number}\u00a0{sign}" if sign else number


def show_in(value_ratio: float, unit: str, wanted: str, digits: int | None = None) -> str:
    """Convert from one printed unit to another and show, for example grams in the studio's pennyweight."""
    if unit == wanted:
        return show(value_ratio, unit, digits)
    return show(convert(value_ratio, _PRINTED[unit][0], _PRINTED[wanted][0]), wanted, digits)


def to_division(mass_g: float, division_g: float) -> float:
    """Round a mass [g] to the nearest mark of a scale with that division [g], without binary dust."""
    step = Decimal(str(division_g))
    return float((Decimal(repr(mass_g)) / step).quantize(Decimal(1)) * step)


def suffix_of(name: str) -> str | None:
    """Return the unit suffix that a name ends with, or None."""
    for suffix in _BY_LENGTH:
        if name == suffix or name.endswith("_" + suffix):
            return suffix
    return None


_BY_LENGTH = sorted(SUFFIXES, key=len, reverse=True)
