"""The metal of a flask cut into small cubes, each with its part of the tree, wall, thickness and way out for the gas.

Frame of the flask: x and y across, z from its mouth inward, which on the arm is outward.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.fractions import partial_volumes
from pourwright.shape.pattern.rays import Rays
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.spread import Spread
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.regions import find_regions

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# A cube that holds less of the metal than this passes its share on to the nearest one that holds more.
_LEAST_FRAC = 0.25
# Points on the surface for each square as wide as a cube, and the fewest and most of all.
_POINTS_PER_SQUARE = 2.0
_FEWEST_POINTS, _MOST_POINTS = 4_000, 400_000
# A cube is as thick as the thinnest place among so many points of the surface beside it: a ray that enters a plate by
# its edge runs far along it, its neighbours on the faces do not.
_BESIDE_COUNT = 4


@dataclass(frozen=True, eq=False)
class Voxels:
    """Cubes that hold metal, in no particular order.

    Parameters
    ----------
    corner_mm : array, shape (3,)
        Lowest corner of the grid that they lie in [mm].
    side_mm : float
        Their side [mm].
    cell : array, shape (n, 3)
        Their places in that grid.
    centre_mm : array, shape (n, 3)
        Their middles [mm].
    volume_mm3 : array, shape (n,)
        Metal in each; together it is the metal of the tree [mm3].
    wall_mm2 : array, shape (n,)
        Surface of the mould that each answers for; together it is that of the tree [mm2].
    thickness_mm : array, shape (n,)
        Wall or bar that each lies in [mm].
    part : array, shape (n,)
        Place in ``names`` of the part of the tree.
    names : tuple of str
        ``button``, ``sprue``, ``gate:PIECE`` and pieces.
    """

    corner_mm: Floats
    side_mm: float
    cell: Ints
    centre_mm: Floats
    volume_mm3: Floats
    wall_mm2: Floats
    thickness_mm: Floats
    part: NDArray[np.int32]
    names: tuple[str, ...]

    def of_part(self, name: str) -> NDArray[np.bool_]:
        """Return whether each cube belongs to a part of the tree."""
        return np.asarray(self.part == self.names.index(name))


def cut_voxels(job: FlaskJob, side_mm: float) -> Voxels:
    """Cut the metal of a flask into cubes.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    side_mm : float
        Side of a cube [mm]; no more than half the thinnest wall, or that wall may fall apart.
    """
    mesh = job.solid.mesh
    grid = partial_volumes(mesh.vertices_mm, mesh.faces, side_mm)
    share = grid.filled_frac
    cell = np.argwhere(share >= _LEAST_FRAC)
    centre_mm = grid.corner_mm + (cell + 0.5) * side_mm
    crumbs = np.argwhere((share > 0) & (share < _LEAST_FRAC))
    crumbs_mm = grid.corner_mm + (crumbs + 0.5) * side_mm
    nearest = _nearest(centre_mm, crumbs_mm)
    volume_mm3 = share[tuple(cell.T)] + np.bincount(nearest, share[tuple(crumbs.T)], len(cell))
    wall_mm2, thickness_mm = _walls(mesh, centre_mm, side_mm)
    regions = find_regions(1e-3 * centre_mm, job)
    return Voxels(
        grid.corner_mm, side_mm, cell, centre_mm, volume_mm3 * side_mm**3, wall_mm2, thickness_mm,
        regions.of_cell, regions.names,
    )  # fmt: skip


def _nearest(centre_mm: Floats, points_mm: Floats) -> Ints:
    from scipy.spatial import cKDTree

    return np.asarray(cKDTree(centre_mm).query(points_mm)[1], dtype=np.int64)


def _walls(mesh: Mesh, centre_mm: Floats, side_mm: float) -> tuple[Floats, Floats]:
    """Return the surface that each cube answers for [mm2], and how thick the metal is there [mm]."""
    from scipy.spatial import cKDTree

    spread = Spread(mesh)
    wanted = _POINTS_PER_SQUARE * spread.area_mm2 / side_mm**2
    count = int(np.clip(wanted, _FEWEST_POINTS, _MOST_POINTS))
    points_mm, outward = spread.points(count)
    across_mm = Rays(mesh).inward_mm(points_mm, outward)
    points_count = np.bincount(_nearest(centre_mm, points_mm), minlength=len(centre_mm))
    _, beside = cKDTree(points_mm).query(centre_mm, k=_BESIDE_COUNT)
    return np.asarray(points_count * (spread.area_mm2 / count), dtype=np.float64), across_mm[beside].min(axis=1)
