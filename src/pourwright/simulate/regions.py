"""Which part of the tree each cell of metal belongs to, and which section of its piece."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.verdicts import SectionCells
from pourwright.shape.pattern.report import Mesh
from pourwright.simulate.job import FlaskJob, PieceSkin
from pourwright.simulate.tree_solid import BUTTON, Bar

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Regions:
    """Parts of the tree.

    ``names`` are ``button``, ``sprue``, ``gate:PIECE`` and pieces; ``of_cell`` (n,) is the place of each metal cell's
    part in them.
    """

    names: tuple[str, ...]
    of_cell: NDArray[np.int32]

    @property
    def feeder(self) -> NDArray[np.bool_]:
        """The cells of the button, shape (n,)."""
        return np.asarray(self.of_cell == self.names.index(BUTTON))


def find_regions(centre_m: Floats, job: FlaskJob) -> Regions:
    """Give every metal cell to the part of the tree that it lies in, or lies nearest to.

    Parameters
    ----------
    centre_m : array, shape (n, 3)
        Middles of the cells [m].
    job : FlaskJob
        The tree.
    """
    centre_mm = 1e3 * centre_m
    solid = job.solid
    away = {BUTTON: _from_button_mm(centre_mm, solid.button_radius_mm, solid.button_height_mm)}
    away |= {one.name: _from_bar_mm(centre_mm, one) for one in solid.bars}
    away |= {name: _from_piece_mm(centre_mm, mesh) for name, mesh in solid.pieces.items()}
    nearest = np.argmin(np.column_stack(list(away.values())), axis=1)
    return Regions(tuple(away), nearest.astype(np.int32))


def _from_button_mm(points_mm: Floats, radius_mm: float, height_mm: float) -> Floats:
    """Return a distance that is negative inside the button [mm]."""
    out_mm = np.hypot(points_mm[:, 0], points_mm[:, 1]) - radius_mm
    return np.maximum(out_mm, points_mm[:, 2] - height_mm)


def _from_bar_mm(points_mm: Floats, bar: Bar) -> Floats:
    """Return a distance that is negative inside the part of a bar that shows [mm]."""
    way_mm = bar.end_mm - bar.start_mm
    length_mm = float(np.linalg.norm(way_mm))
    along_mm = (points_mm - bar.start_mm) @ (way_mm / length_mm)
    out_mm = np.linalg.norm(points_mm - bar.start_mm - along_mm[:, None] * (way_mm / length_mm), axis=1)
    beyond_mm = np.maximum(-along_mm, along_mm - (length_mm - bar.sunk_mm))
    return np.asarray(np.maximum(out_mm - bar.radius_mm, beyond_mm))


def _from_piece_mm(points_mm: Floats, mesh: Mesh) -> Floats:
    """Return the distance to a piece's box [mm]; inside it nought less a share that grows near the piece itself.

    Boxes of neighbours may overlap by a corner; the true shape decides there.
    """
    from scipy.spatial import cKDTree

    low_mm, high_mm = mesh.vertices_mm.min(axis=0), mesh.vertices_mm.max(axis=0)
    out_mm = np.linalg.norm(np.maximum(np.maximum(low_mm - points_mm, points_mm - high_mm), 0), axis=1)
    near_mm, _ = cKDTree(mesh.vertices_mm).query(points_mm)
    return np.asarray(np.where(out_mm > 0, out_mm, -1e-3 / (1.0 + near_mm)))


def section_cells(centre_m: Floats, regions: Regions, job: FlaskJob) -> tuple[SectionCells, ...]:
    """Return the sections of every piece as cells: each cell goes with the nearest point of the skin.

    Parameters
    ----------
    centre_m : array, shape (n, 3)
        Middles of the metal cells [m].
    regions : Regions
        Parts of the tree.
    job : FlaskJob
        Skins of its pieces.
    """
    found: list[SectionCells] = []
    for piece, skin in job.skins.items():
        cells = np.flatnonzero(regions.of_cell == regions.names.index(piece))
        label = _nearest_section(1e3 * centre_m[cells], skin)
        found += [
            SectionCells(piece, number, modulus_mm, heavy, cells[label == number])
            for number, (modulus_mm, heavy) in enumerate(zip(skin.modulus_mm, skin.heavy, strict=True))
        ]
    return tuple(found)


def _nearest_section(points_mm: Floats, skin: PieceSkin) -> NDArray[np.int64]:
    from scipy.spatial import cKDTree

    if not len(skin.points_mm):
        return np.zeros(len(points_mm), dtype=np.int64)
    _, nearest = cKDTree(skin.points_mm).query(points_mm)
    return np.asarray(skin.section[nearest])
