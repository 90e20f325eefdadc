"""The hollow of a flask as a filling run takes it: tanks behind their gates, with walls, sections and ways out for gas.

The sprue's tank is button and sprue together; each piece is a tank of its own, with the gate that leads to it. How a
flask is turned about its axis in the cradle is not known: its x is taken across the arm and its y upward.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.cavity import find_neighbours, touching_sprue
from pourwright.physics.fill.problem import Cavity, Gate, Sprue, round_area_m2
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.throw_voxels import Voxels, cut_voxels
from pourwright.simulate.tree_solid import BUTTON, GATE, SPRUE, Bar

Floats = NDArray[np.float64]
Whole = NDArray[np.int32]

_M_MM = 1e-3
# Volume over wall is half the thickness of a plate and a sixth of a ball's; nothing lies outside these.
_LEAST_RATIO, _MOST_RATIO = 1.0 / 6.0, 1.0 / 2.0
# Volume and wall are spread over so many steps from cube to cube before they are divided: about a thickness wide.
_FEWEST_SPREADS, _MOST_SPREADS = 4, 60


@dataclass(frozen=True, eq=False)
class Hollow:
    """The hollow of one flask, its gates in the order of the pieces, and the cubes it was made from.

    ``mouth_m`` is where the flask's mouth lies along the arm, from the hinge [m].
    """

    voxels: Voxels
    cavity: Cavity
    gates: tuple[Gate, ...]
    sprue: Sprue
    mouth_m: float


def hollow_of(job: FlaskJob, side_mm: float, mouth_m: float) -> Hollow:
    """Return the hollow of a flask.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    side_mm : float
        Side of a cube [mm].
    mouth_m : float
        Where the flask's mouth lies along the arm, from the hinge [m]; 0 for a flask that stands.
    """
    return place_hollow(job, cut_voxels(job, side_mm), mouth_m)


def place_hollow(job: FlaskJob, voxels: Voxels, mouth_m: float) -> Hollow:
    """Return the hollow made of cubes that were cut before, with the flask's mouth at a place along the arm [m]."""
    pieces = tuple(job.solid.pieces)
    tank = _tanks(voxels, pieces)
    neighbours = find_neighbours(voxels.cell)
    sprue = next(one for one in job.solid.bars if one.name == SPRUE)
    cavity = Cavity(
        place_m=_place_m(voxels.centre_mm, mouth_m),
        side_m=_M_MM * voxels.side_mm,
        neighbours=neighbours,
        volume_m3=_M_MM**3 * voxels.volume_mm3,
        wall_m2=_M_MM**2 * voxels.wall_mm2,
        modulus_m=_M_MM * _modulus_mm(voxels, neighbours, job.solid.bars),
        vent_m=_M_MM * _vent_mm(voxels, job.height_mm),
        tank=tank,
        names=(SPRUE, *pieces),
        inlet=_inlet(voxels, sprue),
    )
    gates = tuple(_gate(job, piece, number, cavity, voxels, mouth_m) for number, piece in enumerate(pieces, 1))
    width_m = 2 * _M_MM * sprue.radius_mm
    return Hollow(voxels, cavity, gates, Sprue(round_area_m2(width_m), width_m), mouth_m)


def _place_m(points_mm: Floats, mouth_m: float) -> Floats:
    """Return places along, across and up from those in the frame of the flask."""
    x, y, z = (_M_MM * points_mm[..., axis] for axis in range(3))
    return np.ascontiguousarray(np.stack([mouth_m + z, x, y], axis=-1))


def _tanks(voxels: Voxels, pieces: tuple[str, ...]) -> Whole:
    """Return the tank of each cube: 0 for button and sprue, else the place of its piece, its gate with it."""
    of_name = {BUTTON: 0, SPRUE: 0}
    for number, piece in enumerate(pieces, 1):
        of_name |= {piece: number, f"{GATE}{piece}": number}
    of_part = np.array([of_name[name] for name in voxels.names], dtype=np.int32)
    return np.asarray(of_part[voxels.part], dtype=np.int32)


def _modulus_mm(voxels: Voxels, neighbours: Whole, bars: tuple[Bar, ...]) -> Floats:
    """Return volume over wall of the section round each cube [mm]; of a bar a quarter of its width."""
    thickness_mm = voxels.thickness_mm
    spreads = int(np.clip((np.median(thickness_mm) / voxels.side_mm) ** 2, _FEWEST_SPREADS, _MOST_SPREADS))
    volume_mm3, wall_mm2 = voxels.volume_mm3, voxels.wall_mm2
    for _ in range(spreads):
        volume_mm3, wall_mm2 = _spread(volume_mm3, neighbours), _spread(wall_mm2, neighbours)
    modulus_mm = volume_mm3 / np.maximum(wall_mm2, 1e-9)
    modulus_mm = np.clip(modulus_mm, _LEAST_RATIO * thickness_mm, _MOST_RATIO * thickness_mm)
    for bar in bars:
        modulus_mm[voxels.of_part(bar.name)] = bar.radius_mm / 2
    return np.asarray(modulus_mm)


def _spread(values: Floats, neighbours: Whole) -> Floats:
    """Return values after each cube has passed a seventh to each neighbour and taken its; the sum stays."""
    there = neighbours >= 0
    taken = np.where(there, values[neighbours], 0.0).sum(axis=1)
    return np.asarray(values + (taken - values * there.sum(axis=1)) / 7)


def _vent_mm(voxels: Voxels, height_mm: float) -> Floats:
    """Return the mould between each cube and the nearer end of the flask [mm]: no gas goes through steel."""
    from_mouth_mm = voxels.centre_mm[:, 2]
    return np.asarray(np.maximum(np.minimum(from_mouth_mm, height_mm - from_mouth_mm), voxels.side_mm / 2))


def _inlet(voxels: Voxels, sprue: Bar) -> Whole:
    """Return the cubes on the mouth of the flask as wide as the sprue, where the stream strikes."""
    first_mm = voxels.centre_mm[:, 2].min() + 0.75 * voxels.side_mm
    on_face = voxels.centre_mm[:, 2] <= first_mm
    from_axis_mm = np.hypot(voxels.centre_mm[:, 0], voxels.centre_mm[:, 1])
    wide_mm = max(sprue.radius_mm, from_axis_mm[on_face].min() + voxels.side_mm)
    return np.flatnonzero(on_face & (from_axis_mm <= wide_mm)).astype(np.int32)


def _gate(job: FlaskJob, piece: str, tank: int, cavity: Cavity, voxels: Voxels, mouth_m: float) -> Gate:
    bars = {one.name: one for one in job.solid.bars}
    own = bars.get(f"{GATE}{piece}")
    bar = own or bars[SPRUE]  # the sprue is the gate of a lone piece
    start_mm = bar.start_mm if own else bar.end_mm - bar.sunk_mm * _along(bar)
    length_mm = float(np.linalg.norm(bar.end_mm - bar.start_mm)) - bar.sunk_mm if own else 0.0
    voxels_in = _entry(cavity, tank, voxels, start_mm, f"{GATE}{piece}" if own else piece)
    return Gate(tank, voxels_in, round_area_m2(2 * _M_MM * bar.radius_mm), _M_MM * length_mm,
                _place_m(start_mm, mouth_m))  # fmt: skip


def _along(bar: Bar) -> Floats:
    way_mm = bar.end_mm - bar.start_mm
    return np.asarray(way_mm / np.linalg.norm(way_mm))


def _entry(cavity: Cavity, tank: int, voxels: Voxels, start_mm: Floats, part: str) -> Whole:
    """Return the cubes of a tank that share a face with the sprue; of its gate alone if any of those do."""
    touching = touching_sprue(cavity, tank)
    of_gate = voxels.of_part(part)[touching] if part in voxels.names else np.zeros(len(touching), dtype=bool)
    if len(touching):
        return touching[of_gate] if of_gate.any() else touching
    inside = np.flatnonzero(cavity.tank == tank)
    nearest = int(np.argmin(((voxels.centre_mm[inside] - start_mm) ** 2).sum(axis=1)))
    return np.asarray(inside[[nearest]], dtype=np.int32)
