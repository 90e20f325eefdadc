"""The whole report of a pattern."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.core.findings import Level, in_order
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.judging import wall_findings
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_mesh, measure_pattern
from pourwright.shape.pattern.report import Mesh


def _codes(report):
    return [one.code for one in in_order(report.findings)]


def test_file_and_memory_give_the_same_report(tmp_path):
    ring = solids.ring_band(8.0, 4.0, 1.5)
    solids.write_stl(ring, tmp_path / "band.stl")
    read, held = measure_pattern(tmp_path / "band.stl", "mm"), measure_mesh(ring, "band.stl")
    assert read.volume_mm3 == pytest.approx(held.volume_mm3, rel=1e-6)
    assert read.wall.thickness_mm == pytest.approx(held.wall.thickness_mm, rel=1e-3)
    assert (read.file, read.units, read.triangles_count) == (held.file, held.units, held.triangles_count)
    assert (len(read.sha256), held.sha256) == (64, "")


@pytest.mark.parametrize(("units", "factor"), [("cm", 10.0), ("inch", 25.4), ("m", 1000.0)])
def test_numbers_in_another_unit_give_the_same_piece(tmp_path, units, factor):
    ring = solids.torus(9.5, 1.25, 48)
    solids.write_stl(solids.scaled(ring, 1 / factor), tmp_path / "ring.stl")
    report = measure_pattern(tmp_path / "ring.stl", units)
    assert report.units == units
    assert report.volume_mm3 == pytest.approx(measure_mesh(ring, "ring.stl").volume_mm3, rel=1e-5)
    assert report.box_mm == pytest.approx((21.5, 21.5, 2.5), rel=1e-4)


def _tube(path_mm, radius_mm, sides=32):
    """One closed shell: a round tube along a closed path in the plane, whether or not the path crosses itself."""
    along = np.roll(path_mm, -1, axis=0) - np.roll(path_mm, 1, axis=0)
    across = np.column_stack([along[:, 1], -along[:, 0]]) / np.linalg.norm(along, axis=1, keepdims=True)
    angle = 2 * np.pi * np.arange(sides) / sides
    flat = path_mm[:, None, :] + radius_mm * across[:, None, :] * np.cos(angle)[None, :, None]
    height = np.broadcast_to(radius_mm * np.sin(angle), (len(path_mm), sides))
    vertices = np.concatenate([flat, height[:, :, None]], axis=2).reshape(-1, 3)
    ring, side = np.divmod(np.arange(len(vertices)), sides)
    after, beside = (ring + 1) % len(path_mm) * sides, (side + 1) % sides
    here, right, up, far = ring * sides + side, ring * sides + beside, after + side, after + beside
    return Mesh(vertices, np.vstack([np.column_stack([here, up, far]), np.column_stack([here, far, right])]))


def test_a_surface_that_crosses_itself_is_counted_in_voxels():
    """A wire bent to an eight crosses itself at a right angle: two round rods share 16/3 of the radius cubed."""
    turn = 2 * np.pi * (np.arange(400) + 0.5) / 400
    path = 8.0 * np.column_stack([np.cos(turn), np.sin(turn) * np.cos(turn)])
    length = np.linalg.norm(np.roll(path, -1, axis=0) - path, axis=1).sum()
    true_mm3 = math.pi * length - 16 / 3
    report = measure_mesh(_tube(path, 1.0), "eight.stl")
    assert "shape.crossing" in _codes(report)
    assert report.volume_mm3 == pytest.approx(true_mm3, rel=0.01)
    assert report.volume_low_mm3 < true_mm3 < report.volume_high_mm3


def test_a_surface_that_crosses_itself_beyond_telling_is_refused():
    turn = 4 * np.pi * (np.arange(400) + 0.5) / 400
    twice = (8.0 + 0.3 * np.cos(turn / 2))[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    report = measure_mesh(_tube(twice, 1.0), "twice.stl")
    assert [(one.code, one.level) for one in report.findings] == [("shape.crossing-hopeless", Level.STOP)]
    assert report.mesh is None


def test_a_surface_of_shuffled_corners_is_refused_even_if_its_sums_happen_to_agree():
    ring = solids.torus(9.5, 1.25)
    shuffled = np.random.default_rng(0).permutation(ring.vertices_mm)
    report = measure_mesh(Mesh(shuffled, ring.faces), "shuffled.stl")
    assert report.mesh is None
    assert [one.level for one in report.findings] == [Level.STOP]


def test_a_body_that_is_all_edges_is_said_to_have_no_measurable_wall():
    assert [(one.code, one.level) for one in wall_findings(None, "x.stl")] == [("shape.wall-unknown", Level.LOOK)]


def test_several_bodies_are_one_report_with_a_remark():
    two = solids.beside(solids.sphere(3.0, 48), solids.moved(solids.sphere(2.0, 48), (9, 0, 0)))
    report = measure_mesh(two, "beads.stl")
    assert "shape.several-bodies" in _codes(report)
    assert report.shells_count == 2
    assert len(report.sections) == 2
    assert report.volume_mm3 == pytest.approx(4 / 3 * math.pi * (27 + 8), rel=0.01)


def test_thin_walls_are_judged_by_the_workshop_rules():
    def judged(thickness_mm):
        report = measure_mesh(solids.box(12, 12, thickness_mm), "leaf.stl")
        return [(one.code, one.level) for one in report.findings]

    assert judged(0.4) == [("shape.wall-below-least", Level.LOOK)]
    assert judged(0.5) == [("shape.wall-thin", Level.LOOK)]
    assert judged(0.9) == [("shape.wall-narrow", Level.NOTE)]
    assert judged(1.2) == []


def test_two_heavy_parts_kept_apart_by_a_thin_one_each_want_a_gate():
    report = measure_mesh(solids.dumbbell(4.0, 1.0, 14.0, 64), "bell.stl")
    (finding,) = [one for one in report.findings if one.code == "shape.sections-apart"]
    assert finding.level is Level.LOOK
    assert finding.params["heavy"] == "2"
    assert finding.sources


def test_every_finding_can_be_read():
    cases = [
        solids.hollow_sphere(8.0, 7.0, 48),
        solids.plate_with_cube(),
        solids.without_faces(solids.sphere(4.0, 48), [9]),
        solids.beside(solids.box(4, 4, 4), solids.moved(solids.box(4, 4, 4), (3, 1, 1))),
    ]
    for mesh in cases:
        for finding in measure_mesh(mesh, "piece.stl").findings:
            assert "piece.stl" in finding.what
            assert "{" not in finding.what + finding.why + finding.do_next


def test_an_empty_mesh_in_memory_is_a_finding():
    report = measure_mesh(solids.without_faces(solids.box(4, 4, 4), range(12)), "none.stl")
    assert [(one.code, one.level) for one in report.findings] == [("shape.no-area", Level.STOP)]


def test_a_larger_studio_may_raise_the_size_limit():
    mesh = solids.box(150, 40, 10)
    assert measure_mesh(mesh, "plaque.stl").mesh is None
    assert measure_mesh(mesh, "plaque.stl", limits=PatternLimits(longest_mm=200)).volume_mm3 == pytest.approx(60000)
