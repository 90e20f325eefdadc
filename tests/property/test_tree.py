"""Trees of any pieces: apart from each other, the same again, and nothing lost."""

from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import TreePiece

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)
_SIDE = st.floats(1, 60)
_PIECES = st.lists(st.tuples(st.tuples(_SIDE, _SIDE, _SIDE), st.floats(0.3, 8)), min_size=1, max_size=9)


def _build(pieces):
    named = [TreePiece(str(number), box, section) for number, (box, section) in enumerate(pieces)]
    return build_tree(named, "FL-1", 76.0, 120.0, 12.0, RULES)


@settings(max_examples=80, deadline=None)
@given(_PIECES)
def test_pieces_never_come_nearer_than_asked(pieces):
    gap = _build(pieces).piece_clearance_mm
    assert (gap is None) == (len(pieces) == 1)
    assert gap is None or gap >= 3.0 - 1e-6


@settings(max_examples=40, deadline=None)
@given(_PIECES)
def test_the_same_pieces_give_the_same_tree(pieces):
    assert _build(pieces) == _build(pieces)


@settings(max_examples=40, deadline=None)
@given(_PIECES)
def test_every_piece_is_placed_once_above_the_funnel_and_off_the_sprue(pieces):
    tree = _build(pieces)
    assert [one.id for one in tree.placed] == [str(number) for number in range(len(pieces))]
    for one in tree.placed:
        assert one.centre_mm[2] - one.box_mm[2] / 2 >= tree.funnel_depth_mm
        assert one.centre_mm[2] + one.box_mm[2] / 2 <= tree.top_mm + 1e-9
        if len(pieces) > 1:
            inner = (one.centre_mm[0] ** 2 + one.centre_mm[1] ** 2) ** 0.5 - one.box_mm[0] / 2
            assert inner > tree.sprue_diameter_mm / 2
