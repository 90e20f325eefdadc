"""Case: solids whose figures can be written down, turned at random.

Source: geometry. Volume must lie in the range that is reported, which may be no wider than the flat facets call for;
the thinnest wall within 2 % or 0.02 mm; the modulus of every section within 5 %; a fin of under 1 % of the surface
found. One turn each here; many under tests/long.
"""

from __future__ import annotations

import pytest
from tests.turned_solids import COMPOUND, SINGLE, small_fin, turned_at_random

from pourwright.shape.pattern.measure import measure_mesh


def holds_true(case, seed):
    report = measure_mesh(turned_at_random(case.make(), seed), "piece.stl")
    if case.volume_mm3 is not None:
        assert report.volume_low_mm3 <= case.volume_mm3 <= report.volume_high_mm3
        assert report.volume_high_mm3 - report.volume_low_mm3 < (1e-4 if case.flat else 0.02) * case.volume_mm3
    if case.wall_mm is not None:
        assert report.wall.thickness_mm == pytest.approx(case.wall_mm, rel=0.02, abs=0.02)
    assert len(report.sections) == len(case.moduli_mm)
    for section, modulus_mm in zip(report.sections, case.moduli_mm, strict=True):
        assert section.modulus_mm == pytest.approx(modulus_mm, rel=0.05)
    return report


@pytest.mark.parametrize("case", [*SINGLE, *COMPOUND], ids=lambda case: case.name)
def test_volume_wall_and_sections_of_a_known_solid_are_right_however_it_lies(case):
    holds_true(case, 1)


@pytest.mark.parametrize(("body_mm", "thick_mm", "wide_mm", "reach_mm"), [(16, 0.3, 2, 2), (40, 0.4, 1, 1)])
def test_a_fin_of_a_fraction_of_a_percent_of_the_surface_is_the_thinnest_wall(body_mm, thick_mm, wide_mm, reach_mm):
    report = measure_mesh(turned_at_random(small_fin(body_mm, thick_mm, wide_mm, reach_mm), 5), "fin.stl")
    assert 2 * wide_mm * reach_mm < 0.01 * report.area_mm2
    assert report.wall.thickness_mm == pytest.approx(thick_mm, abs=0.02)


def test_the_cone_has_no_thin_wall_at_its_edge_nor_at_its_tip():
    (cone,) = [case for case in SINGLE if case.name == "cone"]
    assert holds_true(cone, 2).wall.thickness_mm > 2.5
