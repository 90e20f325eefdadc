"""Edges, turning and shells."""

from __future__ import annotations

import numpy as np

from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.topology import (
    edges_of,
    neighbour_lists,
    open_edges,
    shells_of,
    turned_alike,
    used_only,
    without_doubles,
)

BOX = solids.box(2.0, 3.0, 4.0)


def test_a_closed_mesh_has_no_open_edge_and_a_torn_one_has_the_rim_in_the_sense_of_the_patch():
    assert not len(open_edges(edges_of(BOX)))
    sides = open_edges(edges_of(solids.without_faces(BOX, [5])))
    gone = BOX.faces[5]
    assert {tuple(side) for side in sides.tolist()} == {(gone[0], gone[1]), (gone[1], gone[2]), (gone[2], gone[0])}


def test_an_edge_shared_by_four_triangles_is_no_hole():
    two = solids.beside(BOX, solids.moved(BOX, (2.0, 3.0, 0.0)))
    vertices, faces = np.unique(two.vertices_mm, axis=0, return_inverse=True)
    touching = Mesh(vertices, faces.reshape(-1)[two.faces])
    assert edges_of(touching).counts.max() == 4
    assert not len(open_edges(edges_of(touching)))
    assert np.bincount(shells_of(touching)).tolist() == [12, 12]


def test_turning_makes_neighbours_agree_and_keeps_the_sense_of_the_majority():
    mixed = BOX.faces.copy()
    mixed[[1, 4, 7]] = mixed[[1, 4, 7], ::-1]
    mesh = turned_alike(Mesh(BOX.vertices_mm, mixed))
    assert mass.volume_mm3(mesh) > 0
    assert np.array_equal(mesh.faces, BOX.faces)
    inverted = solids.flipped(BOX)
    assert turned_alike(inverted) is inverted


def test_copies_are_kept_once_and_a_triangle_and_its_back_cancel():
    doubled = Mesh(BOX.vertices_mm, np.vstack([BOX.faces, np.roll(BOX.faces[:2], 1, axis=1)]))
    assert len(without_doubles(doubled).faces) == len(BOX.faces)
    with_back = Mesh(BOX.vertices_mm, np.vstack([BOX.faces, BOX.faces[:1], BOX.faces[:1, ::-1]]))
    assert len(without_doubles(with_back).faces) == len(BOX.faces)
    sheet = np.array([[0, 3, 5], [5, 3, 0]])
    assert len(without_doubles(Mesh(BOX.vertices_mm, np.vstack([BOX.faces, sheet]))).faces) == len(BOX.faces)
    assert mass.volume_mm3(without_doubles(doubled)) == mass.volume_mm3(BOX)


def test_shells_are_told_apart():
    label = shells_of(solids.beside(BOX, solids.moved(BOX, (9, 0, 0)), solids.sphere(1.0, 8)))
    assert label.max() == 2
    assert np.bincount(label)[:2].tolist() == [12, 12]


def test_unused_vertices_go():
    extra = Mesh(np.vstack([[[9.0, 9, 9]], BOX.vertices_mm]), BOX.faces + 1)
    assert np.array_equal(used_only(extra).vertices_mm, BOX.vertices_mm)


def test_neighbour_lists_hold_each_pair_from_both_sides():
    starts, neighbours = neighbour_lists(np.array([[0, 1], [1, 2]]), 4)
    lists = [sorted(neighbours[starts[one] : starts[one + 1]].tolist()) for one in range(4)]
    assert lists == [[1], [0, 2], [1], []]
