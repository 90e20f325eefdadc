"""What a tree's clearances mean: cover over the tree, mould to the wall, mould between pieces."""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.shape.tree.rules import TreeRules
from pourwright.shape.tree.simple import Tree

# Less cover than this is refused: the metal may break out (note of the practice rule inv.clear.end).
REFUSED_END_MM = 10.0
# Less mould to the wall than this is refused: practice allows so little only where nothing spins (inv.clear.wall).
REFUSED_WALL_MM = 6.0
_DUST = 1e-6


def check_clearances(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    """Compare a tree with the wanted clearances.

    Parameters
    ----------
    tree : Tree
        As placed, by bounding boxes; the real gaps are at least these.
    rules : TreeRules
        The studio's clearances.
    where : str
        The flask's name.

    Returns
    -------
    tuple of Finding
        Stop where the mould could burst, look where it is thinner than wanted, a note where it is thicker.
    """
    return (
        *_end(tree, rules, where),
        *_wall(tree, rules, where),
        *_pieces(tree, rules, where),
        *_sprue(tree, rules, where),
    )


def end_wanted_mm(flask_diameter_mm: float, rules: TreeRules) -> float:
    """Return the cover wanted over a tree [mm] in a flask of a diameter [mm]."""
    return rules.end_per_diameter_ratio * flask_diameter_mm


def _say(code: str, level: Level, where: str, practice: str, params: Mapping[str, object]) -> tuple[Finding, ...]:
    return (Finding(code, level, where, params, rule(practice).sources),)


def _end(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    diameter = 2 * (tree.reach_mm + tree.wall_clearance_mm)
    wanted, cover = end_wanted_mm(diameter, rules), tree.end_clearance_mm
    most = max(rule("inv.clear.end").high or 0.0, wanted)
    params = {
        "cover": show(cover, "mm"),
        "wanted": show(wanted, "mm"),
        "ratio": show(rules.end_per_diameter_ratio, "ratio"),
        "diameter": show(diameter, "mm"),
        "lower": show(wanted - cover, "mm"),
        "refused": show(REFUSED_END_MM, "mm"),
        "spare": show(cover - most, "mm"),
        "most": show(most, "mm"),
    }
    if cover <= 0:
        params["out"] = show(-cover, "mm")
        return _say("shape.tree-too-tall", Level.STOP, where, "inv.clear.end", params)
    if cover < REFUSED_END_MM - _DUST:
        return _say("shape.tree-end-refused", Level.STOP, where, "inv.clear.end", params)
    if cover < wanted - _DUST:
        return _say("shape.tree-end-thin", Level.LOOK, where, "inv.clear.end", params)
    if cover > most + _DUST:
        return _say("shape.tree-end-thick", Level.NOTE, where, "inv.clear.end", params)
    return ()


def _wall(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    outermost = max(tree.placed, key=lambda one: sum(side**2 for side in one.centre_mm[:2]))
    params = {
        "clearance": show(tree.wall_clearance_mm, "mm"),
        "wanted": show(rules.wall_mm, "mm"),
        "refused": show(REFUSED_WALL_MM, "mm"),
        "short": show(rules.wall_mm - tree.wall_clearance_mm, "mm"),
        "piece": outermost.id,
    }
    if tree.wall_clearance_mm <= 0:
        params["out"] = show(-tree.wall_clearance_mm, "mm")
        return _say("shape.tree-too-wide", Level.STOP, where, "inv.clear.wall", params)
    if tree.wall_clearance_mm < REFUSED_WALL_MM - _DUST:
        return _say("shape.tree-wall-refused", Level.STOP, where, "inv.clear.wall", params)
    if tree.wall_clearance_mm < rules.wall_mm - _DUST:
        return _say("shape.tree-wall-thin", Level.LOOK, where, "inv.clear.wall", params)
    return ()


def _pieces(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    gap = tree.piece_clearance_mm
    if gap is None or gap >= rules.piece_mm - _DUST:
        return ()
    params = {"gap": show(gap, "mm"), "wanted": show(rules.piece_mm, "mm")}
    return _say("shape.tree-pieces-close", Level.LOOK, where, "inv.space.patterns", params)


def _sprue(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    if tree.sprue_diameter_mm <= rules.sprue_high_mm + _DUST:
        return ()
    thickest = max(tree.placed, key=lambda one: one.gate_diameter_mm)
    params = {
        "sprue": show(tree.sprue_diameter_mm, "mm"),
        "most": show(rules.sprue_high_mm, "mm"),
        "gate": show(thickest.gate_diameter_mm, "mm"),
        "piece": thickest.id,
    }
    return _say("shape.tree-sprue-thick", Level.NOTE, where, "gate.mainsprue", params)
