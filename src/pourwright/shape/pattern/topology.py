"""Which triangles share edges: open edges, one sense of turning, and shells.

A mesh is closed when every edge is run through as often one way as the other. That allows an edge shared by four
triangles, as where two bodies touch along a line, which is no hole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh


@dataclass(frozen=True)
class Edges:
    """All triangle sides, sorted so that sides along the same edge stand together.

    ``low`` and ``high`` are vertex numbers, ``forward`` says whether the side runs from low to high, ``face`` whose
    side it is; ``starts`` is where each edge's sides begin. All but ``starts`` have three entries a triangle.
    """

    low: NDArray[np.int64]
    high: NDArray[np.int64]
    forward: NDArray[np.bool_]
    face: NDArray[np.int64]
    starts: NDArray[np.int64]

    @property
    def counts(self) -> NDArray[np.int64]:
        """How many sides each edge has."""
        return np.diff(np.append(self.starts, len(self.low)))


def edges_of(mesh: Mesh) -> Edges:
    """Sort the sides of all triangles by edge."""
    from pourwright.shape.pattern.kernels.joining import _kernels

    sides = 3 * len(mesh.faces)
    low, high, face = (np.empty(sides, np.int64) for _ in range(3))
    forward = np.empty(sides, np.bool_)
    faces = np.ascontiguousarray(mesh.faces, dtype=np.int64)
    _kernels.sort_sides(faces, len(mesh.vertices_mm), low, high, forward, face)
    new = np.ones(sides, np.bool_)
    new[1:] = (low[1:] != low[:-1]) | (high[1:] != high[:-1])
    return Edges(low, high, forward, face, np.flatnonzero(new))


def open_edges(edges: Edges) -> NDArray[np.int64]:
    """Return the sides that no triangle answers, as (from, to) in the sense a closing patch needs; shape (n, 2)."""
    if not len(edges.low):
        return np.zeros((0, 2), np.int64)
    surplus = np.add.reduceat(np.where(edges.forward, 1, -1), edges.starts)
    low, high = edges.low[edges.starts], edges.high[edges.starts]
    ahead, behind = np.maximum(surplus, 0), np.maximum(-surplus, 0)
    return np.vstack(
        [
            np.column_stack([np.repeat(high, ahead), np.repeat(low, ahead)]),
            np.column_stack([np.repeat(low, behind), np.repeat(high, behind)]),
        ]
    )


def turned_alike(mesh: Mesh) -> Mesh:
    """Return the mesh with neighbours turning the same way; each shell keeps the sense most of its triangles had."""
    from pourwright.shape.pattern.kernels.joining import _kernels

    edges = edges_of(mesh)
    pair = edges.starts[edges.counts == 2]
    differs = edges.forward[pair] == edges.forward[pair + 1]
    if not differs.any():
        return mesh
    first, second = edges.face[pair], edges.face[pair + 1]
    starts, neighbours, place = _lists(first, second, len(mesh.faces))
    flip = np.full(len(mesh.faces), -1, np.int8)
    _kernels.spread_flips(starts, neighbours, differs[place], flip)
    patch = _sets(first, second, len(mesh.faces))
    most = np.bincount(patch, weights=flip) > np.bincount(patch) / 2
    turn = (flip > 0) != most[patch]
    return Mesh(mesh.vertices_mm, np.where(turn[:, None], mesh.faces[:, ::-1], mesh.faces))


def _lists(
    first: NDArray[np.int64], second: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Turn pairs into a list of neighbours for each member: where each list starts, the neighbours, their pair."""
    owner = np.concatenate([first, second])
    order = np.argsort(owner, kind="stable")
    starts = np.concatenate([[0], np.cumsum(np.bincount(owner, minlength=count))])
    return starts, np.concatenate([second, first])[order], order % len(first)


def neighbour_lists(pairs: NDArray[np.int64], count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return where each member's list of neighbours starts, and the neighbours, from pairs of shape (n, 2)."""
    starts, neighbours, _ = _lists(pairs[:, 0], pairs[:, 1], count)
    return starts, neighbours


def _sets(first: NDArray[np.int64], second: NDArray[np.int64], count: int) -> NDArray[np.int64]:
    from pourwright.shape.pattern.kernels.joining import _kernels

    parent = np.arange(count)
    _kernels.join(parent, np.ascontiguousarray(first), np.ascontiguousarray(second))
    return np.unique(parent, return_inverse=True)[1]


def shells_of(mesh: Mesh) -> NDArray[np.int64]:
    """Number the shells: triangles that hang together over edges; returns the shell of each triangle.

    Bodies that touch along an edge stay apart where each is closed without the other.
    """
    edges = edges_of(mesh)
    pair = edges.starts[edges.counts == 2]
    patch = _sets(edges.face[pair], edges.face[pair + 1], len(mesh.faces))
    crowded = np.flatnonzero(np.repeat(edges.counts > 2, edges.counts))
    edge = np.repeat(np.arange(len(edges.starts)), edges.counts)[crowded]
    _, corner = np.unique(np.column_stack([edge, patch[edges.face[crowded]]]), axis=0, return_inverse=True)
    surplus = np.bincount(corner, np.where(edges.forward[crowded], 1, -1))
    open_edge = np.unique(edge[surplus[corner] != 0])
    bound = crowded[np.isin(edge, open_edge)]
    bound = bound[~np.isin(bound, edges.starts)]
    first = np.concatenate([edges.face[pair], edges.face[bound - 1]])
    second = np.concatenate([edges.face[pair + 1], edges.face[bound]])
    return _sets(first, second, len(mesh.faces))


def without_doubles(mesh: Mesh) -> Mesh:
    """Drop triangles on the same three corners: copies are kept once, a triangle and its back cancel."""
    edges = edges_of(mesh)
    crowded = np.repeat(edges.counts > 2, edges.counts)
    suspects = np.unique(edges.face[crowded])
    if not len(suspects):
        return mesh
    faces = mesh.faces[suspects]
    corner = np.sort(faces, axis=1)
    _, group = np.unique(corner, axis=0, return_inverse=True)
    low = np.argmin(faces, axis=1)
    rows = np.arange(len(faces))
    sense = np.where(faces[rows, (low + 1) % 3] == corner[:, 1], 1, -1)
    total = np.bincount(group, weights=sense)[group]
    wanted = (total != 0) & (np.sign(total) == sense)
    keep_first = np.zeros(len(faces), bool)
    keep_first[_firsts(group, wanted)] = True
    return Mesh(mesh.vertices_mm, np.delete(mesh.faces, suspects[~keep_first], axis=0))


def _firsts(group: NDArray[np.int64], wanted: NDArray[np.bool_]) -> NDArray[np.int64]:
    candidates = np.flatnonzero(wanted)
    _, first = np.unique(group[candidates], return_index=True)
    return candidates[first]


def used_only(mesh: Mesh) -> Mesh:
    """Drop vertices that no triangle uses."""
    used, faces = np.unique(mesh.faces, return_inverse=True)
    return Mesh(mesh.vertices_mm[used], faces.reshape(-1, 3))
