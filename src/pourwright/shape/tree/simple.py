"""A simple tree: one straight sprue on the flask's axis, pieces round it in tiers, a round gate to each."""

from __future__ import annotations

from dataclasses import dataclass, field

from pourwright.shape.pattern.report import Mesh

Point = tuple[float, float, float]


@dataclass(frozen=True)
class TreePiece:
    """A piece to place, by its bounding box (longest side first is not required) and section at the gate.

    ``mesh`` is its true shape, where there is one, in the axes of the box; ``heavy_mm`` the place of its heaviest
    section, from the middle of the box.
    """

    id: str
    box_mm: Point
    gate_section_mm: float
    mesh: Mesh | None = field(default=None, compare=False, repr=False)
    heavy_mm: Point = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Placed:
    """A piece on the tree; its box is as turned: outward, tangential, upward.

    ``turn`` maps the pattern's axes to (outward, tangential, upward) as a permutation. ``centre_mm`` is in the
    flask's frame: x, y across, z up from the button end; ``angle_deg`` is the place round the sprue.
    """

    id: str
    turn: tuple[int, int, int]
    box_mm: Point
    centre_mm: Point
    angle_deg: float
    gate_diameter_mm: float
    gate_length_mm: float


@dataclass(frozen=True)
class Tree:
    """The tree in its flask, with what it adds to the metal and what room it leaves.

    ``reach_mm`` is the greatest distance from the flask's axis, ``top_mm`` the height above the flask's mouth; the
    sprue starts ``funnel_depth_mm`` above the mouth, where the button's funnel ends. The metal of button and funnel is
    not part of the sprue's volume. ``piece_clearance_mm`` is the smallest gap between two pieces, None if there is
    but one. These are by bounding boxes, so the real gaps are at least these.

    The ``true_*`` fields are by the meshes of the pieces (by its box for a piece without one; ``true_meshes_count``
    have one), and None before anybody looked: ``true_closest`` are the two pieces with the smallest gap,
    ``true_outermost`` is the one nearest to the wall, ``true_overlaps`` the pairs that would stand in each other.
    """

    flask: str
    placed: tuple[Placed, ...]
    sprue_diameter_mm: float
    sprue_length_mm: float
    sprue_volume_mm3: float
    gates_volume_mm3: float
    reach_mm: float
    top_mm: float
    wall_clearance_mm: float
    end_clearance_mm: float
    piece_clearance_mm: float | None
    funnel_depth_mm: float = 0.0
    true_piece_clearance_mm: float | None = None
    true_wall_clearance_mm: float | None = None
    true_end_clearance_mm: float | None = None
    true_closest: tuple[str, ...] = ()
    true_outermost: str = ""
    true_overlaps: tuple[tuple[str, str], ...] = ()
    true_meshes_count: int = 0
