"""Where in a file a reader stands, and the findings it has collected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from typing import Any

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.studio.fields import Field
from pourwright.studio.toml_source import KeyPath, TomlSource

# A longer list is not read by anybody.
_MOST_NAMED = 12


@dataclass(frozen=True)
class Place:
    """A table of a file.

    Parameters
    ----------
    source : TomlSource
        The file.
    path : tuple of str and int
        Keys and row numbers that lead to the table.
    label : str
        The same for a person, for example ``flask FL-03``; empty at the top of the file.
    decimal_comma : bool
        Whether decimals are written with a comma.
    found : list of Finding
        Shared by all places of one reading: every reader adds what it finds.
    """

    source: TomlSource
    path: KeyPath = ()
    label: str = ""
    decimal_comma: bool = False
    found: list[Finding] = field(default_factory=list)

    def inside(self, path: KeyPath, label: str) -> Place:
        """Return the place of a table further in."""
        return replace(self, path=(*self.path, *path), label=label)

    def says(self, key: str) -> bool:
        """Return whether the table has a key, sound or not."""
        table: Any = self.source.content
        for part in self.path:
            table = table[part]
        return key in table

    def spoken(self, key: str) -> str:
        """Return the key for a person, for example ``flask FL-03, diameter``."""
        return f"{self.label}, {key}" if self.label and key else self.label or key

    def origin(self, key: str) -> str:
        """Return what a figure read here says about where it came from."""
        return f"{self.source.name}: {self.spoken(key)}"

    def where(self, key: str) -> str:
        """Return file, line and key."""
        line = self.source.line_of((*self.path, *key.split("."))) if key else self.source.line_of(self.path)
        spot = f"{self.source.name}, line {line}" if line else self.source.name
        spoken = self.spoken(key)
        return f"{spot}: {spoken}" if spoken else spot

    def note(self, code: str, key: str, level: Level = Level.STOP, **params: object) -> None:
        """Add a finding about a key of this table."""
        params = {"name": key, "file": self.source.name, "row": self.label or self.source.name, **params}
        self.found.append(Finding(code, level, self.where(key), params))

    def note_field(self, code: str, one: Field, level: Level = Level.STOP, **params: object) -> None:
        """Add a finding about a field, with a well-written example."""
        self.note(code, one.key, level, **{"example": f"{one.key} = {one.shown}", **params})


def near(word: object, known: Sequence[str]) -> str:
    """Return a sentence that names the nearest known words, else all of them, else that there are none."""
    close = get_close_matches(str(word), known, n=3, cutoff=0.6)
    if close:
        return say("studio.near", words=", ".join(close))
    if len(known) > _MOST_NAMED:
        return say("studio.known-some", words=", ".join(known[:_MOST_NAMED]))
    if known:
        return say("studio.known", words=", ".join(known))
    return say("studio.none-known")
