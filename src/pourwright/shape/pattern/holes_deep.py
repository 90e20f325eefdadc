"""Narrow holes: where the mould becomes a slender core of powder that metal surrounds.

The largest ball that touches a point of the surface from outside is as wide as a hole there; where the ray straight
out meets the body again at about that distance, the point faces a wall of the same hole. Depth is measured over the
surface from the mouth, where the balls grow by half. A groove is no hole: from its bottom a good share of the sky is
seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.balls import obstacles_of, shrunk_mm
from pourwright.shape.pattern.rays import Rays, directions
from pourwright.shape.pattern.report import Mesh, Point, Skin
from pourwright.shape.pattern.ways import distances_mm, surface_steps

# Cores thicker than this are no slender powder. Common practice, no source.
WIDEST_MM = 8.0
_BALL_SLACK_FRAC = 0.004
# Two walls face each other when the ray from one to the other is this much longer than the ball between at most.
_FACING_RATIO = 1.2
# The mouth is where the balls outside are this many times the hole.
_MOUTH_RATIO = 1.5
_FEWEST_POINTS = 6
# More of the sky than this is not seen from the bottom of a hole: 3 % from the middle of one four diameters long.
_MOST_SKY_FRAC = 0.05
_SKY_RAYS = 400
_PROBES = 12
_DEEPEST_SHARE = 0.1
# Fingers and wrists: bores looked for, across [mm].
_BORE_MM = (12.0, 26.0)
_LEAST_BORE_FRAC = 0.05


Steps = tuple[NDArray[np.int64], NDArray[np.int64]]


@dataclass(frozen=True)
class Hole:
    """A narrow hole: across, from mouth to mouth or to its bottom, whether it goes through, and its deepest place."""

    diameter_mm: float
    depth_mm: float
    through: bool
    place_mm: Point

    @property
    def slenderness_ratio(self) -> float:
        """Depth over diameter."""
        return self.depth_mm / self.diameter_mm


def find_holes(mesh: Mesh, skin: Skin) -> tuple[Hole, ...]:
    """Return holes up to 8 mm across, the most slender first.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    skin : Skin
        Of the mesh. Holes narrower than three of its spacings may be missed.
    """
    gap_mm = skin.gap_mm
    if not (gap_mm < _FACING_RATIO * WIDEST_MM).any():
        return ()
    close_mm = np.where(gap_mm < _FACING_RATIO * WIDEST_MM, gap_mm, 0.0)
    wide_mm = _outside_widths(skin, close_mm)
    facing = (wide_mm > 0) & (gap_mm <= _FACING_RATIO * wide_mm) & (wide_mm < WIDEST_MM)
    if not facing.any():
        return ()
    wide_mm = _outside_widths(skin, _round_about(skin, facing, _MOUTH_RATIO * WIDEST_MM), wide_mm)
    cores = _joined(np.flatnonzero(facing), gap_mm, skin)
    if not cores:
        return ()
    rays = Rays(mesh)
    shut = [core for core in cores if _is_shut(core, wide_mm, rays, skin)]
    steps = surface_steps(skin) if shut else None
    found = [one for core in shut if steps and (one := _hole(core, wide_mm, rays, skin, steps))]
    return tuple(sorted(found, key=lambda one: -one.slenderness_ratio))


def find_bore_mm(mesh: Mesh, skin: Skin) -> float | None:
    """Return the width of a round opening for a finger [mm], the narrowest across it; None if there is none."""
    gap_mm = skin.gap_mm
    chosen = (gap_mm > _BORE_MM[0]) & (gap_mm < _BORE_MM[1])
    if chosen.mean() < _LEAST_BORE_FRAC:
        return None
    wide_mm = _outside_widths(skin, np.where(chosen, gap_mm, 0.0))
    is_round = chosen & (gap_mm <= _FACING_RATIO * wide_mm)
    if is_round.mean() < _LEAST_BORE_FRAC or _is_sealed(np.flatnonzero(is_round), wide_mm, Rays(mesh), skin):
        return None
    return float(np.percentile(gap_mm[is_round], 5))


def _is_sealed(points: NDArray[np.int64], wide_mm: NDArray[np.float64], rays: Rays, skin: Skin) -> bool:
    """Return whether the sky is seen from nowhere among points: they line a void."""
    places = points[np.linspace(0, len(points) - 1, _PROBES).astype(int)]
    return not _sky_fracs(rays, _middles_mm(places, wide_mm, skin)).any()


def _round_about(skin: Skin, facing: NDArray[np.bool_], reach_mm: float) -> NDArray[np.float64]:
    """Return the reach [mm] for each point nearer than it to the chosen ones, zero for the others."""
    from scipy.spatial import cKDTree

    gap_mm, _ = cKDTree(skin.points_mm[facing]).query(skin.points_mm, distance_upper_bound=reach_mm)
    return np.where(np.isfinite(gap_mm), reach_mm, 0.0)


def _outside_widths(
    skin: Skin, most_mm: NDArray[np.float64], known_mm: NDArray[np.float64] | None = None
) -> NDArray[np.float64]:
    """Return the diameter of the largest ball that touches each point from outside, at most as given [mm].

    Points that may have none, or whose ball is known, are left as they are: zero, or known.
    """
    wide_mm = np.zeros(len(most_mm)) if known_mm is None else known_mm.copy()
    wanted = np.flatnonzero((most_mm > 0) & (wide_mm == 0))
    obstacles = obstacles_of(skin.points_mm, float(np.sqrt(skin.share_mm2)))
    points_mm, outward = skin.points_mm[wanted], skin.outward_ratio[wanted]
    wide_mm[wanted] = 2.0 * shrunk_mm(points_mm, outward, obstacles, most_mm[wanted] / 2.0, _BALL_SLACK_FRAC)
    return wide_mm


def _joined(facing: NDArray[np.int64], gap_mm: NDArray[np.float64], skin: Skin) -> list[NDArray[np.int64]]:
    """Group the points that face a wall: neighbours, and those at both ends of a ray."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    if not len(facing):
        return []
    count = len(skin.points_mm)
    opposite_mm = skin.points_mm[facing] + skin.outward_ratio[facing] * gap_mm[facing, None]
    _, near = cKDTree(skin.points_mm).query(opposite_mm)
    first = np.concatenate([np.repeat(np.arange(count), np.diff(skin.starts)), facing])
    second = np.concatenate([skin.neighbours, near])
    is_facing = np.zeros(count, bool)
    is_facing[facing] = True
    kept = is_facing[first] & is_facing[second]
    graph = coo_matrix((np.ones(kept.sum()), (first[kept], second[kept])), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    groups = np.split(facing[np.argsort(label[facing], kind="stable")], _ends(label[facing]))
    return [group for group in groups if len(group) >= _FEWEST_POINTS]


def _ends(label: NDArray[np.int32]) -> NDArray[np.int64]:
    _, counts = np.unique(label, return_counts=True)
    ends: NDArray[np.int64] = np.cumsum(counts)[:-1]
    return ends


def _is_shut(core: NDArray[np.int64], wide_mm: NDArray[np.float64], rays: Rays, skin: Skin) -> bool:
    """Return whether little sky is seen from any of a few places in a core; a deep hole has many such."""
    places = core[np.linspace(0, len(core) - 1, min(_PROBES, len(core))).astype(int)]
    return bool((_sky_fracs(rays, _middles_mm(places, wide_mm, skin)) <= _MOST_SKY_FRAC).any())


def _middles_mm(points: NDArray[np.int64], wide_mm: NDArray[np.float64], skin: Skin) -> NDArray[np.float64]:
    middles_mm: NDArray[np.float64] = skin.points_mm[points] + skin.outward_ratio[points] * wide_mm[points, None] / 2.0
    return middles_mm


def _hole(core: NDArray[np.int64], wide_mm: NDArray[np.float64], rays: Rays, skin: Skin, steps: Steps) -> Hole | None:
    diameter_mm = float(np.median(wide_mm[core]))
    narrow = (wide_mm > 0) & (wide_mm <= _MOUTH_RATIO * diameter_mm)
    depth_mm, mouths = _depths(core, narrow, diameter_mm, skin, steps)
    if mouths == 0:
        return None
    deepest = core[np.argsort(-depth_mm, kind="stable")[: max(1, int(_DEEPEST_SHARE * len(core)))]]
    middles_mm = _middles_mm(deepest, wide_mm, skin)
    if _sky_fracs(rays, middles_mm).mean() > _MOST_SKY_FRAC:
        return None
    reach_mm = float(depth_mm.max())
    # towards the bottom the balls shrink and the walls no longer count as facing: half a diameter is added for it
    whole_mm = 2.0 * reach_mm if mouths > 1 else reach_mm + diameter_mm / 2.0
    x, y, z = middles_mm.mean(axis=0)
    return Hole(diameter_mm, whole_mm, mouths > 1, (float(x), float(y), float(z)))


def _depths(
    core: NDArray[np.int64], narrow: NDArray[np.bool_], diameter_mm: float, skin: Skin, steps: Steps
) -> tuple[NDArray[np.float64], int]:
    """Return how far each point of a core is from the nearest mouth over the surface, and how many mouths there are."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(skin.points_mm)
    first, second = steps
    inner = narrow[first] & narrow[second]
    graph = coo_matrix((np.ones(inner.sum()), (first[inner], second[inner])), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    inside = narrow & np.isin(label, np.unique(label[core]))
    leaving = (inside[first] & ~narrow[second]) | (inside[second] & ~narrow[first])
    mouth = np.unique(np.where(narrow[first], second, first)[leaving])
    if not len(mouth):
        return np.zeros(len(core)), 0
    used = inside[first] | inside[second]
    # the mouth's points lie half a spacing outside it
    away_mm = distances_mm(skin, first[used], second[used], mouth)[core] - np.sqrt(skin.share_mm2) / 2.0
    return np.where(np.isfinite(away_mm), away_mm, 0.0), _clusters(skin.points_mm[mouth], diameter_mm, skin)


def _clusters(points_mm: NDArray[np.float64], diameter_mm: float, skin: Skin) -> int:
    """Count groups of points, each over a diameter from the next."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    reach_mm = max(diameter_mm, 3.0 * float(np.sqrt(skin.share_mm2)))
    pairs = cKDTree(points_mm).query_pairs(reach_mm, output_type="ndarray")
    shape = (len(points_mm), len(points_mm))
    groups, _ = connected_components(coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=shape))
    return int(groups)


def _sky_fracs(rays: Rays, places_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each place the share of directions, evenly spread, in which nothing is met."""
    origins_mm = np.repeat(places_mm, _SKY_RAYS, axis=0)
    free_mm = rays.free_mm(origins_mm, np.tile(directions(_SKY_RAYS), (len(places_mm), 1)))
    seen: NDArray[np.float64] = np.isinf(free_mm).reshape(len(places_mm), _SKY_RAYS).mean(axis=1)
    return seen
