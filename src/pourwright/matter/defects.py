"""The defect atlas: what a fault of a casting looks like, where it sits, and what tells it from others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from pourwright.matter import _tables


@dataclass(frozen=True)
class Defect:
    """A fault as the atlas describes it: ``looks_like`` and ``tell`` name no cause."""

    id: str
    title: str
    looks_like: str
    where: str
    tell: str
    kind: str
    sources: tuple[str, ...]


def defect_ids() -> tuple[str, ...]:
    """Return the ids of all faults, in the order of the atlas."""
    return tuple(_rows(_tables.folder()))


def defect(key: str) -> Defect:
    """Return a fault by its id, such as ``gas-porosity``.

    Raises
    ------
    DataError
        No such fault; the message names the nearest.
    """
    row = _tables.pick(_rows(_tables.folder()), key, "defect")
    return Defect(key, row["title"], row["statement"], row["where"], row["tell"], row["kind"], tuple(row["source"]))


@lru_cache(maxsize=8)
def _rows(folder: str) -> Mapping[str, Any]:
    return {row["id"]: row for row in _tables.table("defects", folder)["defect"]}
