"""The clearances of a tree by the true shapes of its pieces, where boxes only give a bound.

Overlap and distance are two questions: of a piece wholly inside another no surface is touched, and the shared volume
finds it. Distances are measured between light copies of the meshes; what those may stray is taken off, so the true
gap is never smaller than the one said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations

import numpy as np

from pourwright.shape.tree.bodies import Body, place_matrix, placed_points_mm
from pourwright.shape.tree.boxes import gap_mm, smallest_gap_mm
from pourwright.shape.tree.simple import Placed, Tree

# Gaps are searched a little beyond the box gap that is known already; beyond this nobody asks.
_SEARCH_MM = 12.0
# Less shared volume than this is rounding where two surfaces touch.
_SHARED_DUST_MM3 = 1e-6


def check_true(tree: Tree, bodies: Mapping[str, Body]) -> Tree:
    """Return the tree with its clearances by true shapes.

    Parameters
    ----------
    tree : Tree
        As placed.
    bodies : mapping of str to Body
        By piece id.

    Returns
    -------
    Tree
        ``true_*`` filled in. A clearance to wall or end is negative where a piece stands out of the flask.
    """
    inside = check_inside(tree, bodies)
    gap, closest, overlaps = _gaps(tree, bodies)
    return replace(inside, true_piece_clearance_mm=gap, true_closest=closest, true_overlaps=overlaps)


def check_inside(tree: Tree, bodies: Mapping[str, Body]) -> Tree:
    """Return the tree with its true clearances to the flask's wall and end, and nothing about piece to piece.

    Parameters
    ----------
    tree : Tree
        As placed.
    bodies : mapping of str to Body
        By piece id.
    """
    radius_mm, height_mm = tree.reach_mm + tree.wall_clearance_mm, tree.top_mm + tree.end_clearance_mm
    reaches, tops = {}, []
    for one in tree.placed:
        points_mm = placed_points_mm(bodies[one.id], one)
        reaches[one.id] = float(np.hypot(points_mm[:, 0], points_mm[:, 1]).max())
        tops.append(float(points_mm[:, 2].max()))
    outermost = max(reaches, key=lambda name: reaches[name])
    meshed_count = sum(bodies[one.id].meshed for one in tree.placed)
    return replace(
        tree,
        true_wall_clearance_mm=radius_mm - max(reaches[outermost], tree.sprue_diameter_mm / 2),
        true_end_clearance_mm=height_mm - max(*tops, tree.funnel_depth_mm + tree.sprue_length_mm),
        true_outermost=outermost,
        true_meshes_count=meshed_count,
    )


def pair_gap_mm(one: Placed, other: Placed, bodies: Mapping[str, Body], search_mm: float = _SEARCH_MM) -> float | None:
    """Return a bound of the gap between two pieces [mm]: never more than the true one; None where they overlap.

    Parameters
    ----------
    one, other : Placed
        Where they are.
    bodies : mapping of str to Body
        By piece id.
    search_mm : float
        A gap larger than this is said to be this or the gap of the boxes, whichever is more [mm].
    """
    box_mm = gap_mm(one, other)
    if box_mm >= search_mm:
        return box_mm
    first = bodies[one.id].light.transform(place_matrix(one))
    second = bodies[other.id].light.transform(place_matrix(other))
    if box_mm == 0 and (first ^ second).volume() > _SHARED_DUST_MM3:
        return None
    stray_mm = bodies[one.id].stray_mm + bodies[other.id].stray_mm
    return max(box_mm, float(first.min_gap(second, search_mm)) - stray_mm, 0.0)


def _gaps(tree: Tree, bodies: Mapping[str, Body]) -> tuple[float | None, tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Return the smallest gap, the pair that it lies between, and the pairs that overlap."""
    smallest = smallest_gap_mm(tree.placed)
    if smallest is None:
        return None, (), ()
    # a true gap is at least the boxes' gap, so the nearest boxes first and no farther than the best so far
    pairs = sorted(combinations(tree.placed, 2), key=lambda pair: gap_mm(*pair))
    best, overlaps = _SEARCH_MM, []
    names: tuple[str, ...] = ()
    for one, other in pairs:
        if gap_mm(one, other) >= best:
            break
        gap = pair_gap_mm(one, other, bodies, best)
        if gap is None:
            overlaps.append((one.id, other.id))
        if gap is None or gap < best:
            best, names = gap or 0.0, (one.id, other.id)
    return max(best, smallest), names, tuple(overlaps)
