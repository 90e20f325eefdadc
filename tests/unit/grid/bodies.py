"""Bodies and grids for the tests of this room."""

from __future__ import annotations

import numpy as np

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import GradedGrid
from pourwright.shape.pattern import solids


def area_m2(mesh):
    corners = mesh.vertices_mm[mesh.faces] / 1e3
    return np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2


def volume_m3(mesh):
    corners = mesh.vertices_mm[mesh.faces] / 1e3
    return np.einsum("nd,nd->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6


def even_grid(mesh, side_m, offset_frac=(0.1, 0.2, 0.3)):
    """Return an even grid three cells wider than the mesh."""
    low_m, high_m = mesh.vertices_mm.min(axis=0) / 1e3, mesh.vertices_mm.max(axis=0) / 1e3
    counts = np.ceil((high_m - low_m) / side_m).astype(int) + 6
    starts_m = low_m - (2 + np.asarray(offset_frac)) * side_m
    return GradedGrid(
        *(start + side_m * np.arange(count + 1) for start, count in zip(starts_m, counts, strict=True)), side_m
    )


def cut(mesh, grid):
    return cut_cells(grid, mesh.vertices_mm / 1e3, mesh.faces)


def tilted(mesh, angle_deg=37.0):
    return solids.rotated(mesh, (1, 2, 3), angle_deg)


def filled_m3(grid, cells):
    """Return the metal in every cell, shape (nx, ny, nz)."""
    volumes = grid.volumes_m3(np.arange(grid.cells_count)) * cells.inside_frac.ravel().astype(float)
    volumes[cells.cells] = grid.volumes_m3(cells.cells) * cells.metal_frac
    return volumes.reshape(grid.shape)
