"""Wall thickness, point by point over the surface, and the thinnest wall.

Two measures are joined. A ray inward finds the opposite side; it is exact on smooth walls but runs far along a wall
that it enters by its edge. The largest ball that touches the surface from inside and holds the point within 1.45 of
its radius finds the wall there (a square edge lies 1.414 radii from the ball that fills it); it would reach from a
thick body into a thin fin, where the ray is short. The smaller of the two is the wall. Corners sharper than a right
angle show thin, and are; but only where the thickness stays nearly even over a place as wide as it is thick is it a
wall, so that a sharp edge is no thin wall until it is sharper than about 33 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.balls import obstacles_of, shrunk_mm
from pourwright.shape.pattern.leaves import leaves_of
from pourwright.shape.pattern.rays import Rays
from pourwright.shape.pattern.report import Mesh, Wall
from pourwright.shape.pattern.spread import Spread
from pourwright.shape.pattern.topology import neighbour_lists

BALL_REACH_RATIO = 1.45
MOST_POINTS = 20_000
_FEWEST_POINTS = 4_000
# Rays by which thin places are looked for, however small a share of the surface they are.
_LOOKED_POINTS = 100_000
# Points lie at most this share of the thinnest place apart, up to the most.
_SPACING_RATIO = 1.0 / 6.0
# Places that no wall of the coarse map accounts for are thinner than this share of the thinnest one.
_THINNER_RATIO = 0.75
# Between sparse points no ball may have been tried; the reach of a ball grows by this share of the spacing.
_REACH_SPACINGS = 0.75
# A ball has shrunk enough when no surface point lies deeper in it than this share of its radius.
_BALL_SLACK_FRAC = 0.004
_NEIGHBOURS = 8
# Neighbours lie within this many mean spacings, and do not face away from each other (cosine).
_NEIGHBOUR_SPACINGS = 3.0
_FACING_COSINE = -0.3
# Evenness is asked of what faces much the same way: a fin's root is no part of the fin.
_EVEN_COSINE = 0.3
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
    ray_mm, gap_mm, ball_radii_mm, width_mm : array, shape (n,)
        Length of the ray inward; of the ray outward, infinite into the open; radius of the ball that touches here;
        and the wall: the smaller of the ray inward and the diameter of the largest ball that reaches here [mm].
    owner : array, shape (n,)
        Number of the point whose ball that is.
    across : array, shape (n,)
        Number of the point nearest to where the ray comes out, or -1 where the ray is not the wall.
    share_mm2 : float
        Surface that each point stands for [mm2].
    is_wall : array, shape (n,)
        Whether the thickness is even enough here for a wall, not an edge or a corner.
    starts, neighbours : array
        Lists of neighbouring points, as :func:`pourwright.shape.pattern.topology.neighbour_lists` gives them.
    thin : WallMap or None
        The same, finer, of only those places that are thinner than any wall of this map.
    """

    points_mm: NDArray[np.float64]
    outward_ratio: NDArray[np.float64]
    ray_mm: NDArray[np.float64]
    gap_mm: NDArray[np.float64]
    ball_radii_mm: NDArray[np.float64]
    width_mm: NDArray[np.float64]
    owner: NDArray[np.int64]
    across: NDArray[np.int64]
    share_mm2: float
    is_wall: NDArray[np.bool_]
    starts: NDArray[np.int64]
    neighbours: NDArray[np.int64]
    thin: WallMap | None = None


@dataclass(frozen=True)
class _Samples:
    """Points with their outward directions, the rays inward from them, and how much surface each stands for."""

    points_mm: NDArray[np.float64]
    outward_ratio: NDArray[np.float64]
    ray_mm: NDArray[np.float64]
    share_mm2: float

    @property
    def spacing_mm(self) -> float:
        return float(np.sqrt(self.share_mm2))

    def only(self, chosen: NDArray[np.int64]) -> _Samples:
        return _Samples(self.points_mm[chosen], self.outward_ratio[chosen], self.ray_mm[chosen], self.share_mm2)

    def beside(self, others: _Samples) -> _Samples:
        """Return these samples and others; each is still said to stand for what one of these does."""
        return _Samples(
            np.vstack([self.points_mm, others.points_mm]), np.vstack([self.outward_ratio, others.outward_ratio]),
            np.append(self.ray_mm, others.ray_mm), self.share_mm2,
        )  # fmt: skip


def map_walls(mesh: Mesh) -> WallMap:
    """Measure the wall under points spread evenly over the surface of a closed mesh."""
    rays = Rays(mesh)
    spread = Spread(mesh)
    dense = _sampled(spread, rays, _LOOKED_POINTS)
    wanted = spread.area_mm2 / max(_SPACING_RATIO * _thinnest_mm(dense), 1e-6) ** 2
    samples = _sampled(spread, rays, int(np.clip(wanted, _FEWEST_POINTS, MOST_POINTS)))
    walls = _mapped(samples, _shrunk_mm(samples, samples), rays)
    thinnest = _thinnest_patch(walls)
    limit_mm = _THINNER_RATIO * (thinnest.thickness_mm if thinnest else float(walls.width_mm.max()))
    return replace(walls, thin=_thin_places(dense, samples, walls.ball_radii_mm, limit_mm, rays))


def _sampled(spread: Spread, rays: Rays, count: int) -> _Samples:
    points_mm, outward = spread.points(count)
    return _Samples(points_mm, outward, rays.inward_mm(points_mm, outward), spread.area_mm2 / count)


def _thinnest_mm(samples: _Samples) -> float:
    """Return the shortest ray such that rays no longer than it cover more than its square [mm]."""
    ray_mm = np.sort(samples.ray_mm)
    covered_mm2 = samples.share_mm2 * np.arange(1, len(ray_mm) + 1)
    return float(ray_mm[np.argmax(covered_mm2 > np.maximum(ray_mm, 2.0 * samples.spacing_mm) ** 2)])


def _thin_places(
    dense: _Samples, samples: _Samples, radii_mm: NDArray[np.float64], limit_mm: float, rays: Rays
) -> WallMap | None:
    """Map dense points thinner than a limit [mm] among the samples; None if they are next to nothing.

    The samples, with their balls' radii [mm], stand for what lies round the thin places.
    """
    if np.count_nonzero(dense.ray_mm < limit_mm) < _FEWEST_PATCH_POINTS:
        return None
    thin = np.flatnonzero(dense.ray_mm < _WALL_GROWTH_RATIO * limit_mm)
    if len(thin) > MOST_POINTS:
        cut_mm = float(np.partition(dense.ray_mm[thin], MOST_POINTS)[MOST_POINTS])
        thin, limit_mm = thin[dense.ray_mm[thin] < cut_mm], min(limit_mm, cut_mm / _WALL_GROWTH_RATIO)
    chosen = dense.only(thin)
    together = chosen.beside(samples)
    walls = _mapped(together, np.append(_shrunk_mm(chosen, together), radii_mm), rays)
    is_thin = (np.arange(len(walls.ray_mm)) < len(thin)) & (walls.ray_mm < limit_mm)
    return replace(walls, is_wall=walls.is_wall & is_thin)


def _shrunk_mm(samples: _Samples, around: _Samples) -> NDArray[np.float64]:
    """Return the radii [mm] of the balls that touch samples from inside and hold no point of those around."""
    obstacles = obstacles_of(around.points_mm, around.spacing_mm)
    start_mm = samples.ray_mm / 2.0
    return shrunk_mm(samples.points_mm, -samples.outward_ratio, obstacles, start_mm, _BALL_SLACK_FRAC)


def _mapped(samples: _Samples, radii_mm: NDArray[np.float64], rays: Rays) -> WallMap:
    """Measure the wall under samples on which balls of given radii [mm] stand."""
    from scipy.spatial import cKDTree

    points_mm, normals, ray_mm = samples.points_mm, samples.outward_ratio, samples.ray_mm
    tree = cKDTree(points_mm)
    owner = _owners(samples, radii_mm)
    width_mm = np.minimum(ray_mm, 2.0 * radii_mm[owner])
    starts, neighbours = _neighbours(tree, points_mm, normals, samples.spacing_mm)
    return WallMap(
        points_mm, normals, ray_mm, rays.free_mm(points_mm, normals), radii_mm, width_mm, owner,
        _across(tree, points_mm, normals, ray_mm, width_mm), samples.share_mm2,
        _is_wall(tree, samples, width_mm), starts, neighbours,
    )  # fmt: skip


def _owners(samples: _Samples, radii_mm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return for each point the number of the largest ball that reaches it."""
    from scipy.spatial import cKDTree

    from pourwright.shape.pattern.kernels.walls import _kernels

    middles_mm = samples.points_mm - samples.outward_ratio * radii_mm[:, None]
    balls = leaves_of(cKDTree(middles_mm), middles_mm)
    widest_mm = np.maximum.reduceat(radii_mm[balls.rank], balls.starts[:-1])
    extra_mm = _REACH_SPACINGS * samples.spacing_mm
    owner = np.empty(len(radii_mm), np.int64)
    _kernels.largest_cover(samples.points_mm, radii_mm, BALL_REACH_RATIO, extra_mm, balls, widest_mm, owner)
    return owner


def _is_wall(tree: Any, samples: _Samples, width_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
    from pourwright.shape.pattern.kernels.walls import _kernels

    is_wall = np.empty(len(width_mm), bool)
    nearest_mm, farthest_mm = _LOOK_SPACINGS[0] * samples.spacing_mm, _LOOK_SPACINGS[1] * samples.spacing_mm
    look_mm = np.clip(width_mm / 2.0, nearest_mm, farthest_mm)
    leaves = leaves_of(tree, samples.points_mm)
    _kernels.mark_even(samples.outward_ratio, width_mm, look_mm, leaves, _WALL_GROWTH_RATIO, _EVEN_COSINE, is_wall)
    return is_wall


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
    fine = _thinnest_patch(walls.thin) if walls.thin else None
    return fine or _thinnest_patch(walls)


def _thinnest_patch(walls: WallMap) -> Wall | None:
    from pourwright.shape.pattern.kernels.walls import _kernels

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
