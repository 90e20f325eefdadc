"""Holes found, measured and closed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.holes import close_holes, trace_holes
from pourwright.shape.pattern.topology import edges_of, open_edges

BALL = solids.sphere(5.0, 48)


def _holes(mesh):
    return trace_holes(mesh, open_edges(edges_of(mesh)))


def test_a_torn_out_triangle_is_one_hole_of_its_area_and_closing_restores_the_volume():
    torn = solids.without_faces(BALL, [700])
    (hole,) = _holes(torn)
    assert hole.area_mm2 == pytest.approx(mass.face_areas_mm2(BALL)[700], rel=1e-9)
    assert np.allclose(hole.place_mm, BALL.vertices_mm[BALL.faces[700]].mean(axis=0))
    assert mass.volume_mm3(close_holes(torn, (hole,))) == pytest.approx(mass.volume_mm3(BALL), rel=1e-12)


def test_triangles_torn_out_round_one_corner_are_holes_that_close():
    corner = BALL.faces[700][0]
    around = np.flatnonzero((BALL.faces == corner).any(axis=1))
    whole_fan = solids.without_faces(BALL, around)
    (hole,) = _holes(whole_fan)
    assert len(hole.rim) == len(around)
    every_second = solids.without_faces(BALL, around[::2])
    holes = _holes(every_second)
    assert sum(one.area_mm2 for one in holes) == pytest.approx(mass.face_areas_mm2(BALL)[around[::2]].sum(), rel=0.3)
    assert not len(open_edges(edges_of(close_holes(every_second, holes))))


def test_the_largest_hole_comes_first():
    sizes = [one.area_mm2 for one in _holes(solids.without_faces(solids.box(1, 2, 3), [0, 4, 8]))]
    assert sizes == sorted(sizes, reverse=True)


def test_doubt_is_a_dome_half_as_high_as_the_hole_is_wide():
    rod = solids.rod(3.0, 10.0, 96)
    cap = np.flatnonzero((rod.vertices_mm[rod.faces][:, :, 2] > 4.999).all(axis=1))
    (hole,) = _holes(solids.without_faces(rod, cap))
    height_mm = 1.5
    cap_mm3 = math.pi * height_mm * (3 * 9.0 + height_mm**2) / 6
    assert hole.doubt_mm3 == pytest.approx(cap_mm3, rel=0.1)
