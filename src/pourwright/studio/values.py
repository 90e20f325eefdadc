"""Readers of single values: each returns the value, or None with a finding that says what is wrong."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import Any

from pourwright.core.errors import UnitError
from pourwright.core.figure import Figure, given
from pourwright.core.findings import Level
from pourwright.core.text import say
from pourwright.core.units import UnclearUnitError, read, show
from pourwright.studio.fields import Field, Kind
from pourwright.studio.place import Place, near

_LONGEST_TEXT = 200
_AXES = 3
# A pattern lies somewhere within a few metres of its file's origin, or a unit has slipped.
_FARTHEST_MM = 10_000.0
_SPAN = re.compile(r"^(.*?\d.*?)\s*\.\.\s*(.*\d.*)$")
_LEFT_NUMBER = re.compile(r"^[\s+\-\u2212\d.,eE]*$")
_UNIT_AFTER = re.compile(r"^[\s+\-\u2212\d.,]*(?:[eE][+-]?\d+)?\s*")
_PARTS = re.compile(r"^\s*([\d.,]+)\s*/\s*([\d.,]+)\s*$")
_WHICH_OUNCE = re.compile(r"(?<!troy )\b(oz|ounces?)\.?\s*$", re.IGNORECASE)
_RANGE_KEYS = ("best", "low", "high")
_TWO_DIGIT_HOUR = re.compile(r"^\d\d:\d\d")


def read_value(one: Field, raw: object, place: Place) -> Any:
    """Return the value of a field as its dataclass wants it, or None after adding findings to the place."""
    return _READERS[one.kind](one, raw, place)


def _wrong_type(one: Field, raw: object, place: Place) -> None:
    place.note_field("studio.value-kind", one, got=_as_written(raw), wanted=one.kind.value)


def _as_written(raw: object) -> str:
    written = {True: "true", False: "false"}.get(raw) if isinstance(raw, bool) else None
    return written or (f'"{raw}"' if isinstance(raw, str) else str(raw))[:60]


def _text(one: Field, raw: object, place: Place) -> str | None:
    if not isinstance(raw, str):
        _wrong_type(one, raw, place)
        return None
    if not raw.strip() and one.needed:
        place.note_field("studio.text-empty", one)
        return None
    if len(raw) > _LONGEST_TEXT or not raw.isprintable():
        place.note_field("studio.text-form", one, most=_LONGEST_TEXT)
        return None
    return raw.strip()


def _texts(one: Field, raw: object, place: Place) -> tuple[str, ...] | None:
    if not isinstance(raw, list) or not all(isinstance(item, str) for item in raw):
        _wrong_type(one, raw, place)
        return None
    for item in raw:
        if one.choices and item not in one.choices:
            place.note_field("studio.choice-unknown", one, got=item, known=near(item, one.choices))
        if raw.count(item) > 1:
            place.note_field("studio.text-twice", one, got=item)
            return None
    return tuple(raw)


def _point(one: Field, raw: object, place: Place) -> tuple[float, float, float] | None:
    numbers = [part for part in raw if isinstance(part, int | float)] if isinstance(raw, list) else []
    whole = isinstance(raw, list) and len(raw) == len(numbers) == _AXES and not any(isinstance(n, bool) for n in raw)
    if not whole or not all(abs(part) <= _FARTHEST_MM for part in numbers):
        place.note_field("studio.point-form", one, got=_as_written(raw))
        return None
    x, y, z = numbers
    return (float(x), float(y), float(z))


def _choice(one: Field, raw: object, place: Place) -> str | None:
    if not isinstance(raw, str):
        _wrong_type(one, raw, place)
        return None
    if raw not in one.choices:
        place.note_field("studio.choice-unknown", one, got=raw, known=near(raw, one.choices))
        return None
    return raw


def _flag(one: Field, raw: object, place: Place) -> bool | None:
    if not isinstance(raw, bool):
        _wrong_type(one, raw, place)
        return None
    return raw


def _count(one: Field, raw: object, place: Place) -> int | None:
    if isinstance(raw, bool) or not isinstance(raw, int):
        _wrong_type(one, raw, place)
        return None
    if raw < int(one.least):
        place.note_field("studio.value-low", one, got=raw, limit=one.least)
        return None
    return raw


def _date(one: Field, raw: object, place: Place) -> date | None:
    if isinstance(raw, datetime) or not isinstance(raw, date):
        _wrong_type(one, raw, place)
        return None
    return raw


def _clock(one: Field, raw: object, place: Place) -> time | None:
    if isinstance(raw, time):
        return raw
    if not isinstance(raw, str):
        _wrong_type(one, raw, place)
        return None
    written = raw.strip() if _TWO_DIGIT_HOUR.match(raw.strip()) else f"0{raw.strip()}"
    try:
        return time.fromisoformat(written)
    except ValueError:
        _no_time(one, raw, place)
        return None


def _moment(one: Field, raw: object, place: Place) -> datetime | None:
    if isinstance(raw, datetime):
        return raw
    if not isinstance(raw, str):
        _wrong_type(one, raw, place)
        return None
    try:
        return datetime.fromisoformat(raw.strip())
    except ValueError:
        _no_time(one, raw, place)
        return None


def _no_time(one: Field, raw: str, place: Place) -> None:
    place.note_field("studio.time-form", one, got=raw)


def _number(one: Field, raw: object, place: Place) -> Figure | None:
    spoken = _spoken_range(raw)
    if isinstance(spoken, Mapping):
        return _range(one, spoken, place)
    value = _plain(one, spoken, place, one.key)
    if value is None or not _within(one, (value,), place):
        return None
    return given(value, one.unit, place.origin(one.key))


def _measured(one: Field, raw: object, place: Place) -> object:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        _wrong_type(one, raw, place)
        return None
    return raw


def _spoken_range(raw: object) -> object:
    """Return a span such as ``880..910 permille`` as a table of low and high; anything else as it is."""
    match = _SPAN.match(raw) if isinstance(raw, str) else None
    if match is None:
        return raw
    low, high = match[1], match[2]
    if _LEFT_NUMBER.match(low):
        low = f"{low} {_UNIT_AFTER.sub('', high, count=1)}"
    return {"low": low, "high": high}


def _range(one: Field, raw: Mapping[str, object], place: Place) -> Figure | None:
    for key in raw:
        if key not in _RANGE_KEYS:
            place.note("studio.key-unknown", f"{one.key}.{key}", known=near(key, _RANGE_KEYS))
            return None
    for key in ("low", "high"):
        if key not in raw:
            example = f'{one.key} = {{ best = "...", low = "...", high = "..." }}'
            place.note("studio.key-missing", f"{one.key}.{key}", example=example)
            return None
    numbers = {key: _plain(one, text, place, f"{one.key}.{key}") for key, text in raw.items()}
    low, high = numbers["low"], numbers["high"]
    if low is None or high is None or ("best" in numbers and numbers["best"] is None):
        return None
    best = numbers.get("best")
    best = (low + high) / 2 if best is None else best
    if not low <= best <= high:
        place.note_field("studio.value-order", one, low=raw["low"], best=raw.get("best"), high=raw["high"])
        return None
    if not _within(one, (low, high), place):
        return None
    return given(best, one.unit, place.origin(one.key), low, high)


def _plain(one: Field, raw: object, place: Place, key: str) -> float | None:
    """Return one number in the field's unit, or None."""
    unclear = one.troy and isinstance(raw, str) and _WHICH_OUNCE.search(raw)
    try:
        if unclear:
            place.note("studio.ounce-unclear", key, Level.ASK, got=raw, example=f'{one.key} = "10 ozt"')
            return None
        if one.unit == "ratio" and isinstance(raw, str) and (parts := _PARTS.match(raw)):
            return _share(parts[1], parts[2], place)
        return read(raw, one.pint_unit, place.spoken(key), place.decimal_comma)
    except UnclearUnitError as asks:
        place.note("studio.value-unclear", key, Level.ASK, problem=str(asks), example=f"{one.key} = {one.shown}")
    except UnitError as wrong:
        place.note("studio.value-unreadable", key, problem=str(wrong), example=f"{one.key} = {one.shown}")
    return None


def _share(parts: str, whole: str, place: Place) -> float:
    """Return parts over the whole as a pure number [dimensionless], as water per powder."""
    part, of = (read(f"{text} %", "", "", place.decimal_comma) for text in (parts, whole))
    if of == 0:
        raise UnitError(say("studio.no-whole", parts=parts, whole=whole))
    return part / of


def _within(one: Field, values: tuple[float, ...], place: Place) -> bool:
    codes = set()
    for value in values:
        if (one.above and value <= _limit(one, one.above)) or (one.least and value < _limit(one, one.least)):
            codes.add("studio.value-not-above" if one.above else "studio.value-low")
        if one.most and value > _limit(one, one.most):
            codes.add("studio.value-high")
    for code in sorted(codes):
        limit = one.most if code == "studio.value-high" else one.above or one.least
        place.note_field(code, one, got=_got(values, one), limit=limit)
    return not codes


def _got(values: tuple[float, ...], one: Field) -> str:
    return " .. ".join(show(value, one.unit, 3) for value in values)


def _limit(one: Field, text: str) -> float:
    """Return a limit in the field's unit."""
    return read(text, one.pint_unit)


_READERS: Mapping[Kind, Callable[[Field, object, Place], object]] = {
    Kind.TEXT: _text,
    Kind.TEXTS: _texts,
    Kind.POINT: _point,
    Kind.CHOICE: _choice,
    Kind.FLAG: _flag,
    Kind.COUNT: _count,
    Kind.DATE: _date,
    Kind.CLOCK: _clock,
    Kind.MOMENT: _moment,
    Kind.NUMBER: _number,
    Kind.MEASURED: _measured,
}
