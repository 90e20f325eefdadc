"""Building the tree."""

from math import hypot, pi

import pytest

from pourwright.shape.tree.boxes import gap_mm, reach_mm
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import Placed, TreePiece

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)
_RING = (22.0, 22.0, 4.0)


def _build(pieces, diameter=63.5, height=101.6, funnel=12.0):
    return build_tree(pieces, "FL-1", diameter, height, funnel, RULES)


def _rings(count):
    return [TreePiece(f"ring {number}", _RING, 2.0) for number in range(count)]


def test_gate_rules_come_from_the_practice_tables():
    assert (RULES.gate_per_section_ratio, RULES.gate_short_mm, RULES.gate_long_mm) == (1.5, 5.0, 12.0)
    assert (RULES.gate_angle_deg, RULES.sprue_low_mm, RULES.sprue_high_mm) == (45.0, 5.0, 10.0)


def test_one_piece_stands_on_its_sprue_longest_side_up():
    tree = _build([TreePiece("pendant", (18.0, 40.0, 3.0), 2.0)])
    (placed,) = tree.placed
    assert placed.box_mm[2] == 40.0
    assert placed.centre_mm[:2] == (0.0, 0.0)
    assert tree.sprue_diameter_mm == placed.gate_diameter_mm == 3.0
    assert tree.gates_volume_mm3 == 0
    assert tree.sprue_volume_mm3 == pytest.approx(pi / 4 * 9 * tree.sprue_length_mm)
    assert tree.piece_clearance_mm is None


def test_one_piece_too_long_to_stand_is_laid():
    tree = _build([TreePiece("bar", (30.0, 6.0, 6.0), 2.0)], height=50.0)
    assert tree.placed[0].box_mm[2] == 6.0
    assert tree.end_clearance_mm >= 0.25 * 63.5


def test_one_piece_is_lowered_to_keep_the_cover():
    tall, short = (_build([TreePiece("bar", (6.0, 6.0, 55.0), 2.0)], height=height) for height in (101.6, 90.0))
    assert tall.sprue_length_mm == 12.0
    assert short.sprue_length_mm == pytest.approx(90.0 - 0.25 * 63.5 - 12.0 - 55.0)


def test_a_thin_piece_gets_a_gate_no_thinner_than_the_floor():
    tree = _build([TreePiece("leaf", (15.0, 8.0, 1.0), 0.6)] * 2)
    assert {one.gate_diameter_mm for one in tree.placed} == {2.0}


def test_the_shared_sprue_is_thicker_than_every_gate():
    tree = _build([*_rings(2), TreePiece("signet", (24.0, 21.0, 9.0), 4.0)])
    assert tree.sprue_diameter_mm > max(one.gate_diameter_mm for one in tree.placed)


def test_metal_of_sprue_and_gates_is_theirs_alone():
    tree = _build(_rings(4))
    gates = sum(pi / 4 * one.gate_diameter_mm**2 * one.gate_length_mm for one in tree.placed)
    assert tree.gates_volume_mm3 == pytest.approx(gates)
    assert tree.sprue_volume_mm3 == pytest.approx(pi / 4 * tree.sprue_diameter_mm**2 * tree.sprue_length_mm)
    assert tree.funnel_depth_mm == 12.0


def test_the_thickest_section_stands_nearest_the_button():
    pieces = [*_rings(3), TreePiece("block", (20.0, 20.0, 20.0), 6.0)]
    placed = {one.id: one for one in _build(pieces, diameter=76.0, height=120.0).placed}
    foot = {name: one.centre_mm[2] - one.box_mm[2] / 2 for name, one in placed.items()}
    assert foot["block"] == min(foot.values())


def test_gates_are_lengthened_only_when_the_tree_does_not_fit_otherwise():
    assert _build(_rings(4)).placed[0].gate_length_mm == 5.0
    assert _build(_rings(6)).placed[0].gate_length_mm > 5.0


def test_pieces_keep_the_order_they_were_given():
    pieces = [*_rings(3), TreePiece("leaf", (15.0, 8.0, 1.0), 0.6)]
    assert [one.id for one in _build(pieces).placed] == [one.id for one in pieces]


def test_the_turned_box_is_the_patterns_box_permuted():
    for placed in _build([TreePiece("a", (1.0, 2.0, 3.0), 1.0), TreePiece("b", (9.0, 5.0, 7.0), 1.0)]).placed:
        box = {"a": (1.0, 2.0, 3.0), "b": (9.0, 5.0, 7.0)}[placed.id]
        assert placed.box_mm == tuple(box[axis] for axis in placed.turn)


def test_clearances_follow_from_reach_and_top():
    tree = _build(_rings(6))
    assert tree.wall_clearance_mm == pytest.approx(63.5 / 2 - max(reach_mm(one) for one in tree.placed))
    assert tree.end_clearance_mm == pytest.approx(101.6 - tree.top_mm)


@pytest.mark.parametrize(
    "pieces", [[], [TreePiece("flat", (0.0, 1.0, 1.0), 1.0)], [TreePiece("x", (1.0, 1.0, 1.0), 0.0)]]
)
def test_a_tree_of_nothing_is_refused(pieces):
    with pytest.raises(ValueError, match="piece"):
        _build(pieces)


def _block(x, y, angle=0.0, z=0.0):
    return Placed("block", (0, 1, 2), (10.0, 4.0, 6.0), (x, y, z), angle, 2.0, 5.0)


def test_gaps_between_boxes_beside_above_and_at_an_angle():
    assert gap_mm(_block(0, 0), _block(15, 0)) == pytest.approx(5.0)
    assert gap_mm(_block(0, 0), _block(0, 0, z=9.0)) == pytest.approx(3.0)
    assert gap_mm(_block(0, 0), _block(13, 8, z=10.0)) == pytest.approx(hypot(3, 4, 4))
    assert gap_mm(_block(0, 0), _block(20, 0, angle=90.0)) == pytest.approx(13.0)
    assert gap_mm(_block(0, 0), _block(0, 0, angle=45.0)) == 0.0


def test_reach_is_that_of_the_farthest_corner():
    assert reach_mm(_block(10, 0)) == pytest.approx(hypot(15, 2))
