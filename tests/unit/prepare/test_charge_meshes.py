"""From a mesh to grams of sterling (NEEDS A1, A2)."""

import pytest

from pourwright.core.findings import Level
from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.pieces import piece_mass
from pourwright.prepare.densities import density_lookup
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.measure import measure_mesh, measure_pattern
from pourwright.studio.day import PieceOrder


def _cast(report):
    order = PieceOrder("P01", "Ring", "A", "casting-wax", file="ring.stl", units="mm")
    return piece_mass(order, report, density_lookup(()), alloy("sterling-925")).cast_g.value


def test_a_torus_of_293_mm3_is_3_04_g_and_the_same_file_in_inches_is_asked_about(tmp_path):
    solids.write_stl(solids.torus(9.5, 1.25), tmp_path / "ring.stl")
    report = measure_pattern(tmp_path / "ring.stl", "mm")
    assert report.volume_mm3 == pytest.approx(293.0, rel=0.01)
    assert _cast(report) == pytest.approx(3.04, rel=0.01)
    in_inches = measure_pattern(tmp_path / "ring.stl", "inch")
    assert [one.level for one in in_inches.findings] == [Level.ASK]
    assert in_inches.volume_mm3 == 0


def test_a_hollow_ball_weighs_7_33_g_not_22_22_and_its_void_stops():
    report = measure_mesh(solids.hollow_sphere(8.0, 7.0), "ball.stl")
    assert _cast(report) == pytest.approx(7.33, rel=0.01)
    assert any(one.code == "shape.void-sealed" and one.level is Level.STOP for one in report.findings)
