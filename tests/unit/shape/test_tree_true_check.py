"""Clearances measured on the true shapes."""

from dataclasses import replace
from math import hypot

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.core.findings import Level
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.tree.bodies import bodies_of, body_of, placed_points_mm, turn_matrix
from pourwright.shape.tree.clearances import check_clearances
from pourwright.shape.tree.placing import build_tree, tree_of
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.shape.tree.true_check import check_true

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)
_ALL_TURNS = [(0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)]


def _piece(name, mesh, section=2.0):
    return TreePiece(name, tuple(np.ptp(mesh.vertices_mm, axis=0).tolist()), section, mesh)


def _at(piece, x=0.0, y=0.0, z=50.0, angle=0.0):
    return Placed(piece.id, (0, 1, 2), piece.box_mm, (x, y, z), angle, 2.0, 5.0)


def _checked(pieces, places):
    tree = tree_of("FL-1", places, 5.0, 40.0, 80.0, 100.0, 10.0)
    return check_true(tree, bodies_of(pieces))


def _codes(tree):
    return [(one.code, one.level) for one in check_clearances(tree, RULES, "F1")]


def test_two_balls_are_as_far_apart_as_their_centres_say():
    pieces = [_piece("a", solids.sphere(6.0)), _piece("b", solids.sphere(6.0))]
    tree = _checked(pieces, [_at(pieces[0]), _at(pieces[1], 10.0, 10.0, 58.0)])
    true_gap = hypot(10.0, 10.0, 8.0) - 12.0
    assert tree.piece_clearance_mm == 0.0  # the boxes overlap
    assert true_gap - 0.35 <= tree.true_piece_clearance_mm <= true_gap + 0.02
    assert tree.true_overlaps == ()
    assert tree.true_closest == ("a", "b")


def test_balls_that_stand_in_each_other_are_named_and_stop_the_plan():
    pieces = [_piece("a", solids.sphere(6.0)), _piece("b", solids.sphere(6.0))]
    tree = _checked(pieces, [_at(pieces[0]), _at(pieces[1], 10.0)])
    assert tree.true_overlaps == (("a", "b"),)
    assert tree.true_piece_clearance_mm == 0.0
    assert ("shape.tree-pieces-overlap", Level.STOP) in _codes(tree)


def test_a_ball_wholly_inside_a_hollow_one_is_caught():
    """No surface is touched and the void holds no metal, so a distance alone finds a gap of 4 mm."""
    pieces = [_piece("shell", solids.hollow_sphere(12.0, 8.0)), _piece("ball", solids.sphere(4.0))]
    tree = _checked(pieces, [_at(pieces[0]), _at(pieces[1])])
    assert tree.true_overlaps == (("shell", "ball"),)


def test_a_ball_in_the_hole_of_a_ring_touches_nothing():
    pieces = [_piece("ring", solids.torus(12.0, 1.5)), _piece("ball", solids.sphere(3.0))]
    tree = _checked(pieces, [_at(pieces[0]), _at(pieces[1])])
    assert tree.true_overlaps == ()
    assert 7.0 <= tree.true_piece_clearance_mm <= 7.6


def test_a_round_piece_has_more_room_to_the_wall_than_its_box():
    piece = _piece("ball", solids.sphere(10.0))
    tree = _checked([piece], [_at(piece, 15.0)])
    assert tree.true_wall_clearance_mm == pytest.approx(40.0 - 25.0, abs=0.05)
    assert tree.wall_clearance_mm < 13.1
    assert tree.true_end_clearance_mm == pytest.approx(40.0, abs=0.05)
    assert (tree.true_outermost, tree.true_piece_clearance_mm) == ("ball", None)


def test_a_piece_without_a_mesh_counts_as_its_box():
    pieces = [TreePiece("weighed", (10.0, 10.0, 10.0), 2.0), _piece("ball", solids.sphere(5.0))]
    tree = _checked(pieces, [_at(pieces[0], -6.0), _at(pieces[1], 6.0)])
    assert tree.true_meshes_count == 1
    assert 1.7 <= tree.true_piece_clearance_mm <= 2.01
    (close,) = [one for one in check_clearances(tree, RULES, "F1") if one.code == "shape.tree-pieces-close"]
    assert "a box for each piece without one" in close.what


def test_a_surface_that_touches_itself_counts_as_its_box():
    ball = solids.sphere(5.0)
    torn = Mesh(ball.vertices_mm, np.vstack([ball.faces, ball.faces[:1]]))
    assert not body_of(torn, (10.0, 10.0, 10.0)).meshed


@pytest.mark.parametrize("turn", _ALL_TURNS)
def test_a_turned_pattern_fills_its_turned_box_and_is_never_mirrored(turn):
    body = body_of(solids.box(3.0, 5.0, 7.0), (3.0, 5.0, 7.0))
    sides = tuple((3.0, 5.0, 7.0)[axis] for axis in turn)
    placed = Placed("p", turn, sides, (1.0, 2.0, 30.0), 0.0, 2.0, 5.0)
    assert np.ptp(placed_points_mm(body, placed), axis=0) == pytest.approx(sides)
    assert np.linalg.det(turn_matrix(turn)) == pytest.approx(1.0)


def test_the_method_is_said():
    piece = _piece("bar", solids.box(6.0, 6.0, 76.0))
    tree = build_tree([piece], "FL-1", 63.5, 101.6, 8.0, replace(RULES, gate_long_mm=5.0))
    said = [one.what for one in check_clearances(tree, RULES, "F1")]
    true = [one.what for one in check_clearances(check_true(tree, bodies_of([piece])), RULES, "F1")]
    assert "boxes" in said[0]
    assert "meshes" in true[0]


def _drawn(kind, size, number):
    shapes = {
        "ball": lambda: solids.sphere(size, 24),
        "ring": lambda: solids.torus(1.5 * size, 0.3 * size, 32),
        "band": lambda: solids.ring_band(size, 0.8 * size, 0.3 * size, 32),
        "bell": lambda: solids.dumbbell(0.6 * size, 0.2 * size, 2.0 * size, 24),
    }
    return _piece(f"p{number}", shapes[kind]())


_SHAPE = st.tuples(st.sampled_from(["ball", "ring", "band", "bell"]), st.floats(3.0, 9.0))


@settings(max_examples=12, deadline=None)
@given(st.lists(_SHAPE, min_size=2, max_size=5))
def test_pieces_of_a_tree_never_overlap_and_keep_their_gap_on_the_meshes(drawn):
    pieces = [_drawn(*one, number) for number, one in enumerate(drawn)]
    tree = check_true(build_tree(pieces, "FL-1", 90.0, 140.0, 10.0, RULES), bodies_of(pieces))
    assert tree.true_overlaps == ()
    assert tree.true_piece_clearance_mm >= RULES.piece_mm - 1e-6
    assert tree.true_wall_clearance_mm >= tree.wall_clearance_mm - 1e-6
    assert tree.true_end_clearance_mm >= tree.end_clearance_mm - 1e-6
