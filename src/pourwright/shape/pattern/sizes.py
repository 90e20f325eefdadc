"""What a file's numbers may mean: units are stated by the file or by the user, never guessed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.shape.pattern.limits import PatternLimits

# Exact by definition.
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "inch": 25.4, "m": 1000.0}
# Units that only files use to speak of themselves.
MM_PER_STATED_UNIT = {**MM_PER_UNIT, "micron": 0.001, "foot": 304.8}


def settled_units(
    box: NDArray[np.generic], said: str, stated: str, limits: PatternLimits, file: str, default: bool = False
) -> tuple[str, tuple[Finding, ...]]:
    """Return which unit holds when the file may state one and the user may have said one.

    The file's word holds unless it gives a size that no small studio casts and the user's word for this very piece
    gives one; then that does. Where both would do and differ, somebody has to say which is right.

    Parameters
    ----------
    box : array, shape (3,)
        Sides of the box round the pattern, in the file's own numbers.
    said, stated : str
        The user's word and the file's, empty where there is none.
    limits : PatternLimits
        Between which longest sides a size is likely.
    file : str
        For the findings.
    default : bool
        Whether the user's word was meant for files that state nothing. It then gives way to any other, except to
        metres that make no sense: GLB files always say metres, whatever was drawn.
    """
    if not stated or (said and said not in MM_PER_STATED_UNIT):
        return said, ()
    sides = np.asarray(box, dtype=np.float64)
    params = {"file": file, "stated": stated, "said": said, "factor": f"{MM_PER_STATED_UNIT[stated]:g}"}
    params["size"] = _size_text(sides * MM_PER_STATED_UNIT[stated])
    believed = _castable(sides, stated, limits)
    if said in {"", stated} or (default and (believed or stated != "m")):
        note = Finding("shape.units-stated", Level.NOTE, file, params)
        return stated, (note,) if stated != "mm" else ()
    params["other"] = _size_text(sides * MM_PER_STATED_UNIT[said])
    if believed or not _castable(sides, said, limits):
        return said, (Finding("shape.units-differ", Level.ASK, file, params),)
    return said, (Finding("shape.units-overruled", Level.LOOK, file, params),)


def _castable(sides: NDArray[np.float64], units: str, limits: PatternLimits) -> bool:
    return limits.shortest_mm <= float(sides.max()) * MM_PER_STATED_UNIT[units] <= limits.longest_mm


def size_finding(box: NDArray[np.generic], units: str, limits: PatternLimits, file: str) -> Finding | None:
    """Ask when the unit is not stated, not known, or gives a size that no small studio casts.

    Parameters
    ----------
    box : array, shape (3,)
        Sides of the box round the pattern, in the file's own numbers.
    units : str
        What the numbers mean, by the file's word or the user's; empty if nothing was said.
    limits : PatternLimits
        Between which longest sides a size is likely.
    file : str
        For the finding.

    Returns
    -------
    Finding or None
        Level ``ask`` when the pattern must not be measured yet, ``look`` for a very small one.
    """
    sides = np.asarray(box, dtype=np.float64)
    params = {"file": file, "units": units, "numbers": _sides_text(sides), "candidates": _candidates(sides, limits)}
    if not units:
        return Finding("shape.units-missing", Level.ASK, file, params)
    if units not in MM_PER_STATED_UNIT:
        return Finding("shape.units-unknown", Level.ASK, file, params | {"known": ", ".join(MM_PER_UNIT)})
    longest_mm = float(sides.max()) * MM_PER_STATED_UNIT[units]
    params |= {"size": _size_text(sides * MM_PER_STATED_UNIT[units])}
    if longest_mm > limits.longest_mm:
        return Finding("shape.size-large", Level.ASK, file, params | {"limit": show(limits.longest_mm, "mm", 0)})
    if longest_mm < limits.shortest_mm:
        return Finding("shape.size-small", Level.LOOK, file, params | {"limit": show(limits.shortest_mm, "mm", 0)})
    return None


def _candidates(sides: NDArray[np.float64], limits: PatternLimits) -> str:
    return "; ".join(_candidate(unit, sides * factor, limits) for unit, factor in MM_PER_UNIT.items())


def _candidate(unit: str, sides_mm: NDArray[np.float64], limits: PatternLimits) -> str:
    likely = limits.likely_mm <= sides_mm.max() <= limits.longest_mm
    return f"{unit} = {_size_text(sides_mm)}" + (" (*)" if likely else "")


def _size_text(sides_mm: NDArray[np.float64]) -> str:
    return _sides_text(sides_mm) + "\u00a0mm"


def _sides_text(sides: NDArray[np.float64]) -> str:
    return " \u00d7 ".join(_short(float(side)) for side in sides)


def _short(number_ratio: float) -> str:
    digits = max(0, 2 - int(np.floor(np.log10(number_ratio)))) if number_ratio > 0 else 0
    return f"{number_ratio:,.{min(digits, 4)}f}".replace(",", "\u2009")
