"""What is said about a tree's clearances."""

from dataclasses import replace

import pytest

from pourwright.core.findings import Level
from pourwright.shape.tree.clearances import check_clearances
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import TreePiece

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)
# A bar of 76 mm on a sprue of 5 mm over a funnel of 7.9 mm makes a tree 88.9 mm tall.
_BAR = TreePiece("bar", (8.0, 8.0, 76.0), 2.0)


def _tall_tree():
    short = replace(RULES, gate_short_mm=5.0, gate_long_mm=5.0)
    return build_tree([_BAR], "FL-1", 63.5, 101.6, 88.9 - 76.0 - 5.0, short)


def _codes(tree, rules=RULES):
    return [(one.code, one.level) for one in check_clearances(tree, rules, "F1")]


def test_a_tree_of_88_9_in_a_flask_of_101_6_is_to_be_lowered_by_3_2():
    tree = _tall_tree()
    assert tree.top_mm == pytest.approx(88.9)
    (finding,) = check_clearances(tree, RULES, "F1")
    assert (finding.code, finding.level) == ("shape.tree-end-thin", Level.LOOK)
    assert "12.7" in finding.what
    assert "15.9" in finding.what
    assert "Lower by 3.2\u00a0mm or take a taller flask" in finding.do_next
    assert finding.sources


def test_the_cover_rule_is_the_studios_to_change():
    assert _codes(_tall_tree(), replace(RULES, end_per_diameter_ratio=0.20)) == []


@pytest.mark.parametrize(
    ("changes", "code", "level"),
    [
        ({"end_clearance_mm": 9.9}, "shape.tree-end-refused", Level.STOP),
        ({"end_clearance_mm": 10.0}, "shape.tree-end-thin", Level.LOOK),
        ({"end_clearance_mm": -1.0}, "shape.tree-too-tall", Level.STOP),
        ({"end_clearance_mm": 20.5}, "shape.tree-end-thick", Level.NOTE),
        ({"wall_clearance_mm": 9.5}, "shape.tree-wall-thin", Level.LOOK),
        ({"wall_clearance_mm": 5.9}, "shape.tree-wall-refused", Level.STOP),
        ({"wall_clearance_mm": -0.5}, "shape.tree-too-wide", Level.STOP),
        ({"piece_clearance_mm": 2.5}, "shape.tree-pieces-close", Level.LOOK),
        ({"sprue_diameter_mm": 11.0}, "shape.tree-sprue-thick", Level.NOTE),
    ],
)
def test_each_limit_has_its_finding(changes, code, level):
    tree = replace(_tall_tree(), **({"end_clearance_mm": 18.0} | changes))
    tree = replace(tree, reach_mm=63.5 / 2 - tree.wall_clearance_mm)
    assert _codes(tree) == [(code, level)]
    assert all(one.what and one.do_next for one in check_clearances(tree, RULES, "F1"))


def test_a_tree_at_its_limits_is_left_alone():
    tree = replace(_tall_tree(), end_clearance_mm=0.25 * 63.5, wall_clearance_mm=10.0, piece_clearance_mm=3.0)
    assert _codes(replace(tree, reach_mm=63.5 / 2 - 10.0)) == []
