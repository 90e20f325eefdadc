"""Workshop rules, burnout programmes, and how holds grow with the flask."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pourwright.matter import _tables


@dataclass(frozen=True)
class Rule:
    """A workshop rule.

    Parameters
    ----------
    id, statement : str
        The rule in our own words.
    value, low, high : float or None
        A single figure, or the span's ends; in ``unit``.
    unit : str
        As printed, for example ``g water / 100 g powder``; empty for a rule without figures.
    applies_to : str
        Material, flask or machine meant.
    strictness : str
        hard (refuse), check (warn), advice or fact.
    sources : tuple of str
        Keys into the source register.
    kind : str
        How the figure is known, one of the kinds of :mod:`pourwright.core.sources`.
    note : str
        Where sources disagree, and what is left open.
    """

    id: str
    statement: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    applies_to: str
    strictness: str
    sources: tuple[str, ...]
    kind: str
    note: str = ""


@dataclass(frozen=True)
class ProgrammeStep:
    """Hold a temperature [degC] for a time [h]."""

    hold_C: float
    hold_h: float


@dataclass(frozen=True)
class Programme:
    """A burnout programme, for a flask of the reference diameter of :func:`hold_scaling`."""

    id: str
    applies_to: str
    steps: tuple[ProgrammeStep, ...]
    note: str
    sources: tuple[str, ...]
    kind: str = ""


@dataclass(frozen=True)
class HoldScaling:
    """How holds below the top soak grow with the flask's diameter.

    Parameters
    ----------
    reference_diameter_mm : float
        Diameter that the programmes are written for [mm].
    exponent_ratio : float
        Power of the diameter over the reference.
    floor_ratio : float
        Least share of a hold that a smaller flask still gets.
    kind : str
        The weakest kind among the three.
    sources : tuple of str
        Keys into the source register.
    """

    reference_diameter_mm: float
    exponent_ratio: float
    floor_ratio: float
    kind: str
    sources: tuple[str, ...] = ()


def rule_ids() -> tuple[str, ...]:
    """Return the ids of all rules."""
    return tuple(_rows("rule", _tables.folder()))


def rule(key: str) -> Rule:
    """Return a workshop rule by its id, such as ``burn.max``.

    Raises
    ------
    DataError
        No such rule; the message names the nearest.
    """
    row = _tables.pick(_rows("rule", _tables.folder()), key, "rule")
    value, low, high = (None if row.get(name) is None else float(row[name]) for name in ("value", "low", "high"))
    return Rule(
        key,
        row["statement"],
        value,
        low,
        high,
        row.get("unit", ""),
        row["applies_to"],
        row["strictness"],
        tuple(row["source"]),
        row["kind"],
        row.get("note", ""),
    )


def programme_ids() -> tuple[str, ...]:
    """Return the ids of all burnout programmes."""
    return tuple(_rows("programme", _tables.folder()))


def programme(key: str) -> Programme:
    """Return a burnout programme by its id, such as ``prog.wax.standard``.

    Raises
    ------
    DataError
        No such programme; the message names the nearest.
    """
    row = _tables.pick(_rows("programme", _tables.folder()), key, "burnout programme")
    steps = tuple(ProgrammeStep(float(step["hold_C"]), float(step["hold_h"])) for step in row["steps"])
    return Programme(key, row["applies_to"], steps, row["note"], tuple(row["source"]), row["kind"])


def hold_scaling() -> HoldScaling:
    """Return how holds below the top soak grow with the diameter; they grow without an upper end."""
    row = _tables.table("practice", _tables.folder())["scaling"]
    parts = (row["reference_diameter"], row["exponent"], row["floor"])
    sources = tuple(dict.fromkeys(key for part in parts for key in part["source"]))
    diameter_mm, exponent, floor = (float(part["value"]) for part in parts)
    return HoldScaling(diameter_mm, exponent, floor, row["floor"]["kind"], sources)


@lru_cache(maxsize=16)
def _rows(group: str, folder: str) -> Mapping[str, Any]:
    return {row["id"]: row for row in _tables.table("practice", folder)[group]}
