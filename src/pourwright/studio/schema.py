"""JSON Schemas of our three files, made from the one table of keys; dates are texts there, as JSON has none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pourwright.core.text import say
from pourwright.studio.fields import Field, Kind, Section
from pourwright.studio.keys import FILES

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_AMOUNT: Schema = {"type": "string", "pattern": r"^.*\d.*$", "minLength": 1}


def schemas() -> dict[str, Schema]:
    """Return the schema of each file by its name without ending: ``studio``, ``calibration``, ``day``."""
    return {name: {"$schema": DIALECT, "title": f"{name}.toml", **_section(top)} for name, top in FILES.items()}


def _section(section: Section) -> Schema:
    return {
        "type": "object",
        "description": say(section.about),
        "properties": {one.key: _field(one) for one in section.fields},
        "required": [one.key for one in section.fields if one.needed],
        "additionalProperties": False,
    }


def _field(one: Field) -> Schema:
    described: Schema = {"description": say(one.about)}
    if one.rule:
        described["description"] += " " + say("studio.default-rule", rule=one.rule)
    elif not one.needed and one.default not in (None, "", ()):
        described["default"] = list(one.default) if isinstance(one.default, tuple) else one.default
    return {**described, **_SHAPES[one.kind](one)}


def _number(one: Field) -> Schema:
    amount = {**_AMOUNT, "examples": [one.shown.strip('"')]} if one.shown.startswith('"') else _AMOUNT
    ends = dict.fromkeys(("best", "low", "high"), _AMOUNT)
    span = {"type": "object", "properties": ends, "required": ["low", "high"], "additionalProperties": False}
    return {"anyOf": [amount, span]}


def _rows(one: Field) -> Schema:
    if one.rows is None:
        raise ValueError(one.key)
    inner = _section(one.rows)
    if not one.rows.many:
        return inner
    least = {"minItems": 1} if one.needed else {}
    return {"type": "array", "items": inner, **least}


def _texts(one: Field) -> Schema:
    item: Schema = {"type": "string", "enum": list(one.choices)} if one.choices else {"type": "string"}
    return {"type": "array", "items": item, "uniqueItems": True}


_SHAPES: Mapping[Kind, Callable[[Field], Schema]] = {
    Kind.TEXT: lambda one: {"type": "string", "minLength": int(one.needed)},
    Kind.NUMBER: _number,
    Kind.MEASURED: lambda _: {"anyOf": [_AMOUNT, {"type": "number"}]},
    Kind.COUNT: lambda one: {"type": "integer", "minimum": int(one.least)},
    Kind.FLAG: lambda _: {"type": "boolean"},
    Kind.CHOICE: lambda one: {"type": "string", "enum": list(one.choices)},
    Kind.TEXTS: _texts,
    Kind.POINT: lambda _: {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
    Kind.DATE: lambda _: {"type": "string", "format": "date"},
    Kind.CLOCK: lambda _: {"type": "string", "pattern": r"^\d{1,2}:\d{2}"},
    Kind.MOMENT: lambda _: {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}"},
    Kind.ROWS: _rows,
}
