"""Figures, moments and names as they stand on paper: in the studio's units, with a mark where the ground is thin."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date, datetime
from zoneinfo import ZoneInfo

from pourwright.core import text
from pourwright.core.figure import Figure
from pourwright.core.units import convert, show_in
from pourwright.studio.profile import PrintUnits

# Keys of the source register that mean: nobody read this anywhere.
_MARK_OF_SOURCE = {"none": "practice", "memory": "memory"}
_LONGEST_WORD_COUNT = 22
_SOFT_BREAK = "\u200b"
_PINT = {"g": "g", "dwt": "pennyweight", "ozt": "troy_ounce"}

Shown = dict[str, object]


def shown(figure: Figure, units: PrintUnits, digits: int | None = None, marks: Iterable[str] = ()) -> Shown:
    """Return a figure as text in the studio's units, with the marks its sources ask for."""
    return {
        "text": show_in(figure.value, figure.unit, paper_unit(figure.unit, units), digits),
        "marks": [*marks, *(mark for mark in source_marks(figure.sources) if mark not in marks)],
    }


def plain(words: str, marks: Iterable[str] = ()) -> Shown:
    """Return ready words in the form of a shown figure."""
    return {"text": words, "marks": list(marks)}


def source_marks(sources: Iterable[str]) -> list[str]:
    """Return the marks (``practice``, ``memory``) that stand for sources nobody read."""
    return sorted({_MARK_OF_SOURCE[key] for key in sources if key in _MARK_OF_SOURCE})


def paper_unit(unit: str, units: PrintUnits) -> str:
    """Return the unit in which the studio wants a quantity of this unit printed."""
    wanted = {"g": units.mass, "mm": units.length, "C": units.temperature}
    return "F_h" if unit == "C_h" and units.temperature == "F" else wanted.get(unit, unit)


def temperature(reading_C: float, units: PrintUnits) -> str:
    """Return a temperature [degC] as text in the studio's unit."""
    return show_in(reading_C, "C", units.temperature)


def mass(mass_g: float, units: PrintUnits, division_g: float) -> str:
    """Return a mass [g] as fine as the scale's division [g] allows, in the studio's unit."""
    return show_in(mass_g, "g", units.mass, mass_digits(units, division_g))


def mass_digits(units: PrintUnits, division_g: float) -> int:
    """Return the decimals that keep a scale's division [g] in the studio's unit of mass."""
    division = convert(division_g, "g", _PINT[units.mass])
    return max(0, math.ceil(-math.log10(division) - 1e-9))


def trimmed(number_ratio: float) -> str:
    """Return a number in ``whatever it counts`` with at most two decimals and no trailing zeros."""
    return f"{number_ratio:.2f}".rstrip("0").rstrip(".")


def local(moment: datetime, zone: str) -> datetime:
    """Return the moment by the studio's clock."""
    return moment.astimezone(ZoneInfo(zone))


def clock(moment: datetime, zone: str) -> str:
    """Return hour and minute by the studio's clock, rounded down to the minute."""
    return local(moment, zone).strftime("%H:%M")


def clock_with_day(moment: datetime, zone: str, day: date) -> str:
    """Return the time, led by the short weekday where it is not the day of the pour."""
    here = local(moment, zone)
    return clock(moment, zone) if here.date() == day else f"{weekday(here.date(), short=True)} {clock(moment, zone)}"


def weekday(day: date, short: bool = False) -> str:
    """Return the name of the weekday in the reader's language."""
    names = text.say("sheet.weekdays-short" if short else "sheet.weekdays")
    return names.split()[day.weekday()]


def long_date(day: date) -> str:
    """Return the date in words."""
    return text.say(
        "sheet.date",
        weekday=weekday(day),
        day=day.day,
        month=text.say("sheet.months").split()[day.month - 1],
        year=day.year,
    )


def user_text(words: str) -> str:
    """Return a user's text on one line, with places to break in words too long for a column."""
    tidy = " ".join("".join(sign if sign.isprintable() else " " for sign in words).split())
    return " ".join(_breakable(word) for word in tidy.split(" "))


def _breakable(word: str) -> str:
    if len(word) <= _LONGEST_WORD_COUNT:
        return word
    half = _LONGEST_WORD_COUNT // 2
    return _SOFT_BREAK.join(word[start : start + half] for start in range(0, len(word), half))


def short_id(whole_id: str) -> str:
    """Return the last part of an id: ``P07`` of ``2026-03-14-P07``."""
    return whole_id.rsplit("-", 1)[-1]


def short_ids(words: str, day: date) -> str:
    """Return a sentence with the day's ids as they stand on the other pages: ``P07`` for ``2026-03-14-P07``."""
    return re.sub(rf"\b{day.isoformat()}-(?=[FP]\d)", "", words)
