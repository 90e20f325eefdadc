"""Pieces, gates, sprue and button put together as one body."""

from math import pi

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import BOX_MM, FUNNEL_MM, made_up_job, two_balls

from pourwright.shape.pattern import mass
from pourwright.shape.pattern.shells import split
from pourwright.shape.pattern.solids import beside, box, moved, ring_band, sphere, without_faces
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import TreePiece
from pourwright.simulate.tree_solid import join_tree

RULES = tree_rules(9.0, 0.25, 3.0)
RING = ring_band(8.0, 4.0, 1.6)


def joined(*pieces, volume_mm3=None):
    tree = build_tree(pieces, "FL-01", 63.5, 101.6, 9.0, RULES)
    return join_tree(tree, pieces, volume_mm3 or {}, 18.0, 9.0)


def ring(name="P1"):
    return TreePiece(name, tuple(np.ptp(RING.vertices_mm, axis=0).tolist()), 1.6, RING)


def test_one_piece_stands_on_sprue_and_button_as_one_body():
    solid, findings = joined(ring())
    assert findings == ()
    assert len(split(solid.mesh)) == 1
    assert [one.name for one in solid.bars] == ["sprue"]
    parts_mm3 = mass.volume_mm3(RING) + pi * 81 * 9 + pi * solid.bars[0].radius_mm ** 2 * (solid.bars[0].end_mm[2] - 9)
    assert solid.volume_mm3 == pytest.approx(parts_mm3, rel=0.01)
    assert solid.mesh.vertices_mm[:, 2].min() == 0


def test_several_pieces_have_a_gate_each_and_all_hang_together():
    pieces = [ring(f"P{number}") for number in range(4)]
    solid, findings = joined(*pieces)
    assert findings == ()
    assert [one.name for one in solid.bars] == ["sprue", *(f"gate:P{number}" for number in range(4))]
    assert len(split(solid.mesh)) == 1


def test_no_gate_sticks_out_of_the_far_side_of_a_thin_wall():
    thin = moved(box(0.8, 12.0, 16.0), (0, 0, 0))
    pieces = [TreePiece(name, (0.8, 12.0, 16.0), 3.0, thin) for name in ("P1", "P2")]
    solid, _ = joined(*pieces)
    for gate in solid.bars[1:]:
        piece = solid.pieces[gate.name.partition(":")[2]]
        others = piece.vertices_mm
        out = np.hypot(gate.end_mm[0], gate.end_mm[1])
        assert out < np.hypot(others[:, 0], others[:, 1]).max()


def test_an_open_pattern_is_refused_by_name():
    broken = without_faces(RING, [0, 1, 2])
    solid, (finding,) = joined(ring("P1"), TreePiece("P2", ring().box_mm, 1.6, broken))
    assert solid is None
    assert (finding.code, finding.where) == ("simulate.mesh-open", "P2")


def test_a_piece_of_two_bodies_that_do_not_touch_is_refused():
    apart = beside(sphere(2.0, 32), moved(sphere(2.0, 32), (0, 0, 9)))
    solid, (finding,) = joined(TreePiece("P1", (4.0, 4.0, 13.0), 3.0, apart))
    assert solid is None
    assert finding.code == "simulate.piece-apart"


def test_a_piece_without_a_mesh_is_a_block_of_its_volume_and_said_to_be():
    piece = TreePiece("P1", (22.0, 22.0, 4.0), 3.2)
    solid, (finding,) = joined(piece, volume_mm3={"P1": 1000.0})
    assert solid.blocks == ("P1",)
    assert mass.volume_mm3(solid.pieces["P1"]) == pytest.approx(1000.0)
    assert sorted(np.ptp(solid.pieces["P1"].vertices_mm, axis=0))[0] == pytest.approx(4.0)
    assert finding.code == "simulate.piece-as-block"
    assert "P1: 4.0" in finding.what


def test_a_gate_finds_a_piece_whose_middle_is_hollow():
    """The straight way from the sprue ends in the hole of a ring that faces it; the gate goes to its rim."""
    facing = TreePiece("P1", (4.0, 19.2, 19.2), 1.6, ring_facing_the_sprue())
    solid, findings = joined(facing, TreePiece("P2", (4.0, 19.2, 19.2), 1.6, ring_facing_the_sprue()))
    assert findings == ()
    assert len(split(solid.mesh)) == 1


def ring_facing_the_sprue():
    from pourwright.shape.pattern.solids import rotated

    return rotated(RING, (0, 1, 0), 90)


def test_the_made_up_flask_holds_what_it_should():
    job = made_up_job()
    assert job.solid.button_height_mm == FUNNEL_MM
    assert np.ptp(two_balls().vertices_mm, axis=0) == pytest.approx(BOX_MM, abs=0.02)
