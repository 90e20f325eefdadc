"""Sections: the body divided where it narrows, with the modulus of each (volume over cooling surface).

A screen, not a simulation: the modulus says which parts freeze late if everything round them is equal. It knows
nothing of the mould's heat, the gate or the order of filling, and speaks of shrinkage only, never of gas.

The inscribed radius, carried to the surface as wall thickness, is flooded from its highest places down. Two places
become one section when the path between them is over 0.8 of the smaller one's thickness, and never across a drop
to less than 0.6 of the larger one's, so that a thin plate on a thick body is a section of its own. A ring is one
section, however its wire is meshed. Volume goes to the inscribed ball it lies in; the area of a section
is its share of the original surface, so faces that the division makes do not count.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.grid.fractions import Grid
from pourwright.shape.pattern import mass
from pourwright.shape.pattern.rays import directions
from pourwright.shape.pattern.report import Mesh, Section
from pourwright.shape.pattern.topology import neighbour_lists
from pourwright.shape.pattern.walls import WallMap

NECK_RATIO = 0.8
SHOULDER_RATIO = 0.6
# Thicknesses closer than this (in the logarithm) are flooded together.
_LEVEL_STEP = 0.02
# Less even area than this share of the whole surface is no section.
_LEAST_AREA_FRAC = 0.003
# Volume over surface lies between these shares of the thickness: a plate has a half, a ball a sixth.
_MOST_MODULUS_RATIO = 0.6
_LEAST_MODULUS_RATIO = 0.05
# Balls of much the same size (so many levels to a doubling) in a cell this share of their radius count as one.
_LEVELS = 4
_FIRST_CELL_RATIO = 0.2
_MOST_BALLS = 6000
# Directions in which an eighth of a voxel looks, and voxels that do so at most.
_VOTE_RAYS = 32
_MOST_VOTES = 20_000
# How thick a section is: so many per cent of its surface are less; a fillet is not the section's thickness.
_TYPICAL_PERCENTILE = 85.0

# Where each point's list of neighbours starts, and the neighbours.
Lists = tuple[NDArray[np.int64], NDArray[np.int64]]
_LEAF = 16


def find_sections(mesh: Mesh, walls: WallMap, grid: Grid, whole_mm3: float) -> tuple[Section, ...]:
    """Do the same as :func:`divide`, for the sections alone; ``whole_mm3`` is the volume of the body [mm3]."""
    return divide(mesh, walls, grid, whole_mm3)[0]


def divide(mesh: Mesh, walls: WallMap, grid: Grid, whole_mm3: float) -> tuple[tuple[Section, ...], NDArray[np.int64]]:
    """Divide a solid at necks and shoulders.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    walls : WallMap
        Of the mesh.
    grid : Grid
        Filled shares of the mesh.
    whole_mm3 : float
        Volume of the body, to be shared out [mm3].

    Returns
    -------
    sections : tuple of Section
        The largest modulus first; a body without necks is one section with the exact volume and area.
    section : array, shape (n,)
        For each point of the wall map its place in that list.
    """
    joined = joined_across(walls)
    label = label_points(walls, joined)
    whole_mm2 = mass.area_mm2(mesh)
    count = int(label.max()) + 1
    if count == 1:
        return (Section(whole_mm3, whole_mm2, whole_mm3 / whole_mm2, mass.centre_mm(mesh)),), label
    centres_mm, share, owner, below = _shared_out(grid, walls, label)
    label = _settled(label, below, walls)
    label, owner = _plausible(label, owner, share * grid.side_mm**3, walls, joined)
    count = int(label.max()) + 1
    volume_mm3 = np.bincount(owner, share, count) / share.sum() * whole_mm3
    area_mm2 = np.bincount(label, minlength=count) / len(label) * whole_mm2
    place_mm = [np.bincount(owner, share * centres_mm[:, axis], count) for axis in range(3)]
    middle_mm = np.column_stack(place_mm) / np.maximum(np.bincount(owner, share, count), 1e-12)[:, None]
    found = [_section(*values) for values in zip(volume_mm3, area_mm2, middle_mm, strict=True)]
    order = sorted(range(count), key=lambda one: -found[one].modulus_mm)
    return tuple(found[one] for one in order), np.argsort(order)[label]


def _shared_out(
    grid: Grid, walls: WallMap, label: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Give the material to the sections.

    Returns places of pieces [mm], how much of a voxel each is, its section; and the section under each point.

    First each voxel goes to the section whose ball it lies deepest in. Near the cuts, where a large ball may reach
    through a mouth, eighths of voxels then go to the section whose surface they see most of: in a mouth that is half.
    """
    from pourwright.shape.pattern.kernels.sections import _kernels

    filled = np.ascontiguousarray(grid.filled_frac)
    chosen = filled > 0
    owner = np.full(filled.shape, -1, np.int32)
    owner[chosen] = _owners(grid.centres_mm(chosen), walls, label)
    voxel, voted = np.empty(8 * _MOST_VOTES, np.int64), np.empty(8 * _MOST_VOTES, np.int32)
    skin = _skin_labels(grid, filled, walls, label)
    count = _kernels.vote_cuts(filled, skin, owner, directions(_VOTE_RAYS), _MOST_VOTES, voxel, voted)
    chosen.ravel()[voxel[:count]] = False
    voters_mm = grid.corner_mm + (np.column_stack(np.unravel_index(voxel[:count], filled.shape)) + 0.5) * grid.side_mm
    places_mm = np.vstack([grid.centres_mm(chosen), voters_mm])
    share = np.concatenate([filled[chosen], filled.ravel()[voxel[:count]] / 8.0])
    under_mm = walls.points_mm - 0.5 * grid.side_mm * walls.outward_ratio - grid.corner_mm
    below = owner[tuple(np.clip(under_mm // grid.side_mm, 0, np.array(filled.shape) - 1).astype(int).T)]
    return places_mm, share, np.concatenate([owner[chosen], voted[:count]]).astype(np.int64), below.astype(np.int64)


def _settled(label: NDArray[np.int64], below: NDArray[np.int64], walls: WallMap) -> NDArray[np.int64]:
    """Give islands of a section's surface, apart from the rest of it, to the section that most of their ground is.

    Under a neck the far side of a plate is as far through as the neck is wide, but it is the plate's surface.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(label)
    first = np.repeat(np.arange(count), np.diff(walls.starts))
    same = label[first] == label[walls.neighbours]
    steps = coo_matrix((np.ones(int(same.sum())), (first[same], walls.neighbours[same])), shape=(count, count))
    island = np.asarray(connected_components(steps, directed=False)[1])
    size = np.bincount(island)
    largest = np.zeros(int(label.max()) + 1, np.int64)
    np.maximum.at(largest, label, size[island])
    settled = label.copy()
    for one in np.unique(island[size[island] < largest[label]]).tolist():
        ground = below[island == one]
        if (ground >= 0).any():
            settled[island == one] = np.bincount(ground[ground >= 0]).argmax()
    return settled


def _skin_labels(
    grid: Grid, filled: NDArray[np.float64], walls: WallMap, label: NDArray[np.int64]
) -> NDArray[np.int32]:
    """Return for each voxel on the surface the section of the point nearest to it, -1 for the others."""
    from scipy.ndimage import minimum_filter
    from scipy.spatial import cKDTree

    surface = (filled > 0) & (minimum_filter(filled, size=3, mode="constant") < 0.5)
    skin = np.full(filled.shape, -1, np.int32)
    skin[surface] = label[cKDTree(walls.points_mm).query(grid.centres_mm(surface))[1]]
    return skin


def _section(volume_mm3: float, area_mm2: float, middle_mm: NDArray[np.float64]) -> Section:
    x, y, z = middle_mm
    return Section(float(volume_mm3), float(area_mm2), float(volume_mm3 / area_mm2), (float(x), float(y), float(z)))


def _plausible(
    label: NDArray[np.int64],
    owner: NDArray[np.int64],
    voxel_mm3: NDArray[np.float64],
    walls: WallMap,
    joined: Lists,
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Merge sections whose share of the volume cannot be theirs: more than half their wall over their surface, or none.

    Such shares come from places that the points or the voxels cannot resolve.
    """
    count = int(label.max()) + 1
    reach_mm = np.bincount(owner, voxel_mm3, count) / (np.bincount(label, minlength=count) * walls.share_mm2)
    thickest_mm = np.zeros(count)
    np.maximum.at(thickest_mm, label, walls.width_mm)
    odd = (reach_mm > _MOST_MODULUS_RATIO * thickest_mm) | (reach_mm < _LEAST_MODULUS_RATIO * thickest_mm)
    into = _merged(odd, label, walls, joined)
    names, label = np.unique(into[label], return_inverse=True)
    return label, np.searchsorted(names, into[owner])


def _merged(gone: NDArray[np.bool_], label: NDArray[np.int64], walls: WallMap, joined: Lists) -> NDArray[np.int64]:
    """Return for each section the one it becomes part of: itself, or what it touches most if it is to go."""
    touching = _touching(label, walls, joined)
    into = np.arange(len(gone))
    for one in np.flatnonzero(gone).tolist():
        if touching[one]:
            target = max(touching[one], key=lambda other: (touching[one][other], -other))
            into[into == one] = target
            _merge_touching(touching, one, target)
    return into


def _owners(centres_mm: NDArray[np.float64], walls: WallMap, label: NDArray[np.int64]) -> NDArray[np.int64]:
    """Give each voxel to the section of the ball it lies deepest in, by power distance.

    Between two overlapping balls that divides at the plane of their common circle, so a thick body keeps what lies
    behind the mouth of a thin neck.
    """
    from scipy.spatial import cKDTree

    from pourwright.shape.pattern.kernels.sections import _kernels

    radii_mm = walls.ball_radii_mm
    balls_mm = walls.points_mm - walls.outward_ratio * radii_mm[:, None]
    kept = _thinned(balls_mm, radii_mm, label)
    tree = cKDTree(np.column_stack([balls_mm[kept], radii_mm[kept]]), leafsize=_LEAF)
    kept = kept[np.asarray(tree.indices)]
    leaves = np.append(np.arange(0, len(kept), _LEAF), len(kept))
    centres, radii = balls_mm[kept], radii_mm[kept]
    low, high = np.minimum.reduceat(centres, leaves[:-1]), np.maximum.reduceat(centres, leaves[:-1])
    found = np.empty(len(centres_mm), np.int64)
    _kernels.deepest_ball(centres_mm, centres, radii, leaves, low, high, np.maximum.reduceat(radii, leaves[:-1]), found)
    return label[kept][found]


def _thinned(
    balls_mm: NDArray[np.float64], radii_mm: NDArray[np.float64], label: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Keep one ball of each section in a cell that grows with the ball, few enough to try against all voxels."""
    level = np.round(_LEVELS * np.log2(np.maximum(radii_mm, 1e-9)))
    cell = _FIRST_CELL_RATIO
    while True:
        side_mm = cell * 2.0 ** (level / _LEVELS)
        keys = np.column_stack([np.round(balls_mm / side_mm[:, None]), level, label]).astype(np.int64)
        _, kept = np.unique(keys, axis=0, return_index=True)
        if len(kept) <= _MOST_BALLS:
            return kept
        cell *= 1.5


def label_points(walls: WallMap, joined: Lists | None = None) -> NDArray[np.int64]:
    """Return the section of each point of the wall map, numbered from 0; shape (n,).

    ``joined`` is what :func:`joined_across` gives, if it is known.
    """
    from pourwright.shape.pattern.kernels.sections import _kernels

    joined = joined or joined_across(walls)
    starts, neighbours = joined
    width_mm = walls.width_mm
    level = np.round(np.log(np.maximum(width_mm, 1e-9)) / _LEVEL_STEP).astype(np.int64)
    order = np.argsort(-level, kind="stable")
    label = np.full(len(order), -1)
    blur_mm = float(np.sqrt(walls.share_mm2))
    _kernels.flood_sections(order, level, width_mm, starts, neighbours, NECK_RATIO, SHOULDER_RATIO, blur_mm, label)
    return _without_slips(_without_false_necks(label, walls, joined), walls, joined)


def _without_false_necks(label: NDArray[np.int64], walls: WallMap, joined: Lists) -> NDArray[np.int64]:
    """Join sections that meet where they are as thick as they mostly are.

    The flood measures a neck by the thickest place on either side, which may be no more than a fillet.
    """
    from pourwright.shape.pattern.kernels.joining import _kernels

    names, label = np.unique(label, return_inverse=True)
    typical_mm = np.array([np.percentile(one, _TYPICAL_PERCENTILE) for one in _groups(walls.width_mm, label)])
    starts, neighbours = joined
    point = np.repeat(np.arange(len(label)), np.diff(starts))
    meeting = label[point] != label[neighbours]
    point, other = point[meeting], neighbours[meeting]
    pairs = np.column_stack([label[point], label[other]])
    pass_mm = np.minimum(walls.width_mm[point], walls.width_mm[other])
    smaller_mm, larger_mm = np.sort(typical_mm[pairs], axis=1).T
    open_mm = np.minimum(NECK_RATIO * smaller_mm, smaller_mm - np.sqrt(walls.share_mm2))
    alike = (pass_mm > open_mm) & (smaller_mm >= SHOULDER_RATIO * larger_mm)
    parent = np.arange(len(names))
    _kernels.join(parent, np.ascontiguousarray(pairs[alike, 0]), np.ascontiguousarray(pairs[alike, 1]))
    return parent[label]


def _groups(values: NDArray[np.float64], label: NDArray[np.int64]) -> list[NDArray[np.float64]]:
    order = np.argsort(label, kind="stable")
    return np.split(values[order], np.cumsum(np.bincount(label))[:-1])


def joined_across(walls: WallMap) -> Lists:
    """Make neighbours too of the two sides of a wall, and of points that the same ball fills."""
    count = len(walls.width_mm)
    everyone = np.arange(count)
    through = np.flatnonzero(walls.across >= 0)
    held = np.flatnonzero((walls.owner != everyone) & (2.0 * walls.ball_radii_mm[walls.owner] <= walls.ray_mm))
    pairs = [
        (np.repeat(everyone, np.diff(walls.starts)), walls.neighbours),
        (through, walls.across[through]),
        (held, walls.owner[held]),
    ]
    return neighbour_lists(np.vstack([np.column_stack(pair) for pair in pairs]), count)


def _without_slips(label: NDArray[np.int64], walls: WallMap, joined: Lists) -> NDArray[np.int64]:
    """Give what is no section to the one it touches most.

    No section are edges and corners (nowhere even enough to be wall), areas under their own thickness squared, and
    areas too small a share of the whole to matter.
    """
    names, label = np.unique(label, return_inverse=True)
    area_mm2 = np.bincount(label) * walls.share_mm2
    thickest_mm = np.zeros(len(names))
    np.maximum.at(thickest_mm, label, walls.width_mm)
    even_mm2 = np.bincount(label, walls.is_wall) * walls.share_mm2
    least_mm2 = _LEAST_AREA_FRAC * area_mm2.sum()
    touching = _touching(label, walls, joined)
    into = np.arange(len(names))
    for one in np.argsort(even_mm2, kind="stable").tolist():
        if even_mm2[one] >= max(thickest_mm[one] ** 2, least_mm2) or not touching[one]:
            continue
        target = max(touching[one], key=lambda other: (touching[one][other], -other))
        into[into == one] = target
        even_mm2[target] += even_mm2[one]
        thickest_mm[target] = max(thickest_mm[target], thickest_mm[one])
        _merge_touching(touching, one, target)
    return np.unique(into[label], return_inverse=True)[1]


def _touching(label: NDArray[np.int64], walls: WallMap, joined: Lists) -> list[dict[int, int]]:
    """Count for each section how often its points neighbour those of each other section.

    A section that touches nothing, such as stray points, counts as touching the one nearest to it.
    """
    starts, neighbours = joined
    first, second = np.repeat(label, np.diff(starts)), label[neighbours]
    pairs, times = np.unique(np.stack([first, second])[:, first != second], axis=1, return_counts=True)
    touching: list[dict[int, int]] = [{} for _ in range(int(label.max()) + 1)]
    for one, other, number in zip(*pairs.tolist(), times.tolist(), strict=True):
        touching[one][other] = touching[one].get(other, 0) + number
        touching[other][one] = touching[other].get(one, 0) + number
    if len(touching) > 1:
        for one in [number for number, touched in enumerate(touching) if not touched]:
            touching[one][_nearest_section(one, label, walls.points_mm)] = 1
    return touching


def _nearest_section(one: int, label: NDArray[np.int64], points_mm: NDArray[np.float64]) -> int:
    others = np.flatnonzero(label != one)
    away_mm = np.linalg.norm(points_mm[others] - points_mm[label == one].mean(axis=0), axis=1)
    return int(label[others[np.argmin(away_mm)]])


def _merge_touching(touching: list[dict[int, int]], gone: int, target: int) -> None:
    for other, number in touching[gone].items():
        touching[other].pop(gone, None)
        if other != target:
            touching[target][other] = touching[target].get(other, 0) + number
            touching[other][target] = touching[other].get(target, 0) + number
    touching[gone] = {}
