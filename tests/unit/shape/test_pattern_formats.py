"""Each format read right: one ring through all of them, and what is peculiar to each."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests import pattern_files as good

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.formats.kinds import looks_like, read_file
from pourwright.shape.pattern.formats.soup import Ceilings

RING = solids.torus(9.5, 1.25, 24, 12)
POINTS, FACES = RING.vertices_mm.astype(np.float32).astype(float), RING.faces
CUBE = solids.box(2.0, 3.0, 4.0)
QUADS = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
CEILINGS = Ceilings(2_000_000, 10**8, 10**8)
TURN = "0 1 0 -1 0 0 0 0 1 5 6 7"
MIRROR = "-1 0 0 0 1 0 0 0 1 0 0 0"


def read(content, name):
    soup = read_file(content, Path(name).suffix, CEILINGS)
    assert soup.corners is not None, soup.remarks
    return soup


def volume(corners):
    a, b, c = (np.asarray(corners, float)[:, one] for one in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


@pytest.mark.parametrize("name", good.WRITERS)
def test_the_same_ring_comes_out_of_every_format(name):
    soup = read(good.WRITERS[name](POINTS, FACES), name)
    assert np.allclose(soup.corners, POINTS[FACES], atol=1e-6)
    assert soup.remarks == ()
    assert soup.units == {".3mf": "mm", ".glb": "m"}.get(Path(name).suffix, "")


@pytest.mark.parametrize("name", good.WRITERS)
def test_content_shows_its_format(name):
    kind = {"ring.stl": "STL", "text.stl": "STL"}.get(name, Path(name).suffix[1:].upper())
    assert looks_like(good.WRITERS[name](POINTS, FACES)) == kind


@pytest.mark.parametrize(
    ("writer", "name"), [(good.obj, "a.obj"), (good.off, "a.off"), (good.ply, "a.ply"), (good.ply_text, "b.ply")]
)
def test_faces_of_four_corners_are_cut_in_two(writer, name):
    corners = read(writer(CUBE.vertices_mm, QUADS), name).corners
    assert len(corners) == 12
    assert volume(corners) == pytest.approx(24.0)


@pytest.mark.parametrize("start", range(6))
def test_a_hollow_sided_face_is_cut_without_folding_over(start):
    """An L of area 5 drawn as one face of six corners, from whichever corner it begins."""
    outline = np.array([[0, 0], [3, 0], [3, 1], [1, 1], [1, 3], [0, 3]], float)
    points = np.column_stack([outline, np.zeros(6)])
    face = np.roll(np.arange(6), start).tolist()
    corners = read(good.obj(points, [face]), "l.obj").corners
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert len(corners) == 4
    assert doubled[:, 2].min() > 0
    assert doubled[:, 2].sum() / 2 == pytest.approx(5.0)


def test_a_comb_is_cut_ear_by_ear():
    """Eight teeth: no fan from any corner fits, so the face is cut corner by corner; its area stays the same."""
    teeth = [
        (x, y)
        for tooth in range(8)
        for x, y in ((2 * tooth, 0), (2 * tooth, 5), (2 * tooth + 1, 5), (2 * tooth + 1, 0))
    ]
    outline = np.array([*teeth, (15, -1), (0, -1)], float)
    corners = read(
        good.obj(np.column_stack([outline, np.zeros(len(outline))]), [list(range(len(outline)))]), "c.obj"
    ).corners
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2]
    assert doubled.max() <= 0
    assert doubled.sum() / 2 == pytest.approx(-(8 * 5 + 15))


def test_obj_counts_backwards_skips_what_is_no_shape_and_joins_broken_lines():
    text = b"o ring\nv 0 0 0 1\nv 1 0 0 0.5 0.5 0.5\nv 0 \\\n1 0 # last\nvt 0 0\nvn 0 0 1\ns off\nl 1 2\n"
    text += b"f -3/1/1 -2//1 -1/1\n"
    assert read(text, "a.obj").corners.tolist() == [[[0, 0, 0], [1, 0, 0], [0, 1, 0]]]


def test_strips_of_triangles_keep_their_sense():
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [0, 2, 0]], float)
    corners = read(good.ply_strips(points, [[0, 1, 2, 3], [2, 3, 4]]), "s.ply").corners
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    assert len(corners) == 3
    assert (normals[:, 2] > 0).all()


def test_ply_of_either_byte_order_and_of_mixed_faces_is_read():
    assert np.allclose(read(good.ply(POINTS, FACES, ">"), "b.ply").corners, POINTS[FACES])
    mixed = [*CUBE.faces[2:].tolist(), QUADS[0]]
    assert volume(read(good.ply(CUBE.vertices_mm, mixed), "m.ply").corners) == pytest.approx(24.0)


def test_bytes_after_the_last_face_are_mentioned():
    assert [one.code for one in read(good.ply(POINTS, FACES) + b"note", "a.ply").remarks] == ["shape.file-trailing"]
    assert [one.code for one in read(good.off(POINTS, FACES) + b"1\n", "a.off").remarks] == [
        "shape.file-trailing-lines"
    ]


def test_glb_puts_nodes_in_place_and_turns_a_mirrored_one():
    half = np.sqrt(0.5)
    nodes = [
        {"children": [1, 2], "translation": [10, 0, 0]},
        {"mesh": 0, "rotation": [0, 0, half, half], "scale": [2, 1, 1]},
        {"mesh": 0, "scale": [1, -1, 1], "translation": [0, 0, 9]},
    ]
    corners = read(good.glb(CUBE.vertices_mm, CUBE.faces, {"nodes": nodes}), "a.glb").corners
    assert volume(corners) == pytest.approx(24 * 3)
    low, high = corners.reshape(-1, 3).min(axis=0), corners.reshape(-1, 3).max(axis=0)
    assert np.allclose(low, [8.5, -2, -2])
    assert np.allclose(high, [11.5, 2, 11])


def test_loose_lines_in_glb_are_mentioned():
    both = [{"attributes": {"POSITION": 0}, "indices": 1}, {"attributes": {"POSITION": 0}, "mode": 1}]
    soup = read(good.glb(CUBE.vertices_mm, CUBE.faces, {"meshes": [{"primitives": both}]}), "a.glb")
    assert [one.code for one in soup.remarks] == ["shape.glb-lines"]
    assert len(soup.corners) == 12


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("micron", "micron"),
        ("millimeter", "mm"),
        ("centimeter", "cm"),
        ("inch", "inch"),
        ("foot", "foot"),
        ("meter", "m"),
    ],
)
def test_3mf_states_its_unit(unit, said):
    assert read(good.three_mf(POINTS, FACES, unit), "a.3mf").units == said


def test_3mf_without_a_unit_is_in_millimetres_as_its_standard_says():
    model = good.model_xml(good.object_xml(1, good.mesh_xml(POINTS, FACES)), attributes="")
    assert read(good.package(model), "a.3mf").units == "mm"


def test_3mf_puts_components_of_components_in_place():
    """A cube, a mirrored one beside it, and both once more, turned and moved by the build."""
    objects = (
        good.object_xml(1, good.mesh_xml(CUBE.vertices_mm, CUBE.faces))
        + good.object_xml(2, good.components_xml('objectid="1"', f'objectid="1" transform="{MIRROR[:-5]}10 0 0"'))
    )  # fmt: skip
    model = good.model_xml(objects, ['objectid="2"', f'objectid="2" transform="{TURN}"'])
    corners = read(good.package(model), "a.3mf").corners
    assert volume(corners) == pytest.approx(4 * 24)
    boxes = [(one.reshape(-1, 3).min(axis=0).tolist(), one.reshape(-1, 3).max(axis=0).tolist())
             for one in corners.reshape(4, 12, 3, 3)]  # fmt: skip
    assert boxes[1] == ([9, -1.5, -2], [11, 1.5, 2])
    assert boxes[3] == ([3.5, 15, 5], [6.5, 17, 9])


def test_3mf_reads_models_in_other_parts_that_relationships_lead_to():
    other = good.model_xml(good.object_xml(7, good.mesh_xml(CUBE.vertices_mm, CUBE.faces)), [])
    root = good.model_xml("", ['objectid="7" p:path="/3D/b.model"'], f'unit="millimeter" xmlns:p="{good.PRODUCTION}"')
    parts = {"3D/b.model": other, "3D/_rels/3dmodel.model.rels": good.relationships("b.model")}
    assert volume(read(good.package(root, parts), "a.3mf").corners) == pytest.approx(24.0)
    assert read_file(good.package(root, {"3D/b.model": other}), ".3mf", CEILINGS).corners is None


def test_3mf_leaves_supports_out_and_says_so():
    objects = good.object_xml(1, good.mesh_xml(CUBE.vertices_mm, CUBE.faces)) + good.object_xml(
        2, good.mesh_xml(POINTS, FACES), 'type="support"'
    )
    soup = read(good.package(good.model_xml(objects, ['objectid="1"', 'objectid="2"'])), "a.3mf")
    assert len(soup.corners) == 12
    assert [one.code for one in soup.remarks] == ["shape.three-mf-supports"]


def test_objects_that_are_not_built_are_not_counted():
    beams = good.object_xml(2, good.mesh_xml(POINTS, FACES).replace("</mesh>", "<b:beamlattice/></mesh>"))
    model = good.model_xml(
        good.object_xml(1, good.mesh_xml(CUBE.vertices_mm, CUBE.faces)) + beams,
        attributes=f'unit="millimeter" xmlns:b="{good.BEAMS}" requiredextensions="b"',
    )
    assert len(read(good.package(model), "a.3mf").corners) == 12
