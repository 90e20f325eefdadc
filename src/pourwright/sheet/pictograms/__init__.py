"""Small drawings of our own that stand before a caution, one for each topic of the safety table."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files

_KIND = ".svg"


def pictogram(topic: str) -> str:
    """Return the file name of a topic's drawing, or an empty text where it has none."""
    name = topic.replace(" ", "-") + _KIND
    return name if name in pictograms() else ""


@lru_cache(maxsize=1)
def pictograms() -> dict[str, bytes]:
    """Return every drawing by its file name."""
    folder = files("pourwright.sheet.pictograms")
    return {one.name: one.read_bytes() for one in sorted(folder.iterdir(), key=lambda one: one.name)
            if one.name.endswith(_KIND)}  # fmt: skip
