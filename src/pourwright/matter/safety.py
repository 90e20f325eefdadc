"""Safety prompts: reminders for the person in charge, never a ruling."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pourwright.matter import _tables


@dataclass(frozen=True)
class Prompt:
    """A safety prompt.

    Parameters
    ----------
    id, topic, statement : str
        The prompt in our own words.
    value : float or None
        Its figure, in ``unit``.
    unit : str
        As printed; empty without a figure.
    kind : str
        How it is known, one of the kinds of :mod:`pourwright.core.sources`.
    citation : str
        The law or standard meant, or empty.
    sources : tuple of str
        Keys into the source register.
    note : str
        What is left open.
    strictness : str
        regulation, stop, check, guidance or notice.
    """

    id: str
    topic: str
    statement: str
    value: float | None
    unit: str
    kind: str
    citation: str
    sources: tuple[str, ...]
    note: str = ""
    strictness: str = ""


def prompt_ids() -> tuple[str, ...]:
    """Return the ids of all prompts."""
    return tuple(_rows(_tables.folder()))


def topics() -> tuple[str, ...]:
    """Return the topics in the order of the table."""
    return tuple(dict.fromkeys(row["topic"] for row in _rows(_tables.folder()).values()))


def prompt(key: str) -> Prompt:
    """Return a prompt by its id, such as ``quench.scald``.

    Raises
    ------
    DataError
        No such prompt; the message names the nearest.
    """
    row = _tables.pick(_rows(_tables.folder()), key, "safety prompt")
    value = row.get("value")
    return Prompt(
        key,
        row["topic"],
        row["statement"],
        None if value is None else float(value),
        row.get("unit", ""),
        row["kind"],
        row.get("citation", ""),
        tuple(row["source"]),
        row.get("note", ""),
        row["strictness"],
    )


def prompts(topic: str) -> tuple[Prompt, ...]:
    """Return all prompts of a topic in the order of the table.

    Raises
    ------
    DataError
        No such topic; the message names the nearest.
    """
    _tables.pick(dict.fromkeys(topics(), ""), topic, "safety topic")
    return tuple(prompt(key) for key, row in _rows(_tables.folder()).items() if row["topic"] == topic)


@lru_cache(maxsize=8)
def _rows(folder: str) -> Mapping[str, Any]:
    return {row["id"]: row for row in _tables.table("safety", folder)["prompt"]}
