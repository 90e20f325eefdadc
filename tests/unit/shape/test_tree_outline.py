"""The tree from the side."""

import pytest

from pourwright.shape.tree.outline import OutlineBox, OutlineRod, outline
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import TreePiece

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)


def _shapes(count):
    pieces = [TreePiece(f"ring {number}", (22.0, 22.0, 4.0), 2.0) for number in range(count)]
    return outline(build_tree(pieces, "FL-1", 63.5, 101.6, 12.0, RULES))


def test_the_flask_is_drawn_first_and_to_size():
    flask = _shapes(4)[0]
    assert (flask.what, flask.width_mm, flask.height_mm) == ("flask", pytest.approx(63.5), pytest.approx(101.6))
    assert flask.x_mm == pytest.approx(-63.5 / 2)


def test_every_piece_has_a_box_and_a_gate_inside_the_flask():
    shapes = _shapes(6)
    flask = shapes[0]
    boxes = [one for one in shapes if isinstance(one, OutlineBox)]
    gates = [one for one in shapes if isinstance(one, OutlineRod)]
    assert sorted(one.id for one in gates) == sorted(one.id for one in boxes if one.what == "piece")
    for one in boxes:
        assert one.x_mm >= flask.x_mm
        assert one.x_mm + one.width_mm <= flask.x_mm + flask.width_mm
        assert one.z_mm + one.height_mm <= flask.height_mm


def test_gates_rise_from_the_sprue_to_their_piece():
    shapes = _shapes(4)
    boxes = {one.id: one for one in shapes if isinstance(one, OutlineBox) and one.what == "piece"}
    (sprue,) = [one for one in shapes if isinstance(one, OutlineBox) and one.what == "sprue"]
    for gate in (one for one in shapes if isinstance(one, OutlineRod)):
        assert sprue.z_mm <= gate.z1_mm <= sprue.z_mm + sprue.height_mm
        assert gate.z1_mm < gate.z2_mm
        assert abs(gate.x1_mm) <= sprue.width_mm / 2 + 1e-9
        assert boxes[gate.id].z_mm <= gate.z2_mm <= boxes[gate.id].z_mm + boxes[gate.id].height_mm


def test_a_single_piece_needs_no_gate_beside_its_sprue():
    assert not [one for one in _shapes(1) if isinstance(one, OutlineRod)]
