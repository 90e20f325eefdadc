"""Pictures of patterns: right size, right way round, same bytes, ink where it belongs."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from tests.unit.sheet.sample_plan import block, torus

from pourwright.shape.pattern.report import Mesh
from pourwright.sheet.picture import _face_on, _three_quarter, piece_picture, side_picture


def _grey(picture):
    return np.asarray(Image.open(io.BytesIO(picture.png)), dtype=int)


def _volume(vertices, faces):
    first, second, third = (vertices[faces[:, corner]] for corner in range(3))
    return np.einsum("fa,fa->f", first, np.cross(second, third)).sum() / 6


def test_ring_shows_its_hole_white_and_its_outline_dark():
    grey = _grey(piece_picture(torus(9.5, 1.25)))
    assert grey.shape == (600, 600)
    assert grey[300, 300] == 255
    assert (grey < 30).sum() > 4000
    body = grey[(grey > 60) & (grey < 250)]
    assert body.size > 20_000
    assert np.percentile(body, 5) > 110, "greys must stay light enough for a poor printer"


def test_picture_reaches_near_the_edge_and_no_further():
    grey = _grey(piece_picture(block(20, 14, 6)))
    rows = np.flatnonzero((grey < 255).any(axis=1))
    assert 5 < rows[0] < 40
    assert 560 < rows[-1] < 595


@pytest.mark.parametrize("sides", [(1, 2, 3), (1, 3, 2), (2, 1, 3), (2, 3, 1), (3, 1, 2), (3, 2, 1)])
def test_turning_a_pattern_for_its_picture_never_mirrors_it(sides):
    mesh = block(*sides)
    turned = _face_on(mesh.vertices_mm)
    assert np.ptp(turned, axis=0).tolist() == [2, 3, 1]
    assert np.isclose(_volume(turned, mesh.faces), _volume(mesh.vertices_mm, mesh.faces))


def test_three_quarter_view_keeps_lengths_and_looks_from_above():
    points = np.eye(3)
    seen = _three_quarter(points)
    assert np.allclose(np.linalg.norm(seen, axis=1), 1)
    assert seen[1, 1] < 0, "what is up is drawn up"
    assert seen[1, 2] > 0, "the top leans towards the viewer"


def test_same_mesh_gives_the_same_bytes():
    assert piece_picture(torus(9, 2)).png == piece_picture(torus(9, 2)).png


def test_side_view_is_to_scale():
    mesh = block(20, 10, 30)
    centred = Mesh(mesh.vertices_mm - np.array([10, 5, 0]), mesh.faces)
    grey = _grey(side_picture(centred, 40, 50, 10))
    assert grey.shape == (500, 400)
    rows, columns = (np.flatnonzero((grey < 255).any(axis=axis)) for axis in (1, 0))
    assert abs(rows[0] - 200) <= 3
    assert abs(columns[0] - 100) <= 3
    assert abs(columns[-1] - 300) <= 3


def test_face_wound_the_wrong_way_is_lit_like_its_neighbours():
    mesh = block(20, 14, 6)
    inside_out = Mesh(mesh.vertices_mm, mesh.faces[:, ::-1].copy())
    difference = np.abs(_grey(piece_picture(mesh)) - _grey(piece_picture(inside_out)))
    assert np.median(difference[difference > 0]) < 8 if difference.any() else True
