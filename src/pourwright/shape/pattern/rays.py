"""Rays against a mesh."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern import mass
from pourwright.shape.pattern.report import Mesh

# A ray starts this share of the diagonal under the surface, so as not to meet its own triangle.
_SKIN_FRAC = 2e-6


class Rays:
    """Rays into a mesh; the acceleration structure is built once."""

    def __init__(self, mesh: Mesh) -> None:
        from embreex.mesh_construction import TriangleMesh
        from embreex.rtcore_scene import EmbreeScene

        self._middle_mm = mass.middle_mm(mesh)
        self._diagonal_mm = float(np.linalg.norm(mass.sides_mm(mesh)))
        self._scene = EmbreeScene(robust=True)
        about_mm = (mesh.vertices_mm - self._middle_mm).astype(np.float32)
        TriangleMesh(self._scene, about_mm, mesh.faces.astype(np.int32))

    def inward_mm(self, points_mm: NDArray[np.float64], normals: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the length of the ray from each point to the far side of the material [mm]."""
        reach_mm = self.free_mm(points_mm, -normals)
        return np.where(np.isfinite(reach_mm), reach_mm, self._diagonal_mm)

    def free_mm(self, points_mm: NDArray[np.float64], directions: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how far a ray of each direction (length one) goes from its point until it meets the mesh [mm].

        Infinite where it meets nothing. Points may lie on the mesh.
        """
        skin_mm = _SKIN_FRAC * self._diagonal_mm
        origins = (points_mm - self._middle_mm + skin_mm * directions).astype(np.float32)
        reach = self._scene.run(origins, directions.astype(np.float32), output=1)["tfar"]
        return np.where(reach < 1e30, reach + skin_mm, np.inf).astype(np.float64)


def directions(count: int) -> NDArray[np.float64]:
    """Return directions of length one, spread evenly over the sphere along a spiral; shape (count, 3)."""
    turn = np.arange(count) + 0.5
    height = 1.0 - 2.0 * turn / count
    angle = np.pi * (1.0 + 5.0**0.5) * turn
    across = np.sqrt(1.0 - height**2)
    return np.column_stack([across * np.cos(angle), across * np.sin(angle), height])
