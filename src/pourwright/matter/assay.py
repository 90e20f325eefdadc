"""Who vouches for the fineness of a piece before it is sold, country by country: questions, never rulings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pourwright.core.interval import Interval
from pourwright.matter import _tables

ASK = "default"


@dataclass(frozen=True)
class AssayQuestion:
    """What to ask in a country before a piece is sold.

    Parameters
    ----------
    id, title : str
        The country.
    control : str
        How pieces are controlled: compulsory, voluntary, marking (a mark is needed, no assay) or unknown.
    statement : str
        The question in our own words.
    limits_g : mapping of str to Interval
        By metal (``Ag``, ``Au``): mass of metal in a piece above which it applies [g].
    kind : str
        How it is known, one of the kinds of :mod:`pourwright.core.sources`.
    sources : tuple of str
        Keys into the source register.
    """

    id: str
    title: str
    control: str
    statement: str
    limits_g: Mapping[str, Interval]
    kind: str
    sources: tuple[str, ...]


def assay_countries() -> tuple[str, ...]:
    """Return the ids of the countries in the table, without the question for all others."""
    return tuple(one for one in _rows(_tables.folder()) if one != ASK)


def assay_question(country: str) -> AssayQuestion:
    """Return what to ask in a country; the question for all others where the table does not hold it."""
    rows = _rows(_tables.folder())
    row = rows.get(country, rows[ASK])
    limits = {one["metal"]: Interval.exact(float(one["value"]), "g", tuple(one["source"]), one["kind"])
              for one in row["limits"]}  # fmt: skip
    return AssayQuestion(
        row["id"], row["title"], row["control"], row["statement"], limits, row["kind"], tuple(row["source"])
    )


def convention() -> tuple[str, tuple[str, ...]]:
    """Return the sentence about the convention of 1972, and its sources."""
    row = _tables.table("assay", _tables.folder())["convention"]
    return row["statement"], tuple(row["source"])


@lru_cache(maxsize=8)
def _rows(folder: str) -> Mapping[str, Any]:
    return {row["id"]: row for row in _tables.table("assay", folder)["country"]}
