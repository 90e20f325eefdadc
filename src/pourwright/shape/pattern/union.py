"""Solids put together: the union of closed shells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from pourwright.core.errors import MeshError
from pourwright.shape.pattern.report import Mesh


def unite(meshes: Sequence[Mesh]) -> Mesh:
    """Return the solid covered by all meshes together.

    Parameters
    ----------
    meshes : sequence of Mesh
        Each closed and facing outward.

    Raises
    ------
    MeshError
        A mesh is not a solid, or the union cannot be made; the message holds the reason in one word.
    """
    import manifold3d

    solids = [_solid(mesh) for mesh in meshes]
    whole = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    _check(whole)
    return _mesh_of(whole)


def less(mesh: Mesh, other: Mesh) -> Mesh:
    """Return a solid with another cut out of it; raises MeshError as :func:`unite` does."""
    rest = _solid(mesh) - _solid(other)
    _check(rest)
    return _mesh_of(rest)


def _mesh_of(solid: Any) -> Mesh:
    result = solid.to_mesh64()
    vertices_mm = np.ascontiguousarray(result.vert_properties[:, :3], dtype=np.float64)
    return Mesh(vertices_mm, np.ascontiguousarray(result.tri_verts, dtype=np.int64))


def _solid(mesh: Mesh) -> Any:
    import manifold3d

    vertices_mm = np.ascontiguousarray(mesh.vertices_mm, dtype=np.float64)
    solid = manifold3d.Manifold(manifold3d.Mesh64(vertices_mm, np.ascontiguousarray(mesh.faces, dtype=np.uint64)))
    _check(solid)
    return solid


def _check(solid: Any) -> None:
    status = str(solid.status())
    if not status.endswith("NoError"):
        raise MeshError(status.rpartition(".")[2])


def shared_mm3(one: Mesh, other: Mesh) -> float:
    """Return the volume two solids share [mm3]; raises MeshError as :func:`unite` does."""
    shared = _solid(one) ^ _solid(other)
    _check(shared)
    return float(shared.volume())
