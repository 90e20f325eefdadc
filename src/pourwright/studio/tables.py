"""Readers of whole tables: every key checked, unknown and missing keys named, defaults filled in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pourwright.core.findings import Level, stops
from pourwright.studio.defaults import default_figure
from pourwright.studio.fields import Field, Kind, Section
from pourwright.studio.place import Place, near
from pourwright.studio.values import read_value

Values = dict[str, Any]
Finish = Callable[[Values, Place], None]


def read_table(section: Section, raw: object, place: Place, finish: Finish | None = None) -> Values | None:
    """Return the values of a table by attribute, or None after adding findings to the place.

    Parameters
    ----------
    section : Section
        What may stand in it. Fields of kind ``rows`` are left to the caller.
    raw : object
        As parsed from TOML.
    place : Place
        Where the table stands.
    finish : callable
        Called with values and place when all keys were read, also when some could not be (then None) so that every
        fault comes at once; may add values and findings.
    """
    if not isinstance(raw, Mapping):
        place.note("studio.table-wanted", "", table=section.key)
        return None
    before = len(place.found)
    _name_unknown(section, raw, place)
    values = {one.attr: _value(one, raw, place) for one in section.fields if one.kind is not Kind.ROWS}
    if finish:
        finish(values, place)
    return None if stops(place.found[before:]) else values


def read_record(section: Section, raw: object, place: Place, finish: Finish | None = None) -> Any:
    """Return a table as its dataclass with the rows inside it, or None after adding findings to the place."""
    before = len(place.found)
    inner = {
        one.attr: tuple(read_rows(one.rows, raw, place))
        for one in section.fields
        if one.rows is not None and isinstance(raw, Mapping)
    }

    def check(values: Values, there: Place) -> None:
        values.update(inner)
        if finish:
            finish(values, there)

    values = read_table(section, raw, place, check)
    return None if values is None or stops(place.found[before:]) else section.record(**values)


def read_rows(section: Section, content: Mapping[str, Any], place: Place, finish: Finish | None = None) -> list[Any]:
    """Return the rows of a kind that could be read, as dataclasses."""
    raws = rows_of(section, content, place)
    records = [
        read_record(section, raw, place.inside((section.key, number), row_label(section.key, raw, number)), finish)
        for number, raw in enumerate(raws)
    ]
    return [one for one in records if one is not None]


def rows_of(section: Section, content: Mapping[str, Any], place: Place) -> list[Any]:
    """Return the raw rows of a kind; says if they are missing, not rows, or share an id."""
    raws = content.get(section.key, [])
    if not isinstance(raws, list):
        place.note("studio.rows-wanted", section.key)
        return []
    if section.needed and not raws:
        place.note("studio.rows-missing", section.key)
    if any(one.key == "id" for one in section.fields):
        _name_doubles(section, raws, place)
    return raws


def row_label(key: str, raw: object, number: int) -> str:
    """Return what a row is called in messages: by its id or name, else by its place in the file."""
    known = (raw.get("id") or raw.get("name") or raw.get("quantity")) if isinstance(raw, Mapping) else None
    return f"{key} {known}" if isinstance(known, str) else f"{key} no. {number + 1}"


def ids_of(content: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """Return the ids of the rows of a kind, of sound and unsound ones alike."""
    rows = content.get(key, [])
    found = [row.get("id") for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []
    return tuple(one for one in found if isinstance(one, str))


def _name_doubles(section: Section, raws: list[Any], place: Place) -> None:
    seen: dict[str, int] = {}
    for number, raw in enumerate(raws):
        known = raw.get("id") if isinstance(raw, Mapping) else None
        if isinstance(known, str) and known and known in seen:
            row = place.inside((section.key, number), row_label(section.key, raw, number))
            first = place.source.line_of((section.key, seen[known]))
            row.note("studio.id-double", "id", id=known, first=first)
        elif isinstance(known, str):
            seen[known] = number


def _name_unknown(section: Section, raw: Mapping[str, Any], place: Place) -> None:
    known = [one.key for one in section.fields]
    for key in raw:
        if key not in known:
            place.note("studio.key-unknown", str(key), known=near(key, known))


def _value(one: Field, raw: Mapping[str, Any], place: Place) -> Any:
    if one.key in raw:
        return read_value(one, raw[one.key], place)
    if one.rule:
        return default_figure(one)
    if one.needed:
        place.note_field("studio.key-missing", one, Level.STOP)
    return one.default
