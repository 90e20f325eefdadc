"""How fine a grid: from the thinnest wall, the memory there is and the time granted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show

# The first answer comes on a grid this fine, or with two cells across the thinnest wall, whichever is finer.
FIRST_MM = 1.0
_ACROSS_THIN_COUNT = 2
# The refined answer has this many cells across the thinnest wall, and is no finer than the laws of metal deserve.
_ACROSS_FINE_COUNT = 4
FINEST_MM = 0.15
# Bytes for each cell of the grid while a run lasts, cutting the cells included. Measured on the demo's first flask from
# 0.11 to 0.79 million cells: 62 to 64 in arrays that live through the run, 160 at the peak; the rest is to be sure.
BYTES_PER_CELL = 250.0
_SHARE_OF_MEMORY = 0.6
_COARSER_RATIO = 1.1
# Share of the metal's surface in cells thicker than their wall. Measured on a tilted plate in cells of 1 mm: up to an
# eighth the freezing time is within 3 %, from a quarter on it is wrong by 3 to 50 %.
_FEW_THIN_FRAC, _MANY_THIN_FRAC = 0.01, 0.2


@dataclass(frozen=True)
class Pace:
    """What a run takes: ``wall_s`` for a million cells, growing with the cells to the power ``power_ratio``.

    The defaults were measured on one core of a busy machine, on the demo's first flask followed for an hour: 3.1, 7.6
    and 28.3 s of that core for 0.11, 0.27 and 0.79 million cells.
    """

    million_s: float = 36.0
    power_ratio: float = 1.12

    def wall_s(self, cells_count: int) -> float:
        """Return the time by the clock for so many cells [s]."""
        return float(self.million_s * (cells_count / 1e6) ** self.power_ratio)

    def measured(self, cells_count: int, took_s: float) -> Pace:
        """Return the pace of a run that took a time [s]."""
        return Pace(took_s / (cells_count / 1e6) ** self.power_ratio, self.power_ratio)


@dataclass(frozen=True)
class Fineness:
    """A side of cells, with what it takes; findings say where it is coarser than wanted."""

    side_mm: float
    cells_count: int
    findings: tuple[Finding, ...]


def first_side_mm(thinnest_mm: float) -> float:
    """Return the side of the cells for a first answer [mm]."""
    return min(FIRST_MM, max(thinnest_mm / _ACROSS_THIN_COUNT, FINEST_MM))


def fine_side_mm(thinnest_mm: float) -> float:
    """Return the side of the cells for a refined answer [mm]."""
    return max(min(first_side_mm(thinnest_mm) / 2, thinnest_mm / _ACROSS_FINE_COUNT), FINEST_MM)


def choose_side(
    wanted_mm: float,
    thinnest_mm: float,
    cells_at: Callable[[float], int],
    memory_bytes_count: int | None,
    where: str,
    granted_s: float | None = None,
    pace: Pace | None = None,
) -> Fineness:
    """Return the finest side no finer than wanted that memory and time allow.

    Parameters
    ----------
    wanted_mm, thinnest_mm : float
        Side wished for, and thinnest wall of the metal [mm].
    cells_at : callable
        Number of cells of the grid with a side [mm].
    memory_bytes_count : int or None
        Memory to be had; None if nobody knows.
    where : str
        The flask, for findings.
    granted_s : float or None
        Time for the run by the clock [s]; None takes what it takes.
    pace : Pace or None
        What a run takes.

    Returns
    -------
    Fineness
        With a finding that stops where the thinnest wall would be thinner than a cell: no number then.
    """
    room_count = float("inf") if memory_bytes_count is None else _SHARE_OF_MEMORY * memory_bytes_count / BYTES_PER_CELL
    pace = pace or Pace()
    side_mm, short_of = wanted_mm, ""
    while side_mm < 100 * wanted_mm:
        count = cells_at(side_mm)
        in_room, in_time = count <= room_count, granted_s is None or pace.wall_s(count) <= granted_s
        if in_room and in_time:
            break
        short_of = short_of or ("time" if in_room else "memory")
        side_mm *= _COARSER_RATIO
    return Fineness(side_mm, count, _coarser(side_mm, wanted_mm, thinnest_mm, short_of, where))


def thin_places(thin_frac: float, side_mm: float, where: str) -> tuple[Finding, ...]:
    """Return what to say where walls or gaps are thinner than a cell; it stops where that is much of the metal.

    Parameters
    ----------
    thin_frac : float
        Share of the metal's surface in such cells, as a fraction.
    side_mm : float
        Side of the cells [mm].
    where : str
        The flask.
    """
    params = {"share": show(100 * thin_frac, "%", 0), "side": show(side_mm, "mm", 2)}
    if thin_frac > _MANY_THIN_FRAC:
        return (Finding("simulate.thin-throughout", Level.STOP, where, params),)
    return (Finding("simulate.thin-places", Level.LOOK, where, params),) if thin_frac > _FEW_THIN_FRAC else ()


def _coarser(side_mm: float, wanted_mm: float, thinnest_mm: float, short_of: str, where: str) -> tuple[Finding, ...]:
    params = {"side": show(side_mm, "mm", 2), "wanted": show(wanted_mm, "mm", 2), "wall": show(thinnest_mm, "mm", 2)}
    if side_mm > thinnest_mm and short_of == "memory":
        return (Finding("simulate.wall-under-cell-memory", Level.STOP, where, params),)
    if side_mm > thinnest_mm:
        code = "simulate.wall-under-cell" if short_of == "time" else "simulate.wall-under-side"
        return (Finding(code, Level.STOP, where, params),)
    if short_of == "memory":
        return (Finding("simulate.coarser-memory", Level.LOOK, where, params),)
    return (Finding("simulate.coarser-time", Level.NOTE, where, params),) if short_of == "time" else ()


def memory_bytes_count() -> int | None:
    """Return the memory that is free for use, or None where the system does not say."""
    try:
        lines = Path("/proc/meminfo").read_text("ascii").splitlines()
        kib = next(line.split()[1] for line in lines if line.startswith("MemAvailable:"))
        return 1024 * int(kib)
    except (OSError, StopIteration, ValueError):
        return None
