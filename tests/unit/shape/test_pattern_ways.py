"""Ways, necks, holes, bores, pockets and wires of bodies whose answers are known by hand."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.shape.pattern.holes_deep import find_bore_mm, find_holes
from pourwright.shape.pattern.measure import measure_mesh
from pourwright.shape.pattern.pockets import find_pockets
from pourwright.shape.pattern.report import Mesh
from pourwright.shape.pattern.slices import neck_modulus_mm, slice_modulus_mm
from pourwright.shape.pattern.solids import box, moved, ring_band, rod, rotated, torus, united
from pourwright.shape.pattern.ways import find_ways, nearest_point, widest_way
from pourwright.shape.pattern.wires import find_wires

_TURN = ((1.0, 2.0, 3.0), 47.0)


def _without(body, hole):
    import manifold3d

    def solid(mesh):
        corners = np.ascontiguousarray(mesh.vertices_mm)
        return manifold3d.Manifold(manifold3d.Mesh64(corners, np.ascontiguousarray(mesh.faces, dtype=np.uint64)))

    rest = (solid(body) - solid(hole)).to_mesh64()
    corners = np.ascontiguousarray(rest.vert_properties[:, :3])
    return Mesh(corners, np.ascontiguousarray(rest.tri_verts, dtype=np.int64))


def _measured(mesh):
    return measure_mesh(rotated(mesh, *_TURN), "piece.stl")


def test_a_slice_has_the_modulus_of_the_shape_it_cuts():
    """Rod: a quarter of the diameter; plate: half the thickness, less for its ends; ring band: half the wall."""
    assert neck_modulus_mm(rod(1.0, 20.0), np.zeros(3)) == pytest.approx(0.5, rel=0.01)
    askew = rotated(rod(1.0, 20.0), *_TURN)
    assert neck_modulus_mm(askew, np.zeros(3)) == pytest.approx(0.5, rel=0.05)
    along = rotated(Mesh(np.array([[0.0, 0.0, 1.0]]), np.zeros((0, 3), np.int64)), *_TURN).vertices_mm[0]
    assert neck_modulus_mm(askew, np.zeros(3), along) == pytest.approx(0.5, rel=0.01)
    assert neck_modulus_mm(box(20, 20, 0.5), np.zeros(3)) == pytest.approx(10 / 41, rel=1e-6)
    across = np.array([0.0, 0.0, 1.0])
    assert slice_modulus_mm(ring_band(8, 4, 1.5), np.array([8.75, 0.0, 0.0]), across) == pytest.approx(0.75, rel=0.01)
    assert slice_modulus_mm(ring_band(8, 4, 1.5), np.zeros(3), across) is None


def test_a_way_along_a_rod_is_as_long_as_the_rod():
    report = measure_mesh(rod(0.6, 30.0), "rod.stl")
    ways = find_ways(report.skin, nearest_point(report.skin, (0.6, 0, -15.0))[0])
    end = nearest_point(report.skin, (0.6, 0, 15.0))[0]
    assert ways.distance_mm[end] == pytest.approx(30.0, rel=0.06)
    way = widest_way(ways, end)
    assert (way[0], way[-1]) == (end, ways.start)


@pytest.mark.parametrize(
    ("body", "hole", "diameter_mm", "depth_mm", "through"),
    [
        (box(10, 8, 6), rod(0.5, 10), 1.0, 6.0, True),
        (box(10, 8, 6), moved(rod(0.5, 6), (0, 0, 3)), 1.0, 3.0, False),
        (rod(2, 12), rod(1, 20), 2.0, 12.0, True),
    ],
)
def test_a_drilled_hole_is_found_with_diameter_and_depth(body, hole, diameter_mm, depth_mm, through):
    report = _measured(_without(body, hole))
    (found,) = find_holes(report.mesh, report.skin)
    assert found.diameter_mm == pytest.approx(diameter_mm, rel=0.08)
    assert found.depth_mm == pytest.approx(depth_mm, rel=0.1)
    assert found.through is through


@pytest.mark.parametrize(
    "body",
    [
        _without(box(12, 8, 6), moved(box(20, 1, 6), (0, 0, 2))),  # an open groove
        torus(9.5, 1.25),  # a finger hole
        box(10, 8, 6),
    ],
)
def test_a_groove_and_a_finger_hole_are_no_powder_cores(body):
    report = _measured(body)
    assert not [one for one in find_holes(report.mesh, report.skin) if one.slenderness_ratio > 2]


def test_the_bore_of_a_ring_is_measured_and_a_block_has_none():
    report = _measured(ring_band(8.9, 4.0, 1.5))
    assert find_bore_mm(report.mesh, report.skin) == pytest.approx(17.8, abs=0.03)
    block = _measured(box(30, 20, 6))
    assert find_bore_mm(block.mesh, block.skin) is None


def _horns():
    bars = (moved(rod(1.0, 8.0), (x, 0, 4.0)) for x in (-6.0, 6.0))
    return united(box(16, 4, 2), *bars)


def test_a_horn_towards_the_button_holds_air_and_the_gates_own_does_not():
    report = measure_mesh(_horns(), "horns.stl")
    gate = nearest_point(report.skin, (-6.0, 0.0, 8.0))[0]
    (pocket,) = find_pockets(report.skin, np.array([0.0, 0.0, 1.0]), gate, 1.0)
    assert pocket.place_mm[0] == pytest.approx(6.0, abs=1.1)
    assert pocket.depth_mm == pytest.approx(7.0, abs=0.6)


def test_a_wire_on_a_block_runs_free_for_its_length():
    report = _measured(united(box(6, 6, 6), moved(rod(0.5, 32.0), (0, 0, 18.0))))
    block = nearest_point(
        report.skin, tuple(rotated(Mesh(np.zeros((1, 3)), np.zeros((0, 3), np.int64)), *_TURN).vertices_mm[0])
    )
    (wire,) = find_wires(report, block[0])
    assert wire.diameter_mm == pytest.approx(1.0, rel=0.03)
    assert wire.free_mm == pytest.approx(31.0, rel=0.06)
