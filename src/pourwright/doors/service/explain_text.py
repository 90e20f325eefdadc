"""How an explanation reads: values with their ranges, inputs by words, lines as wide as the terminal."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from pourwright.core.sources import register
from pourwright.core.text import say
from pourwright.core.units import show, suffix_of

Row = Mapping[str, Any]
Rows = Mapping[str, Row]

_DEPTH = 4
_STEP = "  "
_MOST_COLUMNS = 100
_MORE_DIGITS = 3
_PERCENT = 100.0
# Registered so that every value has a source; their titles say all there is to say.
_NOT_READ_ANYWHERE = ("none", "derived", "memory")
_WORDS = {
    "arm_kgm": "doors.input-arm",
    "charge_mm": "doors.input-charge-radius",
    "chart_h": "doors.input-chart",
    "coolest_C": "doors.input-coolest",
    "crucible_mm": "doors.input-crucible-radius",
    "diffusivity_mm2_s": "doors.input-diffusivity",
    "displaced_cm3": "doors.input-displaced",
    "each_min": "doors.input-each",
    "flask_mm": "doors.input-flask-radius",
    "flasks_g": "doors.input-flasks",
    "grain_g_cm3": "doors.input-grain",
    "have_g": "doors.input-have",
    "hemihydrate_frac": "doors.input-plaster",
    "hottest_C": "doors.input-hottest",
    "metal_mm": "doors.input-metal-radius",
    "offset_C": "doors.input-offset",
    "reference_mm": "doors.input-chart-flask",
    "rule_flask_mm": "doors.input-rule-flask",
    "rule_min": "doors.input-rule",
    "solid": "doors.input-solid",
    "stated_rpm": "doors.input-stated",
    "take_g": "doors.input-take",
    "within_K": "doors.input-within",
}


def listed(rows: Sequence[tuple[str, Row]]) -> str:
    """Return numbers by their keys, one a line, the values under each other."""
    width = max((len(key) for key, _ in rows), default=0)
    return "\n".join(f"{key:<{width}}  {value_text(row)}" for key, row in rows)


def explained(title: str, key: str, rows: Rows) -> str:
    """Return one number with its making, what moves it most, its inputs as a tree, and its sources."""
    row = rows[key]
    lines = [title, *_wrapped(value_text(row), _STEP), *_wrapped(row["how"], _STEP), *_mover(key, rows)]
    if row["origin"]:
        lines += _wrapped(_origin(row), _STEP)
    if row["inputs"]:
        lines += ["", say("doors.explain-from"), *_input_lines(rows, row, 1, set())]
    return "\n".join([*lines, *_source_lines(key, rows)])


def value_text(row: Row) -> str:
    """Return a value as it is printed, with its range where it has one that can be seen."""
    if row["low"] < row["high"]:
        for more in range(_MORE_DIGITS):
            best, low, high = (_number(row[name], row["unit"], more) for name in ("value", "low", "high"))
            if low != high:
                return say("doors.explain-range", best=best, low=low, high=high)
    return _number(row["value"], row["unit"])


def _number(value_ratio: float, unit: str, more: int = 0) -> str:
    """Return a number in its unit, a share in per cent, with some digits more than usual."""
    if unit == "frac":
        return show(_PERCENT * value_ratio, "percent", 1 + more)
    usual = show(value_ratio, unit)
    if not more:
        return usual
    digits = len(usual.split("\u00a0")[0].partition(".")[2])
    return show(value_ratio, unit, digits + more)


def _mover(key: str, rows: Rows) -> list[str]:
    """Say which input's range moves a number most, how far by itself, and where that comes from in the end."""
    row = rows[key]
    if not row["moved_most_by"]:
        return []
    way = _way_to_origin(key, rows)
    low, high = (_number(row["moved_to"][end], row["unit"]) for end in ("low", "high"))
    names = say("doors.explain-in-it").join(name_in_words(one) for one, _ in way)
    last = rows[way[-1][1]]
    params = {"names": names, "low": low, "high": high, "from": _where_from(last)}
    return ["", *_wrapped(say("doors.explain-mover", **params), "")]


def _where_from(row: Row) -> str:
    """Return where a given value stands, and what is said of it beyond that it is given."""
    plain = row["how"] in (say("core.given"), say("core.table"))
    return _origin(row) if plain and row["origin"] else f"{_origin(row)} {row['how']}".strip()


def _way_to_origin(key: str, rows: Rows) -> list[tuple[str, str]]:
    way: list[tuple[str, str]] = []
    while rows[key]["moved_most_by"]:
        name = rows[key]["moved_most_by"]
        key = rows[key]["inputs"][name]
        way.append((name, key))
    return way


def name_in_words(name: str) -> str:
    """Return what an input is called: a word of ours, else its name without the unit."""
    if name in _WORDS:
        return say(_WORDS[name])
    unit = suffix_of(name)
    bare = name.removesuffix(f"_{unit}") if unit and "-" not in name else name
    return bare.replace("_", " ")


def _origin(row: Row) -> str:
    marks = "".join(f" [{source}]" for source in row["sources"])
    return f"{row['origin']}{marks}".strip()


def _input_lines(rows: Rows, row: Row, depth: int, seen: set[str]) -> list[str]:
    """Return a line for each input, each figure's own inputs below it the first time it is met."""
    lines = []
    for name, key in row["inputs"].items():
        one = rows[key]
        origin = _origin(one) if one["origin"] or not one["inputs"] else ""
        text = f"{name_in_words(name)}: {value_text(one)}" + (f" — {origin}" if origin else "")
        lines += _wrapped(text, _STEP * depth)
        if one["inputs"] and key not in seen and depth < _DEPTH:
            seen.add(key)
            lines += _wrapped(one["how"], _STEP * (depth + 1))
            lines += _input_lines(rows, one, depth + 1, seen)
    return lines


def keys_below(key: str, rows: Rows) -> list[str]:
    """Return a key and all that it is made from, each once."""
    found: list[str] = []
    waiting = [key]
    while waiting:
        one = waiting.pop(0)
        if one not in found:
            found.append(one)
            waiting.extend(rows[one]["inputs"].values())
    return found


def _source_lines(key: str, rows: Rows) -> list[str]:
    keys = sorted({source for one in keys_below(key, rows) for source in rows[one]["sources"]})
    if not keys:
        return []
    return ["", say("doors.explain-sources"), *(line for one in keys for line in _wrapped(_title(one), _STEP))]


def _title(source_key: str) -> str:
    source = register().get(source_key)
    if source is None:
        return f"[{source_key}]"
    read = "" if source_key in _NOT_READ_ANYWHERE else f" ({source.read})"
    return f"[{source_key}] {source.title}{read}"


def _wrapped(text: str, indent: str) -> list[str]:
    width = min(shutil.get_terminal_size((_MOST_COLUMNS, 24)).columns, _MOST_COLUMNS)
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + _STEP * 2) or [indent]
