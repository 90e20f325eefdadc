"""What is mended silently, what is said, what is asked and refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.core.errors import MeshError
from pourwright.core.findings import Level
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.solid import make_solid
from pourwright.shape.pattern.weld import weld_corners

RING = solids.torus(9.5, 1.25, 96)
BOX = solids.box(4, 4, 4)


def _solid(mesh):
    return make_solid(weld_corners(mesh.vertices_mm[mesh.faces]), "x.stl")


def _codes(mesh):
    return [one.code for one in _solid(mesh).findings]


def _refusal(mesh):
    with pytest.raises(MeshError) as stopped:
        _solid(mesh)
    assert stopped.value.finding.do_next
    return stopped.value.finding


def test_a_sound_mesh_passes_without_a_word():
    solid = _solid(RING)
    assert solid.findings == ()
    assert (solid.watertight, solid.shells_count, solid.voids_count, solid.doubt_mm3) == (True, 1, 0, 0.0)


def test_mended_silently_the_volume_is_that_of_the_sound_mesh():
    mixed = RING.faces.copy()
    mixed[100:140] = mixed[100:140, ::-1]
    doubled = Mesh(RING.vertices_mm, np.vstack([RING.faces, RING.faces[:200]]))
    jitter = np.random.default_rng(4).uniform(-2e-6, 2e-6, (len(RING.faces), 3, 3))
    corners = RING.vertices_mm[RING.faces] + jitter
    loose = Mesh(corners.reshape(-1, 3), np.arange(corners.size // 3).reshape(-1, 3))
    for mesh in (solids.flipped(RING), Mesh(RING.vertices_mm, mixed), doubled, loose):
        solid = _solid(mesh)
        assert all(one.level is Level.NOTE for one in solid.findings)
        assert mass.volume_mm3(solid.mesh) == pytest.approx(mass.volume_mm3(RING), rel=1e-5)


def test_a_void_is_kept_and_stops_with_its_volume():
    solid = _solid(solids.hollow_sphere(8.0, 7.0))
    (finding,) = solid.findings
    assert (finding.code, finding.level) == ("shape.void-sealed", Level.STOP)
    assert solid.voids_count == 1
    assert mass.volume_mm3(solid.mesh) == pytest.approx(4 / 3 * math.pi * (512 - 343), rel=3e-3)


def test_a_hollow_file_turned_inside_out_as_a_whole_is_the_same_hollow_body():
    solid = _solid(solids.flipped(solids.hollow_sphere(8.0, 7.0, 48)))
    assert [one.code for one in solid.findings] == ["shape.turned", "shape.void-sealed"]
    assert mass.volume_mm3(solid.mesh) > 0


def test_a_shell_inside_that_faces_the_same_way_is_asked_about_with_both_volumes():
    finding = _refusal(solids.beside(BOX, solids.box(2, 2, 2)))
    assert (finding.code, finding.level) == ("shape.shell-nested", Level.ASK)
    assert "64.0" in finding.params["solid"]
    assert "56.0" in finding.params["hollow"]


def test_overlapping_shells_are_united_within_a_thousandth():
    two = solids.beside(BOX, solids.moved(BOX, (3, 1, 0)))
    solid = _solid(two)
    assert [one.code for one in solid.findings] == ["shape.shells-united"]
    assert mass.volume_mm3(solid.mesh) == pytest.approx(2 * 64 - 1 * 3 * 4, rel=1e-6)


def test_shells_apart_are_kept_and_counted_even_if_one_is_inside_out():
    solid = _solid(solids.beside(BOX, solids.flipped(solids.moved(BOX, (9, 0, 0)))))
    assert [one.code for one in solid.findings] == ["shape.turned", "shape.several-bodies"]
    assert mass.volume_mm3(solid.mesh) == pytest.approx(128)
    assert solid.shells_count == 2


def test_a_crossing_shell_that_is_inside_out_is_asked_about():
    finding = _refusal(solids.beside(BOX, solids.flipped(solids.moved(solids.box(3, 3, 3), (3, 0, 0)))))
    assert (finding.code, finding.level) == ("shape.shells-opposed", Level.ASK)


def test_a_void_that_parts_enclose_together_is_found():
    walls = [
        *(solids.moved(solids.box(4.4, 4.4, 1), (0, 0, z)) for z in (-1.5, 1.5)),
        *(solids.moved(solids.box(1, 4.2, 3.8), (x, 0, 0)) for x in (-1.5, 1.5)),
        *(solids.moved(solids.box(4.0, 1, 3.6), (0, y, 0)) for y in (-1.5, 1.5)),
    ]
    solid = _solid(solids.beside(*walls))
    assert [one.code for one in solid.findings] == ["shape.shells-united", "shape.void-sealed"]
    assert solid.voids_count == 1
    assert solid.findings[1].params["volume"].startswith("8.0")


def test_a_small_hole_is_closed_and_said_with_area_and_place():
    solid = _solid(solids.without_faces(RING, [4000]))
    (finding,) = solid.findings
    assert (finding.code, finding.level) == ("shape.holes-closed", Level.LOOK)
    assert not solid.watertight
    assert 0 < solid.doubt_mm3 < 0.005 * mass.volume_mm3(RING)
    assert mass.volume_mm3(solid.mesh) == pytest.approx(mass.volume_mm3(RING), rel=1e-9)


def test_large_or_many_holes_and_loose_triangles_are_refused_without_a_figure():
    assert _refusal(solids.without_faces(RING, range(100))).code == "shape.mesh-open"
    assert _refusal(solids.without_faces(RING, range(0, 9000, 50))).code == "shape.mesh-open"
    soup = np.random.default_rng(5).uniform(0, 10, (200, 3, 3))
    assert _refusal(Mesh(soup.reshape(-1, 3), np.arange(600).reshape(-1, 3))).code == "shape.mesh-open"
    more = np.random.default_rng(5).uniform(0, 10, (8000, 3, 3))
    assert _refusal(Mesh(more.reshape(-1, 3), np.arange(24000).reshape(-1, 3))).code == "shape.mesh-torn"


def test_what_encloses_nothing_is_refused():
    flat = np.array([[[0, 0, 0], [5, 0, 0], [0, 5, 0]]] * 2, dtype=float)
    flat[1] = flat[1, ::-1]
    assert _refusal(Mesh(flat.reshape(-1, 3), np.arange(6).reshape(-1, 3))).code in {"shape.no-volume", "shape.no-area"}
    assert _refusal(solids.beside(RING, solids.flipped(RING))).code == "shape.no-volume"
    foil = Mesh(RING.vertices_mm * [1, 1, 1e-8], RING.faces)
    assert _refusal(foil).code == "shape.no-volume"
    point = np.zeros((3, 3, 3))
    assert _refusal(Mesh(point.reshape(-1, 3), np.arange(9).reshape(-1, 3))).code == "shape.no-area"


def test_scraps_are_left_out_and_said():
    crumb = solids.moved(solids.box(0.05, 0.05, 0.05), (9, 0, 0))
    solid = _solid(solids.beside(BOX, crumb))
    assert [(one.code, one.level) for one in solid.findings] == [("shape.scraps", Level.NOTE)]
    assert mass.volume_mm3(solid.mesh) == pytest.approx(64)
