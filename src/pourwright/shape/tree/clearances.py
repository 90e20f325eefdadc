"""What a tree's clearances mean: cover over the tree, mould to the wall, mould between pieces.

The true clearances are judged where they were measured, otherwise those of the pieces' boxes; each finding says which.
"""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
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
        As placed; its true clearances are judged where they are known.
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
        *_overlaps(tree, where),
        *_pieces(tree, rules, where),
        *_sprue(tree, rules, where),
    )


def wall_clearance_mm(tree: Tree) -> float:
    """Return the least mould between a piece and the flask's wall [mm], the true one where it is known."""
    return tree.wall_clearance_mm if tree.true_wall_clearance_mm is None else tree.true_wall_clearance_mm


def end_clearance_mm(tree: Tree) -> float:
    """Return the cover over the tree [mm], the true one where it is known."""
    return tree.end_clearance_mm if tree.true_end_clearance_mm is None else tree.true_end_clearance_mm


def piece_clearance_mm(tree: Tree) -> float | None:
    """Return the least mould between two pieces [mm], the true one where it is known; None for a single piece."""
    return tree.piece_clearance_mm if tree.true_piece_clearance_mm is None else tree.true_piece_clearance_mm


def how_measured(tree: Tree) -> str:
    """Return the words for how the clearances were found: by the meshes, by boxes, or by both."""
    if tree.true_wall_clearance_mm is None or not tree.true_meshes_count:
        return say("shape.tree-by-boxes")
    if tree.true_meshes_count < len(tree.placed):
        return say("shape.tree-by-both")
    return say("shape.tree-by-meshes")


def end_wanted_mm(flask_diameter_mm: float, rules: TreeRules) -> float:
    """Return the cover wanted over a tree [mm] in a flask of a diameter [mm]."""
    return rules.end_per_diameter_ratio * flask_diameter_mm


def _say(code: str, level: Level, where: str, practice: str, params: Mapping[str, object]) -> tuple[Finding, ...]:
    return (Finding(code, level, where, params, rule(practice).sources),)


def _end(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    diameter = 2 * (tree.reach_mm + tree.wall_clearance_mm)
    wanted, cover = end_wanted_mm(diameter, rules), end_clearance_mm(tree)
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
        "method": how_measured(tree),
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
    clearance = wall_clearance_mm(tree)
    params = {
        "clearance": show(clearance, "mm"),
        "wanted": show(rules.wall_mm, "mm"),
        "refused": show(REFUSED_WALL_MM, "mm"),
        "short": show(rules.wall_mm - clearance, "mm"),
        "piece": tree.true_outermost or outermost.id,
        "method": how_measured(tree),
    }
    if clearance <= 0:
        params["out"] = show(-clearance, "mm")
        return _say("shape.tree-too-wide", Level.STOP, where, "inv.clear.wall", params)
    if clearance < REFUSED_WALL_MM - _DUST:
        return _say("shape.tree-wall-refused", Level.STOP, where, "inv.clear.wall", params)
    if clearance < rules.wall_mm - _DUST:
        return _say("shape.tree-wall-thin", Level.LOOK, where, "inv.clear.wall", params)
    return ()


def _overlaps(tree: Tree, where: str) -> tuple[Finding, ...]:
    if not tree.true_overlaps:
        return ()
    pairs = "; ".join(f"{one}, {other}" for one, other in tree.true_overlaps)
    return _say("shape.tree-pieces-overlap", Level.STOP, where, "inv.space.patterns", {"pairs": pairs})


def _pieces(tree: Tree, rules: TreeRules, where: str) -> tuple[Finding, ...]:
    gap = piece_clearance_mm(tree)
    if gap is None or gap >= rules.piece_mm - _DUST or tree.true_overlaps:
        return ()
    params = {
        "gap": show(gap, "mm"),
        "wanted": show(rules.piece_mm, "mm"),
        "pieces": ", ".join(tree.true_closest) or say("shape.tree-two-pieces"),
        "method": how_measured(tree),
    }
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
