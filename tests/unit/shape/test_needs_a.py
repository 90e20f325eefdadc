"""Intake as the people at the bench need it: honest volume, unit, closed hollow, the heavy part."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.core.findings import Level, stops
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.measure import measure_pattern

RING_MM3 = 2 * math.pi**2 * 9.5 * 1.25**2  # 293.00 mm3


@pytest.fixture(scope="module")
def ring_file(tmp_path_factory):
    path = tmp_path_factory.mktemp("needs") / "ring.stl"
    solids.write_stl(solids.torus(9.5, 1.25, 144), path)
    return path


def test_a_ring_in_mm_has_its_volume_within_a_per_cent_and_a_range_that_holds_the_truth(ring_file):
    report = measure_pattern(ring_file, "mm")
    assert report.volume_mm3 == pytest.approx(293.00, rel=0.01)
    assert report.volume_low_mm3 <= RING_MM3 <= report.volume_high_mm3
    assert report.volume_high_mm3 < 1.01 * report.volume_low_mm3
    assert report.watertight
    assert report.box_mm == pytest.approx((21.5, 21.5, 2.5), abs=0.01)
    assert not stops(report.findings)


def test_the_same_file_in_inches_is_asked_about_and_never_accepted(ring_file):
    report = measure_pattern(ring_file, "inch")
    assert [one.level for one in report.findings] == [Level.ASK]
    assert report.volume_mm3 == 0
    assert report.mesh is None
    assert "546" in report.findings[0].what
    assert "mm = 21.5" in report.findings[0].what


def test_without_a_unit_there_is_no_volume_but_a_question_with_all_sizes(ring_file):
    report = measure_pattern(ring_file, "")
    (finding,) = report.findings
    assert (finding.code, finding.level) == ("shape.units-missing", Level.ASK)
    assert all(unit in finding.what for unit in ("mm =", "cm =", "inch =", "m ="))
    assert (report.volume_mm3, report.wall, report.sections) == (0, None, ())


def test_a_mesh_with_one_triangle_removed_is_closed_and_said(ring_file, tmp_path):
    ring = solids.torus(9.5, 1.25, 144)
    solids.write_stl(solids.without_faces(ring, [500]), tmp_path / "torn.stl")
    report, whole = measure_pattern(tmp_path / "torn.stl", "mm"), measure_pattern(ring_file, "mm")
    (finding,) = [one for one in report.findings if one.code == "shape.holes-closed"]
    assert finding.params["count"] == "1"
    assert "mm²" in finding.what
    assert not report.watertight
    assert report.volume_mm3 == pytest.approx(whole.volume_mm3, rel=1e-6)
    assert report.volume_low_mm3 < whole.volume_low_mm3
    assert report.volume_high_mm3 > whole.volume_high_mm3


def test_a_mesh_with_a_large_hole_gives_no_figure(tmp_path):
    ring = solids.torus(9.5, 1.25, 144)
    solids.write_stl(solids.without_faces(ring, range(200)), tmp_path / "torn.stl")
    report = measure_pattern(tmp_path / "torn.stl", "mm")
    assert [(one.code, one.level) for one in report.findings] == [("shape.mesh-open", Level.STOP)]
    assert report.volume_mm3 == 0


def test_a_closed_hollow_is_flagged_with_its_volume(tmp_path):
    solids.write_stl(solids.hollow_sphere(8.0, 7.0, 192), tmp_path / "bead.stl")
    report = measure_pattern(tmp_path / "bead.stl", "mm")
    assert report.volume_mm3 == pytest.approx(707.9, rel=0.002)
    assert report.voids_count == 1
    (finding,) = [one for one in report.findings if one.code == "shape.void-sealed"]
    assert finding.level is Level.STOP
    assert "no drain" in finding.what or "without a drain" in finding.what
    void_mm3 = float(finding.params["volume"].replace("\u2009", "").split("\u00a0")[0])
    assert void_mm3 == pytest.approx(4 / 3 * math.pi * 343, rel=0.002)


def test_a_cube_behind_a_thin_neck_is_the_heaviest_section_at_its_place(tmp_path):
    solids.write_stl(solids.plate_with_cube(), tmp_path / "brooch.stl")
    report = measure_pattern(tmp_path / "brooch.stl", "mm")
    assert report.heaviest.modulus_mm == pytest.approx(8 / 6, rel=0.05)
    assert np.allclose(report.heaviest.place_mm, (0, 0, 6), atol=0.2)
    assert report.wall.thickness_mm == pytest.approx(0.5, abs=0.01)
