"""Whether pieces fit a flask together: their metal, and the tree they make."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cache, lru_cache

from pourwright.prepare.flasking.results import PieceToPlace
from pourwright.shape.tree.bodies import Body, bodies_of
from pourwright.shape.tree.clearances import (
    REFUSED_END_MM,
    REFUSED_WALL_MM,
    end_clearance_mm,
    end_wanted_mm,
    wall_clearance_mm,
)
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import TreeRules
from pourwright.shape.tree.simple import Tree
from pourwright.shape.tree.true_check import check_inside, check_true

_MM3_CM3 = 1000
_DUST = 1e-6


class Room(IntEnum):
    """How well a tree fits."""

    NONE = 0  # not at all, or with clearances that are refused
    THIN = 1  # with clearances worth a look
    FULL = 2  # with all clearances that are wanted


@dataclass(frozen=True)
class Place:
    """A steel flask on its base, in plain numbers: inside size, funnel, and how much metal it can take."""

    flask: str
    base: str
    diameter_mm: float
    height_mm: float
    funnel_mm: float
    usable_g: float

    @property
    def size(self) -> tuple[float, float, float, float]:
        """What makes two places as good as each other: sizes [mm] and usable metal [g]."""
        return self.diameter_mm, self.height_mm, self.funnel_mm, self.usable_g

    @property
    def volume_mm3(self) -> float:
        """Size of the flask, to choose the smallest [mm**3]; without the factor that all round flasks share."""
        return self.diameter_mm**2 * self.height_mm


@dataclass(frozen=True)
class Fit:
    """A group in a place: its tree, its metal, and what is lacking (0 where nothing is).

    ``refused`` says that the clearances alone rule it out.
    """

    tree: Tree
    metal_g: float
    over_g: float
    end_lacking_mm: float
    wall_lacking_mm: float
    refused: bool
    room: Room


Fitter = Callable[[frozenset[int], Place], Fit]


def fitter(pieces: Sequence[PieceToPlace], rules: TreeRules, tree_metal_g_cm3: float) -> Fitter:
    """Return the function that tries pieces (by their numbers) in a place; it remembers what it has tried.

    Boxes are asked first. Where they find too little room to wall or end, the true shapes in the same places are asked:
    the corners of a round piece's box are empty. Gaps between pieces are kept by their boxes in any case.

    Parameters
    ----------
    pieces : sequence of PieceToPlace
        All pieces of the day.
    rules : TreeRules
        Clearances, gates and sprue.
    tree_metal_g_cm3 : float
        Metal for each volume of sprue and gates [g/cm**3]; 0 if the pieces' masses include their share of the tree.
    """

    @cache
    def tree(numbers: frozenset[int], diameter_mm: float, height_mm: float, funnel_mm: float) -> Tree:
        chosen = [pieces[number] for number in sorted(numbers)]
        return build_tree([one.on_tree for one in chosen], "", diameter_mm, height_mm, funnel_mm, rules)

    @lru_cache(maxsize=1)
    def bodies() -> Mapping[str, Body]:
        return bodies_of([one.on_tree for one in pieces])

    @cache
    def by_mesh(numbers: frozenset[int], diameter_mm: float, height_mm: float, funnel_mm: float) -> Tree:
        return check_inside(tree(numbers, diameter_mm, height_mm, funnel_mm), bodies())

    def fit(numbers: frozenset[int], place: Place) -> Fit:
        inside = (place.diameter_mm, place.height_mm, place.funnel_mm)
        grown = replace(tree(numbers, *inside), flask=place.flask)
        stem_cm3 = (grown.sprue_volume_mm3 + grown.gates_volume_mm3) / _MM3_CM3
        metal_g = sum(pieces[number].cast_g for number in sorted(numbers)) + tree_metal_g_cm3 * stem_cm3
        by_boxes = _judged(grown, metal_g, place, rules)
        meshed = any(pieces[number].mesh is not None for number in numbers)
        if by_boxes.over_g > _DUST or max(by_boxes.end_lacking_mm, by_boxes.wall_lacking_mm) <= _DUST or not meshed:
            return by_boxes
        return _judged(replace(by_mesh(numbers, *inside), flask=place.flask), metal_g, place, rules)

    return fit


def verified(tree: Tree, pieces: Sequence[PieceToPlace]) -> Tree:
    """Return a tree with all its clearances measured on the true shapes of its pieces."""
    return check_true(tree, bodies_of([one.on_tree for one in pieces]))


def _judged(tree: Tree, metal_g: float, place: Place, rules: TreeRules) -> Fit:
    end, wall = end_clearance_mm(tree), wall_clearance_mm(tree)
    end_lacking = max(end_wanted_mm(place.diameter_mm, rules) - end, 0.0)
    wall_lacking = max(rules.wall_mm - wall, 0.0)
    over_g = max(metal_g - place.usable_g, 0.0)
    refused = end < REFUSED_END_MM - _DUST or wall < REFUSED_WALL_MM - _DUST
    room = Room.FULL if max(end_lacking, wall_lacking) <= _DUST else Room.THIN
    if refused or over_g > _DUST:
        room = Room.NONE
    return Fit(tree, metal_g, over_g, end_lacking, wall_lacking, refused, room)
