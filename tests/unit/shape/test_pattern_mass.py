"""Volume, area, centre and the estimate of what flat facets hide."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh

from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.report import Mesh


def test_box_is_exact_wherever_it_lies():
    box = solids.moved(solids.box(2.0, 3.0, 4.0), (1000.0, -2000.0, 500.0))
    assert mass.volume_mm3(box) == pytest.approx(24.0, rel=1e-12)
    assert mass.area_mm2(box) == pytest.approx(52.0, rel=1e-12)
    assert mass.centre_mm(box) == pytest.approx((1000.0, -2000.0, 500.0), rel=1e-12)


def test_agrees_with_another_program():
    mesh = solids.rotated(solids.plate_with_cube(), (1, 2, 3), 40)
    other = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
    assert mass.volume_mm3(mesh) == pytest.approx(other.volume, rel=1e-9)
    assert mass.area_mm2(mesh) == pytest.approx(other.area, rel=1e-9)
    assert np.allclose(mass.centre_mm(mesh), other.center_mass, atol=1e-9)


def test_inside_out_is_negative_and_a_void_is_taken_off():
    assert mass.volume_mm3(solids.flipped(solids.box(1, 1, 1))) == pytest.approx(-1)
    hollow = solids.beside(solids.box(4, 4, 4), solids.flipped(solids.box(2, 2, 2)))
    assert mass.volume_mm3(hollow) == pytest.approx(64 - 8)


ROUND = [
    (solids.torus(9.5, 1.25, 24), 2 * math.pi**2 * 9.5 * 1.25**2),
    (solids.torus(9.5, 1.25, 96), 2 * math.pi**2 * 9.5 * 1.25**2),
    (solids.torus(9.5, 1.25, 200, 12), 2 * math.pi**2 * 9.5 * 1.25**2),
    (solids.sphere(5.0, 24), 4 / 3 * math.pi * 125),
    (solids.ring_band(8.0, 4.0, 1.5, 24), math.pi * (9.5**2 - 8.0**2) * 4),
    (solids.rod(0.5, 2.0, 24), math.pi * 0.25 * 2),
]


@pytest.mark.parametrize(("mesh", "true_mm3"), ROUND)
def test_range_of_rounding_holds_the_true_solid_and_is_not_idle(mesh, true_mm3):
    shortfall_mm3 = true_mm3 - mass.volume_mm3(mesh)
    low_mm3, high_mm3 = mass.rounding_mm3(mesh)
    assert low_mm3 <= 0 < shortfall_mm3 <= high_mm3
    assert high_mm3 < 2.5 * shortfall_mm3


def test_flat_and_sharp_things_hide_nothing():
    for mesh in (solids.box(20, 20, 0.5), solids.cube_with_fin()):
        written_mm3 = mass.written_mm3(mesh)
        assert mass.rounding_mm3(mesh) == pytest.approx((-written_mm3, written_mm3), abs=1e-9)


def test_the_rounding_of_a_files_numbers_is_within_the_range():
    box = solids.moved(solids.rotated(solids.box(30, 20, 0.3), (1, 2, 3), 40), (60, -50, 30))
    rounded = Mesh(box.vertices_mm.astype(np.float32).astype(np.float64), box.faces)
    low_mm3, high_mm3 = mass.rounding_mm3(rounded)
    assert low_mm3 <= 180.0 - mass.volume_mm3(rounded) <= high_mm3
    assert high_mm3 - low_mm3 < 1e-4 * 180.0


@pytest.mark.parametrize("mesh", [solids.cube_with_fin(), solids.torus(9.5, 1.25, 40)])
def test_the_compiled_sums_agree_with_plain_ones(mesh):
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    doubled = np.cross(b - a, c - a)
    assert mass.face_areas_mm2(mesh) == pytest.approx(np.linalg.norm(doubled, axis=1) / 2.0, rel=1e-12)
    part = np.einsum("ij,ij->i", a, doubled) / 6.0
    found = mass.sums_of(mesh)
    assert found.volume_mm3 == pytest.approx(part.sum(), rel=1e-12)
    assert np.allclose(found.centre_mm, (part[:, None] * (a + b + c)).sum(axis=0) / 4.0 / part.sum(), atol=1e-12)
