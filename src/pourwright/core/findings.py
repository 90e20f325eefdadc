"""Findings: what the program noticed, where, why it matters and how to mend it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from pourwright.core import text


class Level(StrEnum):
    """How serious a finding is; the order of the members is the order of printing."""

    STOP = "stop"
    ASK = "ask"
    LOOK = "look"
    NOTE = "note"


@dataclass(frozen=True)
class Finding:
    """One thing noticed in the input or the plan.

    Parameters
    ----------
    code : str
        Stable and documented, ``room.short-name``; the catalogue holds ``<code>.what`` and ``<code>.do_next``,
        and may hold ``<code>.why``.
    level : Level
        ``stop`` and ``ask`` end a command with exit code 1.
    where : str
        The file, key, row, piece, flask or place meant.
    params : mapping
        Values for the blanks of the sentences, formatted for reading.
    sources : tuple of str
        Keys into the source register for the limit used.
    """

    code: str
    level: Level
    where: str
    params: Mapping[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()

    @property
    def what(self) -> str:
        """What was found, with its number and limit."""
        return text.say(f"{self.code}.what", **self.params)

    @property
    def why(self) -> str:
        """Why it matters, or an empty text."""
        key = f"{self.code}.why"
        return text.say(key, **self.params) if text.has(key) else ""

    @property
    def do_next(self) -> str:
        """How to mend it."""
        return text.say(f"{self.code}.do_next", **self.params)

    def as_json(self) -> dict[str, Any]:
        """Return the finding as plain JSON values."""
        return {
            "code": self.code,
            "level": self.level.value,
            "what": self.what,
            "where": self.where,
            "why": self.why,
            "do_next": self.do_next,
            "sources": list(self.sources),
        }


def stops(findings: Iterable[Finding]) -> bool:
    """Return whether any finding stops the work (level stop or ask)."""
    return any(one.level in (Level.STOP, Level.ASK) for one in findings)


def in_order(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings, the most serious first, otherwise in the order given."""
    order = list(Level)
    return sorted(findings, key=lambda one: order.index(one.level))
