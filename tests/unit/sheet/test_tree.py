"""The tree's drawing: scale, places of labels, pieces not mirrored, gates that reach."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from tests.unit.sheet.sample_plan import block, fig

from pourwright.shape.pattern.report import Mesh
from pourwright.shape.tree.simple import Placed
from pourwright.sheet import tree


def _volume(mesh):
    first, second, third = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    return np.einsum("fa,fa->f", first, np.cross(second, third)).sum() / 6


def test_usual_flask_is_drawn_full_size_and_a_large_one_at_half(plan):
    assert tree.tree_drawing(plan, plan.flasks[0])["scale"] == "1 : 1"
    wide = replace(plan.studio.flasks[0], diameter_mm=fig(101.6, "mm"))
    large = replace(plan, studio=replace(plan.studio, flasks=(wide, *plan.studio.flasks[1:])))
    assert tree.tree_drawing(large, plan.flasks[0])["scale_ratio"] == 0.5


def test_labels_move_until_none_covers_another():
    wanted = [(0.0, 10.0), (2.0, 10.5), (1.0, 11.0), (30.0, 10.0), (-1.0, 40.0)]
    spots = tree.label_spots(wanted)
    for (x, z), (x2, z2) in combinations(spots, 2):
        assert abs(x - x2) >= 9.5 or abs(z - z2) >= 5.0 - 1e-9
    assert spots[0] == wanted[0]
    assert spots[3] == wanted[3]


@pytest.mark.parametrize("turn", [(0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)])
def test_piece_on_the_tree_keeps_its_box_and_is_not_mirrored(plan, turn):
    mesh = block(14, 11, 5)
    box = tuple(float((14, 11, 5)[axis]) for axis in turn)
    placed = Placed("p", turn, box, (20.0, 0.0, 50.0), 0.0, 2.5, 6.0)
    piece = replace(plan.pieces[1], pattern=replace(plan.pieces[1].pattern, mesh=mesh))
    there = tree._in_place(placed, piece)
    assert np.allclose(np.ptp(there.vertices_mm, axis=0), box)
    assert np.allclose((there.vertices_mm.min(axis=0) + there.vertices_mm.max(axis=0)) / 2, (20, 0, 50))
    assert np.isclose(_volume(there), _volume(mesh))


def test_piece_without_a_mesh_stands_as_a_lump_of_its_box(plan):
    placed = Placed("p", (0, 1, 2), (8.0, 6.0, 20.0), (0.0, 15.0, 40.0), 90.0, 2.5, 6.0)
    lump = tree._in_place(placed, plan.pieces[2])
    assert np.allclose(np.ptp(lump.vertices_mm, axis=0), (6, 8, 20), rtol=0.02)


def test_gate_reaches_from_the_sprue_into_the_piece(plan):
    one = plan.flasks[0]
    placed = one.tree.placed[0]
    gate = tree._gate(placed, one.tree.sprue_diameter_mm / 2)
    x, y, _ = placed.centre_mm
    outward = gate.vertices_mm[:, :2] @ (np.array([x, y]) / np.hypot(x, y))
    assert outward.min() < one.tree.sprue_diameter_mm / 2
    assert outward.max() > np.hypot(x, y) - placed.box_mm[0] / 2


def test_tree_picture_spans_the_flask(plan):
    picture = tree.tree_picture(plan, plan.flasks[0])
    assert (picture.width_mm, picture.height_mm) == (63.5, 101.6)


def test_bodies_are_joined_without_mixing_their_corners():
    one = block(1, 1, 1)
    other = Mesh(one.vertices_mm + 5.0, one.faces)
    both = tree._joined([one, other])
    assert np.isclose(_volume(both), 2.0 * _volume(one))
