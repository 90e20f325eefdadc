"""Units as we read them, against what laws and pages print; each by the id of its row."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pourwright.core.units import convert, read


def _old_sterling() -> float:
    return 1000.0 * (read("11 ozt", "g") + read("2 dwt", "g")) / read("12 ozt", "g")


OURS: Mapping[str, Callable[[], float]] = {
    "old-sterling": _old_sterling,
    "sovereign": lambda: 20 * 12 * read("1 ozt", "grain") / 934.5,
    "troy-ounce": lambda: read("1 ozt", "g"),
    "pennyweight": lambda: read("1 g", "pennyweight"),
    "acetylene": lambda: convert(15, "psi", "kPa"),
    "room-volume": lambda: convert(10000, "ft**3", "m**3"),
    "air-rate": lambda: convert(2000, "ft**3", "m**3"),
    "store-distance": lambda: convert(20, "ft", "m"),
    "fire-radius": lambda: convert(35, "ft", "m"),
    "eyewash-flow": lambda: convert(0.4, "gallon", "liter"),
    "kiln-1350F": lambda: read("1350 F", "degC"),
}
