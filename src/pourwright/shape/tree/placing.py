"""Builds the tree: one piece straight on its sprue, several in tiers round a shared one.

Each piece is its bounding box, so a tree that fits here fits in wax; wax often fits where this says no. Every gate
rises with the flow and meets its piece low on the inner face, so that the whole piece lies downstream of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import asin, atan2, ceil, cos, degrees, hypot, pi, radians, sin

from pourwright.shape.tree.boxes import reach_mm, smallest_gap_mm
from pourwright.shape.tree.rules import TreeRules, gate_mm, shared_sprue_mm
from pourwright.shape.tree.simple import Placed, Point, Tree, TreePiece

_ROUND_RAD = 2 * pi
_DUST = 1e-9

Turn = tuple[int, int, int]
_TURNS: tuple[Turn, ...] = ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0))


@dataclass(frozen=True)
class _Room:
    """The flask's room for a tree [mm]: radius and height that keep the wanted clearances."""

    radius_mm: float
    height_mm: float
    funnel_mm: float


@dataclass(frozen=True)
class _Turned:
    """A piece turned to face the sprue, with the half angle it takes of its tier."""

    index: int
    piece: TreePiece
    turn: Turn
    box_mm: Point
    gate_mm: float
    half_rad: float
    reach_mm: float

    @property
    def joint_mm(self) -> float:
        """Height of the gate's middle above the foot of the piece."""
        return min(self.gate_mm, self.box_mm[2]) / 2


def build_tree(
    pieces: Sequence[TreePiece],
    flask_id: str,
    flask_diameter_mm: float,
    flask_height_mm: float,
    funnel_depth_mm: float,
    rules: TreeRules,
) -> Tree:
    """Place pieces on a sprue so that they fit the flask as well as they can.

    The same pieces in the same order always give the same tree. A tree is returned even if it does not fit; its
    clearances then say by how much (see :func:`pourwright.shape.tree.clearances.check_clearances`).

    Parameters
    ----------
    pieces : sequence of TreePiece
        At least one; boxes and sections in mm.
    flask_id : str
        Named in the tree.
    flask_diameter_mm, flask_height_mm : float
        Inside of the flask [mm].
    funnel_depth_mm : float
        How far the base's funnel stands into the flask [mm].
    rules : TreeRules
        Clearances, gates and sprue.

    Returns
    -------
    Tree
        The one with the shortest gates that keeps the clearances, or else the one that misses them least.

    Raises
    ------
    ValueError
        No pieces, or a side or section that is not positive.
    """
    _check(pieces)
    room = _Room(
        flask_diameter_mm / 2 - rules.wall_mm,
        flask_height_mm - rules.end_per_diameter_ratio * flask_diameter_mm,
        funnel_depth_mm,
    )
    build = _single if len(pieces) == 1 else _tiered
    draft = build(pieces, room, rules)
    inside = (flask_diameter_mm, flask_height_mm, funnel_depth_mm)
    return tree_of(flask_id, draft.placed, draft.sprue_diameter_mm, draft.sprue_length_mm, *inside)


@dataclass(frozen=True)
class _Draft:
    """A tree before its clearances are known."""

    placed: tuple[Placed, ...]
    sprue_diameter_mm: float
    sprue_length_mm: float
    top_mm: float


def _check(pieces: Sequence[TreePiece]) -> None:
    if not pieces:
        raise ValueError("a tree needs at least one piece")
    for one in pieces:
        if min(*one.box_mm, one.gate_section_mm) <= 0:
            raise ValueError(f"piece {one.id} must have positive sides and section")


def tree_of(
    flask_id: str,
    placed: Sequence[Placed],
    sprue_diameter_mm: float,
    sprue_length_mm: float,
    flask_diameter_mm: float,
    flask_height_mm: float,
    funnel_depth_mm: float,
) -> Tree:
    """Return the tree that placed pieces make, with its metal and its clearances by boxes.

    Parameters
    ----------
    flask_id : str
        Named in the tree.
    placed : sequence of Placed
        One piece has the sprue itself as its gate; several have a gate each.
    sprue_diameter_mm, sprue_length_mm : float
        Of the sprue above the funnel [mm].
    flask_diameter_mm, flask_height_mm, funnel_depth_mm : float
        Inside of the flask, and how far the funnel stands into it [mm].
    """
    reach = max(*(reach_mm(one) for one in placed), sprue_diameter_mm / 2)
    tops = (one.centre_mm[2] + one.box_mm[2] / 2 for one in placed)
    top = max(*tops, funnel_depth_mm + sprue_length_mm)
    gates = [_rod_mm3(one.gate_diameter_mm, one.gate_length_mm) for one in placed] if len(placed) > 1 else []
    return Tree(
        flask=flask_id,
        placed=tuple(placed),
        sprue_diameter_mm=sprue_diameter_mm,
        sprue_length_mm=sprue_length_mm,
        sprue_volume_mm3=_rod_mm3(sprue_diameter_mm, sprue_length_mm),
        gates_volume_mm3=sum(gates),
        reach_mm=reach,
        top_mm=top,
        wall_clearance_mm=flask_diameter_mm / 2 - reach,
        end_clearance_mm=flask_height_mm - top,
        piece_clearance_mm=smallest_gap_mm(placed),
        funnel_depth_mm=funnel_depth_mm,
    )


def _rod_mm3(diameter_mm: float, length_mm: float) -> float:
    return pi / 4 * diameter_mm**2 * length_mm


def _turned(box_mm: Point, turn: Turn) -> Point:
    return box_mm[turn[0]], box_mm[turn[1]], box_mm[turn[2]]


def _miss_mm(draft: _Draft, room: _Room) -> float:
    """Return by how much a draft misses the wanted clearances, 0 if it keeps them [mm]."""
    reach = max(reach_mm(one) for one in draft.placed)
    return max(reach - room.radius_mm, 0.0) + max(draft.top_mm - room.height_mm, 0.0)


def _best(drafts: Sequence[_Draft], room: _Room) -> _Draft:
    """Return the first draft that keeps the clearances, or else the one that misses them least."""
    return min(drafts, key=lambda one: round(_miss_mm(one, room), 6))


def _single(pieces: Sequence[TreePiece], room: _Room, rules: TreeRules) -> _Draft:
    """Stand the piece upright on its sprue, longest side up if there is room; the sprue is its gate."""
    piece = pieces[0]
    turns = sorted(_TURNS, key=lambda turn: -piece.box_mm[turn[2]])
    return _best([_standing(piece, turn, room, rules) for turn in turns], room)


def _standing(piece: TreePiece, turn: Turn, room: _Room, rules: TreeRules) -> _Draft:
    box = _turned(piece.box_mm, turn)
    gate = gate_mm(piece.gate_section_mm, rules)
    spare = room.height_mm - room.funnel_mm - box[2]
    length = min(max(spare, rules.gate_short_mm), rules.gate_long_mm)
    centre = (0.0, 0.0, room.funnel_mm + length + box[2] / 2)
    placed = Placed(piece.id, turn, box, centre, 0.0, gate, length)
    return _Draft((placed,), gate, length, room.funnel_mm + length + box[2])


def _tiered(pieces: Sequence[TreePiece], room: _Room, rules: TreeRules) -> _Draft:
    """Try gates from short to long, and ways of turning the pieces, and keep the lowest tree of the first that fits."""
    drafts = []
    for step in range(ceil(rules.gate_long_mm - rules.gate_short_mm) + 1):
        length = min(rules.gate_short_mm + step, rules.gate_long_mm)
        tried = [_layout(pieces, length, wish, room, rules) for wish in _WISHES]
        drafts.append(min(tried, key=lambda one: (round(_miss_mm(one, room), 6), round(one.top_mm, 6))))
        if _miss_mm(drafts[-1], room) == 0:
            break
    return _best(drafts, room)


# What to want of a turn, where several keep inside the flask: little of the tier's ring and height, little height,
# little of the ring.
_WISHES: tuple[Callable[[_Turned], float], ...] = (
    lambda one: one.half_rad * one.box_mm[2],
    lambda one: one.box_mm[2],
    lambda one: one.half_rad,
)


def _layout(
    pieces: Sequence[TreePiece], length_mm: float, wish: Callable[[_Turned], float], room: _Room, rules: TreeRules
) -> _Draft:
    sprue = shared_sprue_mm([one.gate_section_mm for one in pieces], rules)
    inner = sprue / 2 + length_mm * sin(radians(rules.gate_angle_deg))
    turned = [_turn(number, one, inner, wish, room, rules) for number, one in enumerate(pieces)]
    rise = length_mm * cos(radians(rules.gate_angle_deg))
    placed: list[tuple[int, Placed]] = []
    foot, top, sprue_top = room.funnel_mm + rules.piece_mm, 0.0, 0.0
    for tier in _tiers(turned):
        # the lowest gate must leave the sprue above the funnel
        lowest = max(room.funnel_mm + _gate_foot_mm(one, rules) + rise - one.joint_mm for one in tier)
        foot = max(foot, lowest)
        placed += _ring(tier, foot, inner, length_mm)
        sprue_top = max(sprue_top, *(foot + one.joint_mm - rise + _gate_foot_mm(one, rules) for one in tier))
        top = foot + max(one.box_mm[2] for one in tier)
        foot = top + rules.piece_mm
    in_order = tuple(one for _, one in sorted(placed, key=lambda pair: pair[0]))
    return _Draft(in_order, sprue, sprue_top - room.funnel_mm, max(top, sprue_top))


def _gate_foot_mm(one: _Turned, rules: TreeRules) -> float:
    """Return half the height that a slanting gate takes of the sprue [mm]."""
    return one.gate_mm / 2 / sin(radians(rules.gate_angle_deg))


def _turn(
    index: int, piece: TreePiece, inner_mm: float, wish: Callable[[_Turned], float], room: _Room, rules: TreeRules
) -> _Turned:
    """Turn a piece so that it stays inside the flask's room and then as wished.

    Where all is equal the longest side stands up, then the heaviest section lies toward the sprue and the button.
    """
    ways = [_facing(index, piece, turn, inner_mm, rules) for turn in _TURNS]
    inside = [one for one in ways if one.reach_mm <= room.radius_mm + _DUST]
    if not inside:
        return min(ways, key=lambda one: (round(one.reach_mm, 6), one.turn))
    return min(inside, key=lambda one: (round(wish(one), 6), -one.box_mm[2], round(_heavy_off_mm(one), 6), one.turn))


def _heavy_off_mm(one: _Turned) -> float:
    """Return how far the heaviest section lies from the sprue and the button, beyond the middle of the piece [mm]."""
    return one.piece.heavy_mm[one.turn[0]] + one.piece.heavy_mm[one.turn[2]]


def _facing(index: int, piece: TreePiece, turn: Turn, inner_mm: float, rules: TreeRules) -> _Turned:
    box = _turned(piece.box_mm, turn)
    near = hypot(inner_mm, box[1] / 2)
    # the wedge whose sides keep half the wanted gap from the inner corners
    half = atan2(box[1] / 2, inner_mm) + asin(min(rules.piece_mm / 2 / near, 1.0))
    reach = hypot(inner_mm + box[0], box[1] / 2)
    return _Turned(index, piece, turn, box, gate_mm(piece.gate_section_mm, rules), half, reach)


def _tiers(turned: Sequence[_Turned]) -> list[list[_Turned]]:
    """Gather pieces into tiers, tall with tall; the tier with the thickest section stands nearest the button."""
    tiers: list[list[_Turned]] = []
    for one in sorted(turned, key=lambda it: (-it.box_mm[2], -it.half_rad, it.index)):
        for tier in tiers:
            if sum(it.half_rad for it in tier) + one.half_rad <= _ROUND_RAD / 2 + _DUST:
                tier.append(one)
                break
        else:
            tiers.append([one])
    return sorted(tiers, key=lambda tier: (-max(it.piece.gate_section_mm for it in tier), tier[0].index))


def _ring(tier: Sequence[_Turned], foot_mm: float, inner_mm: float, length_mm: float) -> list[tuple[int, Placed]]:
    """Place a tier round the sprue, the spare angle shared out evenly."""
    spare = (_ROUND_RAD - 2 * sum(one.half_rad for one in tier)) / len(tier)
    placed, angle = [], -tier[0].half_rad
    for one in tier:
        angle += one.half_rad
        radius = inner_mm + one.box_mm[0] / 2
        centre = (radius * cos(angle), radius * sin(angle), foot_mm + one.box_mm[2] / 2)
        place = Placed(one.piece.id, one.turn, one.box_mm, centre, degrees(angle), one.gate_mm, length_mm)
        placed.append((one.index, place))
        angle += one.half_rad + spare
    return placed
