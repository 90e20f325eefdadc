"""The test solids are closed, face outward, and come close to their formulas from below."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from pourwright.shape.pattern import solids

# solid, exact volume [mm3], largest shortfall by faceting (2/3 (pi/n)^2 per turned direction)
CASES = [
    (solids.torus(9.5, 1.25, 192, 96), 2 * math.pi**2 * 9.5 * 1.25**2, 1.0e-3),
    (solids.sphere(5.0, 192), 4 / 3 * math.pi * 125, 5.0e-4),
    (solids.box(1.0, 2.0, 3.0), 6.0, 1e-12),
    (solids.ring_band(8.0, 4.0, 1.5, 192), math.pi * (9.5**2 - 8.0**2) * 4, 2.0e-4),
    (solids.rod(0.5, 2.0, 192), math.pi * 0.25 * 2, 2.0e-4),
    (solids.hollow_sphere(8.0, 7.0, 192), 4 / 3 * math.pi * (512 - 343), 5.0e-4),
    (solids.plate_with_cube(), 200 + 512 + 2 * math.pi / 4, 1e-5),
    (solids.cube_with_fin(), 1000 + 6 * 8 * 0.5, 1e-12),
]


@pytest.mark.parametrize(("mesh", "volume_mm3", "shortfall"), CASES)
def test_solid_is_closed_and_has_its_volume(mesh, volume_mm3, shortfall):
    other = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    assert other.is_watertight
    assert other.is_winding_consistent
    assert -shortfall <= other.volume / volume_mm3 - 1 <= 1e-12


def test_dumbbell_lies_between_its_balls_and_balls_with_bar():
    mesh = solids.dumbbell(4.0, 1.5, 14.0)
    volume = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False).volume
    balls = 2 * 4 / 3 * math.pi * 64
    assert balls < volume < balls + math.pi * 1.5**2 * 14


@pytest.mark.parametrize("as_text", [False, True])
def test_written_file_is_read_the_same_by_another_program(tmp_path, as_text):
    mesh = solids.torus(9.5, 1.25, 24)
    solids.write_stl(mesh, tmp_path / "ring.stl", ascii=as_text)
    read = trimesh.load(tmp_path / "ring.stl")
    assert len(read.faces) == len(mesh.faces)
    assert np.allclose(
        np.sort(read.triangles.reshape(-1)), np.sort(mesh.vertices_mm[mesh.faces].reshape(-1)), atol=1e-6
    )
