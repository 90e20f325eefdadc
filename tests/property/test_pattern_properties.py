"""What must hold for any placing, scale and order of triangles."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.sizes import MM_PER_UNIT
from pourwright.shape.pattern.solid import make_solid
from pourwright.shape.pattern.weld import weld_corners

BASE = solids.plate_with_cube()
HOLLOW = solids.hollow_sphere(8.0, 7.0, 24)
place = st.tuples(*[st.floats(-500, 500, allow_nan=False)] * 3)


@settings(max_examples=25, deadline=None)
@given(place, st.floats(-180, 180), place)
def test_volume_and_area_stay_when_the_piece_is_turned_and_moved(axis, angle, shift):
    if np.linalg.norm(axis) < 1e-3:
        axis = (0.0, 0.0, 1.0)
    for mesh in (BASE, HOLLOW):
        moved = solids.moved(solids.rotated(mesh, axis, angle), shift)
        assert mass.volume_mm3(moved) == pytest.approx(mass.volume_mm3(mesh), rel=1e-9)
        assert mass.area_mm2(moved) == pytest.approx(mass.area_mm2(mesh), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.01, 100))
def test_volume_grows_with_the_cube_of_the_scale_and_the_unit(factor):
    assert mass.volume_mm3(solids.scaled(BASE, factor)) == pytest.approx(factor**3 * mass.volume_mm3(BASE), rel=1e-9)
    inch = mass.volume_mm3(solids.scaled(BASE, MM_PER_UNIT["inch"]))
    assert inch == pytest.approx(25.4**3 * mass.volume_mm3(BASE), rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(st.randoms(use_true_random=False))
def test_the_order_and_sense_of_triangles_do_not_matter(random):
    faces = BASE.faces[random.sample(range(len(BASE.faces)), len(BASE.faces))]
    turned = np.array([random.random() < 0.2 for _ in faces])
    mixed = np.where(turned[:, None], faces[:, ::-1], faces)
    solid = make_solid(weld_corners(BASE.vertices_mm[mixed]), "x.stl")
    assert mass.volume_mm3(solid.mesh) == pytest.approx(mass.volume_mm3(BASE), rel=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400), st.integers(0, 3))
def test_any_bytes_are_read_or_refused_without_an_exception(tail, count):
    for content in (tail, b"solid " + tail, bytes(80) + count.to_bytes(4, "little") + tail):
        soup = read_file(content, ".stl", Ceilings(1000, 10**6, 10**6))
        assert (soup.corners is None) == any(one.level == "stop" for one in soup.remarks)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(0, len(HOLLOW.faces) - 1), min_size=1, max_size=5, unique=True))
def test_a_torn_mesh_is_closed_within_its_range_or_refused(gone):
    torn = solids.without_faces(HOLLOW, gone)
    try:
        solid = make_solid(Mesh(torn.vertices_mm, torn.faces), "x.stl")
    except Exception as stopped:
        assert type(stopped).__name__ == "MeshError"
        return
    assert abs(mass.volume_mm3(solid.mesh) - mass.volume_mm3(HOLLOW)) <= solid.doubt_mm3 + 1e-9
