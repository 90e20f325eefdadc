"""How small the cubes of a filling run are: from the thinnest wall, the memory there is and the time granted."""

from __future__ import annotations

from pourwright.simulate.job import FlaskJob
from pourwright.simulate.resolution import FINEST_MM, Fineness, Pace, choose_side

# So many cubes across the thinnest wall: then the volume behind each gate is right to a per cent.
_ACROSS_COUNT = 3
# The grid that the cubes are cut from holds so many numbers at most, for each cube of metal the rest is air.
_MOST_GRID_COUNT = 30_000_000


def cubes_count(job: FlaskJob, side_mm: float) -> int:
    """Return about how many cubes of a side [mm] hold the metal of a flask."""
    return int(1.15 * job.solid.volume_mm3 / side_mm**3) + 1


def fill_side(
    job: FlaskJob, granted_s: float, pace: Pace, memory_bytes_count: int | None, wanted_mm: float | None = None
) -> Fineness:
    """Return the side of the cubes that thinnest wall, memory and time allow.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    granted_s : float
        Time by the clock [s].
    pace : Pace
        What all runs asked for take together.
    memory_bytes_count : int or None
        Memory to be had; None if nobody knows.
    wanted_mm : float or None
        Side wished for [mm]; what suits the thinnest wall unless given.
    """
    wanted = wanted_mm or max(job.thinnest_mm / _ACROSS_COUNT, FINEST_MM)
    low_mm, high_mm = job.solid.mesh.vertices_mm.min(axis=0), job.solid.mesh.vertices_mm.max(axis=0)
    room_mm = float((float((high_mm - low_mm).prod()) / _MOST_GRID_COUNT) ** (1 / 3))
    return choose_side(
        max(wanted, room_mm), job.thinnest_mm, lambda side_mm: cubes_count(job, side_mm), memory_bytes_count, job.id,
        granted_s, pace,
    )  # fmt: skip
