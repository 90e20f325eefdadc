"""Points spread evenly over a surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern import mass
from pourwright.shape.pattern.report import Mesh

_SEED = 20


class Spread:
    """A surface on which points can be spread; the areas are summed once."""

    def __init__(self, mesh: Mesh) -> None:
        self._mesh = mesh
        self._summed_mm2 = np.cumsum(mass.face_areas_mm2(mesh))

    @property
    def area_mm2(self) -> float:
        """Area of the surface [mm2]."""
        return float(self._summed_mm2[-1])

    def points(self, count: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return points [mm] and outward directions there, shape (count, 3), the same for the same mesh.

        One point falls in each equal share of the summed areas, so that each n-th point alone is spread evenly too.
        """
        generator = np.random.default_rng(_SEED)
        targets_mm2 = (np.arange(count) + generator.random(count)) / count * self._summed_mm2[-1]
        face = np.minimum(np.searchsorted(self._summed_mm2, targets_mm2), len(self._summed_mm2) - 1)
        first, second = np.sqrt(generator.random(count)), generator.random(count)
        weights = np.column_stack([1.0 - first, first * (1.0 - second), first * second])
        chosen = Mesh(self._mesh.vertices_mm, self._mesh.faces[face])
        points_mm = np.einsum("ij,ijk->ik", weights, chosen.vertices_mm[chosen.faces])
        return points_mm, mass.face_normals(chosen)
