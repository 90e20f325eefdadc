"""Wall thickness, point by point over the surface, and the thinnest wall.

Two measures are joined. A ray inward finds the opposite side; it is exact on smooth walls but runs far along a wall
that it enters by its edge. The largest ball that touches the surface from inside and holds the point within 1.45 of
its radius finds the wall there (a square edge lies 1.414 radii from the ball that fills it); it would reach from a
thick body into a thin fin, where the ray is short. The smaller of the two is the wall. Corners sharper than a right
angle show thin, and are; but only where the thickness stays nearly even over a place as wide as it is thick is it a
wall, so that a sharp edge is no thin wall until it is sharper than about 33 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern import mass
from pourwright.shape.pattern.leaves import leaves_of
from pourwright.shape.pattern.rays import Rays
from pourwright.shape.pattern.report import Mesh, Wall
from pourwright.shape.pattern.topology import neighbour_lists

BALL_REACH_RATIO = 1.45
MOST_POINTS = 20_000
_FEWEST_POINTS = 4_000
# Points lie at most this share of the thin walls apart (the second percentile of the first rays), up to the most.
_SPACING_RATIO = 1.0 / 6.0
_THIN_PERCENTILE = 2.0
# Between sparse points no ball may have been tried; the reach of a ball grows by this share of the spacing.
_REACH_SPACINGS = 0.75
_SEED = 20
# A ball has shrunk enough when no surface point lies deeper in it than this share of its radius.
_BALL_SLACK_FRAC = 0.004
_NEIGHBOURS = 8
# Neighbours lie within this many mean spacings, and do not face away from each other (cosine).
_NEIGHBOUR_SPACINGS = 3.0
_FACING_COSINE = -0.3
# The ray is the wall where it is at most this much longer than the wall.
_ACROSS_RATIO = 1.1
# A place is wall if the thickness grows by no more than this within half a thickness; 2 tan(a/2) / 2 = 0.3 at 33 deg.
_WALL_GROWTH_RATIO = 1.3
# ... looking at least this many spacings and at most that many far.
_LOOK_SPACINGS = (1.5, 6.0)
# A patch of wall is at least this many points.
_FEWEST_PATCH_POINTS = 4


@dataclass(frozen=True)
class WallMap:
    """Evenly spread points on the surface with the wall under each.

    Parameters
    ----------
    points_mm : array, shape (n, 3)
        Places [mm].
    outward_ratio : array, shape (n, 3)
        Outward directions, length one.
    ray_mm, ball_radii_mm, width_mm : array, shape (n,)
        Length of the ray inward, radius of the ball that touches here, and the wall: the smaller of the ray and
        the diameter of the largest ball that reaches here [mm].
    across : array, shape (n,)
        Number of the point nearest to where the ray comes out, or -1 where the ray is not the wall.
    share_mm2 : float
        Surface that each point stands for [mm2].
    is_wall : array, shape (n,)
        Whether the thickness is even enough here for a wall, not an edge or a corner.
    starts, neighbours : array
        Lists of neighbouring points, as :func:`pourwright.shape.pattern.topology.neighbour_lists` gives them.
    """

    points_mm: NDArray[np.float64]
    outward_ratio: NDArray[np.float64]
    ray_mm: NDArray[np.float64]
    ball_radii_mm: NDArray[np.float64]
    width_mm: NDArray[np.float64]
    across: NDArray[np.int64]
    share_mm2: float
    is_wall: NDArray[np.bool_]
    starts: NDArray[np.int64]
    neighbours: NDArray[np.int64]


def map_walls(mesh: Mesh) -> WallMap:
    """Measure the wall under points spread evenly over the surface of a closed mesh."""
    from scipy.spatial import cKDTree

    from pourwright.shape.pattern import _kernels

    areas_mm2 = mass.face_areas_mm2(mesh)
    area_mm2 = float(areas_mm2.sum())
    rays = Rays(mesh)
    thin_mm = float(np.percentile(rays.inward_mm(*_spread(mesh, areas_mm2, _FEWEST_POINTS)), _THIN_PERCENTILE))
    count = int(np.clip(area_mm2 / max(_SPACING_RATIO * thin_mm, 1e-6) ** 2, _FEWEST_POINTS, MOST_POINTS))
    points_mm, normals = _spread(mesh, areas_mm2, count)
    ray_mm = rays.inward_mm(points_mm, normals)
    tree = cKDTree(points_mm)
    spacing_mm = float(np.sqrt(area_mm2 / count))
    leaves = leaves_of(tree, points_mm)
    radii_mm = ray_mm / 2.0
    _kernels.shrink_balls(
        points_mm, normals, points_mm[leaves.rank], leaves.starts, leaves.low_mm, leaves.high_mm, _BALL_SLACK_FRAC,
        radii_mm,
    )  # fmt: skip
    centres_mm = points_mm - normals * radii_mm[:, None]
    order = np.argsort(-radii_mm, kind="stable")
    reach_mm = BALL_REACH_RATIO * radii_mm + _REACH_SPACINGS * spacing_mm
    width_mm = np.empty(count)
    _kernels.covering_width(points_mm, centres_mm[order], radii_mm[order], reach_mm[order], ray_mm, width_mm)
    is_wall = np.empty(count, bool)
    look_mm = np.clip(width_mm / 2.0, _LOOK_SPACINGS[0] * spacing_mm, _LOOK_SPACINGS[1] * spacing_mm)
    _kernels.mark_even(
        points_mm, normals, width_mm, look_mm, leaves.rank, leaves.starts, leaves.low_mm, leaves.high_mm,
        _WALL_GROWTH_RATIO, _FACING_COSINE, is_wall,
    )  # fmt: skip
    starts, neighbours = _neighbours(tree, points_mm, normals, spacing_mm)
    across = _across(tree, points_mm, normals, ray_mm, width_mm)
    share_mm2 = area_mm2 / count
    return WallMap(points_mm, normals, ray_mm, radii_mm, width_mm, across, share_mm2, is_wall, starts, neighbours)


def _spread(mesh: Mesh, areas_mm2: NDArray[np.float64], count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Place points evenly by area (one in each equal share of the summed areas), the same for the same mesh."""
    generator = np.random.default_rng(_SEED)
    summed = np.cumsum(areas_mm2)
    targets = (np.arange(count) + generator.random(count)) / count * summed[-1]
    face = np.minimum(np.searchsorted(summed, targets), len(areas_mm2) - 1)
    first, second = np.sqrt(generator.random(count)), generator.random(count)
    weights = np.column_stack([1.0 - first, first * (1.0 - second), first * second])
    points_mm = np.einsum("ij,ijk->ik", weights, mesh.vertices_mm[mesh.faces[face]])
    return points_mm, mass.face_normals(mesh)[face]


def _neighbours(
    tree: Any, points_mm: NDArray[np.float64], normals: NDArray[np.float64], spacing_mm: float
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List for each point the nearest points on the same skin."""
    bound_mm = _NEIGHBOUR_SPACINGS * spacing_mm
    distance_mm, near = tree.query(points_mm, k=_NEIGHBOURS + 1, distance_upper_bound=bound_mm)
    first = np.repeat(np.arange(len(points_mm)), _NEIGHBOURS)
    second, gap_mm = near[:, 1:].reshape(-1), distance_mm[:, 1:].reshape(-1)
    found = np.isfinite(gap_mm)
    first, second = first[found], second[found]
    same_skin = np.einsum("ij,ij->i", normals[first], normals[second]) > _FACING_COSINE
    return neighbour_lists(np.column_stack([first[same_skin], second[same_skin]]), len(points_mm))


def _across(
    tree: Any, points_mm: NDArray[np.float64], normals: NDArray[np.float64],
    ray_mm: NDArray[np.float64], width_mm: NDArray[np.float64],
) -> NDArray[np.int64]:  # fmt: skip
    is_wall = ray_mm <= _ACROSS_RATIO * width_mm
    across = np.full(len(points_mm), -1)
    _, across[is_wall] = tree.query(points_mm[is_wall] - normals[is_wall] * ray_mm[is_wall, None])
    return across


def thinnest_wall(walls: WallMap) -> Wall | None:
    """Return the thinnest wall: the thinnest connected patch whose area exceeds its own thickness squared.

    Points are added from thin to thick; the first patch that grows large enough is the wall. Its thickness is the
    median over the patch; the uncertainty covers the middle 80 % of the patch. Single thin readings, as
    at a sharp corner, are no patch. None if there is no such patch at all.
    """
    from pourwright.shape.pattern import _kernels

    order = np.argsort(walls.width_mm, kind="stable")
    order = order[walls.is_wall[order]]
    label = np.arange(len(walls.width_mm))
    root = _kernels.first_patch(
        order, walls.width_mm, walls.starts, walls.neighbours, walls.share_mm2, _FEWEST_PATCH_POINTS, label
    )
    if root < 0:
        return None
    patch = label == root
    widths_mm = walls.width_mm[patch]
    thickness_mm = float(np.median(widths_mm))
    middle_mm = walls.points_mm[patch].mean(axis=0)
    nearest = np.flatnonzero(patch)[np.argmin(np.linalg.norm(walls.points_mm[patch] - middle_mm, axis=1))]
    x, y, z = walls.points_mm[nearest]
    low_mm, high_mm = np.percentile(widths_mm, [10, 90])
    uncertainty_mm = float(max((high_mm - low_mm) / 2.0, _BALL_SLACK_FRAC * thickness_mm))
    return Wall(thickness_mm, uncertainty_mm, (float(x), float(y), float(z)), walls.share_mm2 * int(patch.sum()))
