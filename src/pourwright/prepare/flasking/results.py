"""What the flasking part takes and says: which pieces go together into which flask."""

from __future__ import annotations

from dataclasses import dataclass, field

from pourwright.core.findings import Finding
from pourwright.shape.pattern.report import Mesh, Poses
from pourwright.shape.tree.simple import Point, Tree, TreePiece

WindowC = tuple[float, float]


@dataclass(frozen=True)
class PieceToPlace:
    """A piece that wants a place in a flask.

    Parameters
    ----------
    id : str
        Piece.
    cast_g : float
        Its mass in metal [g].
    box_mm : (float, float, float)
        Its bounding box [mm].
    gate_section_mm : float
        Thickness where its gate meets it [mm].
    stones : bool
        Whether it holds stones: such a flask has its own burnout and no quench, so only its like may share it.
    wish_flask : str
        The steel flask it must go into, if any.
    together : str
        Pieces with the same word here must share a flask.
    apart_from : tuple of str
        Pieces it must not share a flask with.
    window_C : (float, float), optional
        Flask temperatures it can be cast at [degC].
    mesh : Mesh, optional
        Its true shape.
    heavy_mm : (float, float, float)
        Place of its heaviest section, from the middle of its box [mm].
    poses : Poses, optional
        How else it can stand, if it is drawn askew.
    """

    id: str
    cast_g: float
    box_mm: Point
    gate_section_mm: float
    stones: bool = False
    wish_flask: str = ""
    together: str = ""
    apart_from: tuple[str, ...] = ()
    window_C: WindowC | None = None
    mesh: Mesh | None = field(default=None, compare=False, repr=False)
    heavy_mm: Point = (0.0, 0.0, 0.0)
    poses: Poses | None = field(default=None, compare=False, repr=False)

    @property
    def on_tree(self) -> TreePiece:
        """The same for the tree."""
        return TreePiece(self.id, self.box_mm, self.gate_section_mm, self.mesh, self.heavy_mm)


@dataclass(frozen=True)
class FlaskGroup:
    """Pieces that share a flask, on their tree.

    ``metal_g`` is their mass with that of sprue and gates; ``window_C`` the temperatures that suit them all.
    ``findings`` are those of the tree.
    """

    flask: str
    base: str
    pieces: tuple[str, ...]
    tree: Tree
    metal_g: float
    window_C: WindowC | None
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Flasking:
    """All groups of the day; none if something stops. No fewer than ``fewest_count`` flasks can do.

    ``proven`` says that the groups are exactly so many.
    """

    groups: tuple[FlaskGroup, ...]
    fewest_count: int
    proven: bool
    findings: tuple[Finding, ...]
