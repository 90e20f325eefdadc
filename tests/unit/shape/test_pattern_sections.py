"""Sections against solids whose modulus can be written down: within 5 %."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.grid.fractions import partial_volumes, side_for
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.sections import find_sections
from pourwright.shape.pattern.walls import map_walls


def _sections(mesh):
    side_mm = side_for(np.ptp(mesh.vertices_mm, axis=0), 200_000)
    grid = partial_volumes(mesh.vertices_mm, mesh.faces, side_mm)
    return find_sections(mesh, map_walls(mesh), grid, mass.volume_mm3(mesh))


WHOLE = [
    ("ball", solids.sphere(5.0), 5.0 / 3),
    ("torus", solids.torus(9.5, 1.25), 1.25 / 2),
    ("coarse torus", solids.torus(9.5, 1.25, 40), 1.25 / 2),
    ("turned torus", solids.rotated(solids.torus(9.5, 1.0), (1, 2, 3), 50), 1.0 / 2),
    ("cube", solids.box(8, 8, 8), 8.0 / 6),
    ("plate", solids.box(20, 20, 0.6), 240 / 848),
    ("ring band", solids.ring_band(8.0, 4.0, 1.5), 4 * 1.5 / (2 * (4 + 1.5))),
    ("hollow ball", solids.hollow_sphere(8.0, 7.0), (512 - 343) / 3 / (64 + 49)),
]


@pytest.mark.parametrize(("mesh", "modulus_mm"), [case[1:] for case in WHOLE], ids=[case[0] for case in WHOLE])
def test_a_body_without_necks_is_one_section(mesh, modulus_mm):
    (section,) = _sections(mesh)
    assert section.modulus_mm == pytest.approx(modulus_mm, rel=0.02)
    assert section.volume_mm3 == pytest.approx(mass.volume_mm3(mesh), rel=1e-9)


@pytest.mark.parametrize("angle_deg", [0.0, 33.0])
def test_cube_on_a_neck_on_a_plate(angle_deg):
    cube, neck, plate = sorted(
        _sections(solids.rotated(solids.plate_with_cube(), (1, 2, 3), angle_deg)), key=lambda one: -one.modulus_mm
    )
    assert cube.modulus_mm == pytest.approx(8 / 6, rel=0.05)
    assert cube.volume_mm3 == pytest.approx(512, rel=0.02)
    assert plate.modulus_mm == pytest.approx(200 / 840, rel=0.05)
    assert neck.volume_mm3 < 3.0
    middle_of_cube = solids.rotated(solids.moved(solids.box(1, 1, 1), (0, 0, 6)), (1, 2, 3), angle_deg)
    assert cube.place_mm == pytest.approx(middle_of_cube.vertices_mm.mean(axis=0), abs=0.1)


def test_dumbbell_is_two_balls_and_a_bar():
    ball, bar, distance = 4.0, 1.5, 14.0
    sections = _sections(solids.dumbbell(ball, bar, distance))
    height = ball - math.sqrt(ball**2 - bar**2)
    volume = 4 / 3 * math.pi * ball**3 - math.pi * height**2 * (3 * ball - height) / 3
    area = 4 * math.pi * ball**2 - 2 * math.pi * ball * height
    assert len(sections) == 3
    for one in sections[:2]:
        assert one.modulus_mm == pytest.approx(volume / area, rel=0.05)
    assert sections[2].modulus_mm == pytest.approx(bar / 2, rel=0.05)


def test_shares_add_up_to_the_whole():
    mesh = solids.dumbbell(4.0, 1.5, 14.0)
    sections = _sections(mesh)
    assert sum(one.volume_mm3 for one in sections) == pytest.approx(mass.volume_mm3(mesh), rel=1e-9)
    assert sum(one.area_mm2 for one in sections) == pytest.approx(mass.area_mm2(mesh), rel=1e-9)


def test_a_ring_with_a_bead_has_the_bead_as_its_heaviest_section():
    mesh = solids.united(solids.torus(9.5, 0.8), solids.moved(solids.sphere(2.5, 64), (9.5, 0, 0)))
    sections = _sections(mesh)
    assert len(sections) == 2
    assert sections[0].modulus_mm == pytest.approx(2.5 / 3, rel=0.08)  # less what the wire takes off its surface
    assert sections[0].place_mm == pytest.approx((9.5, 0, 0), abs=0.2)
    assert sections[1].modulus_mm == pytest.approx(0.8 / 2, rel=0.05)
