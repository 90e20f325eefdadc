"""Volumes and triangle counts of pattern files as other people's libraries read them."""

from __future__ import annotations

from pathlib import Path

import numpy as np


def three_mf_by_its_consortium(path: Path) -> tuple[int, float, str]:
    """Return triangles built, their signed volume in the file's unit, and that unit's name, by lib3mf."""
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(path))
    unit = model.GetUnit().name
    merged = model.MergeToModel()
    objects = merged.GetMeshObjects()
    count, volume = 0, 0.0
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        points = np.array([list(one.Coordinates) for one in mesh.GetVertices()], dtype=float)
        faces = np.array([list(one.Indices) for one in mesh.GetTriangleIndices()], dtype=int)
        count += len(faces)
        volume += signed_volume(points[faces])
    return count, volume, unit


def by_trimesh(path: Path) -> tuple[int, float]:
    """Return triangles and their signed volume in the file's own numbers, by trimesh."""
    import trimesh

    mesh = trimesh.load(path, force="mesh", process=False)
    return len(mesh.faces), signed_volume(np.asarray(mesh.triangles, dtype=float))


def signed_volume(corners: np.ndarray) -> float:
    """Sum the tetrahedra of triangles of shape (n, 3, 3) and their middle."""
    about = corners.mean(axis=(0, 1))
    a, b, c = (corners[:, one] - about for one in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)
