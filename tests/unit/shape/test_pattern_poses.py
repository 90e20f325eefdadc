"""How low and how slim a piece can stand, on bodies whose answer can be written down."""

from __future__ import annotations

import math

import numpy as np
import pytest
from tests.turned_solids import cone, turned_at_random

from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.measure import measure_mesh
from pourwright.shape.pattern.poses import AS_DRAWN_MM, poses_of
from pourwright.shape.pattern.report import Mesh

SEEDS = (1, 2, 3)


def _poses(mesh):
    return poses_of(mesh, mass.centre_mm(mesh))


def _tetrahedron(edge_mm):
    corners = np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]]) * edge_mm / math.sqrt(8)
    return Mesh(corners, np.array([[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]]))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_box_however_it_lies_stands_on_its_largest_side_or_its_smallest(seed):
    poses = _poses(turned_at_random(solids.box(30, 20, 8), seed))
    assert poses.lowest.height_mm == pytest.approx(8.0, abs=1e-6)
    assert poses.lowest.footprint_mm == pytest.approx((30.0, 20.0), abs=1e-6)
    assert poses.lowest.centre_height_mm == pytest.approx(4.0, abs=1e-6)
    assert poses.slimmest.height_mm == pytest.approx(30.0, abs=1e-6)
    assert poses.slimmest.footprint_mm == pytest.approx((20.0, 8.0), abs=1e-6)
    assert poses.slimmest.across_mm == pytest.approx(math.hypot(20, 8), abs=1e-6)
    assert poses.stray_mm == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_ring_lies_flat_as_its_lowest_and_its_slimmest(seed):
    poses = _poses(turned_at_random(solids.torus(9.5, 1.25, 96), seed))
    for pose in (poses.lowest, poses.slimmest):
        assert pose.height_mm == pytest.approx(2.5, abs=0.005)
        assert pose.across_mm == pytest.approx(21.5, abs=0.005)
        assert pose.centre_height_mm == pytest.approx(1.25, abs=0.005)
    assert poses.stray_mm < 0.01


@pytest.mark.parametrize("seed", SEEDS)
def test_a_rod_is_as_low_as_it_is_thick_and_as_slim_as_it_is_round(seed):
    poses = _poses(turned_at_random(solids.rod(0.5, 20, 48), seed))
    flats_mm = math.cos(math.pi / 48)  # between opposite flats of a rod with 48 sides
    assert poses.lowest.height_mm == pytest.approx(flats_mm, abs=0.001)
    assert poses.slimmest.across_mm == pytest.approx(1.0, abs=1e-6)
    assert poses.slimmest.height_mm == pytest.approx(20.0, abs=1e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_tetrahedron_is_lowest_on_an_edge_which_no_facet_shows(seed):
    poses = _poses(turned_at_random(_tetrahedron(10.0), seed))
    assert poses.lowest.height_mm == pytest.approx(10 / math.sqrt(2), abs=1e-6)
    assert poses.lowest.height_mm < 10 * math.sqrt(2 / 3) - 1  # on a facet


def test_a_cone_stands_with_its_heavy_end_down():
    poses = _poses(solids.rotated(cone(), (1, 0, 0), 180))
    assert poses.as_drawn.centre_height_mm == pytest.approx(9.0, abs=1e-6)
    assert poses.slimmest.centre_height_mm == pytest.approx(3.0, abs=1e-6)
    assert poses.slimmest.down_ratio == (0.0, 0.0, 1.0)


def test_of_ways_as_good_as_each_other_the_one_as_drawn_is_taken_every_time():
    cube, ball = solids.box(8, 8, 8), solids.sphere(5.0)
    assert _poses(cube) == _poses(solids.box(8, 8, 8))
    for mesh in (cube, ball):
        poses = _poses(mesh)
        assert poses.lowest == poses.slimmest == poses.as_drawn
        assert poses.as_drawn.down_ratio == (0.0, 0.0, -1.0)


@pytest.mark.parametrize("seed", SEEDS)
def test_no_direction_of_many_is_lower_than_the_lowest_by_more_than_its_stray(seed):
    points = np.random.default_rng(seed).normal(size=(400, 3)) * [8.0, 5.0, 3.0]
    mesh = Mesh(points, np.array([[0, 1, 2], [0, 3, 1], [0, 2, 3], [1, 3, 2]]))
    poses = poses_of(mesh, (0.0, 0.0, 0.0))
    ways = np.random.default_rng(seed + 50).normal(size=(4000, 3))
    along_mm = (ways / np.linalg.norm(ways, axis=1, keepdims=True)) @ points.T
    assert np.ptp(along_mm, axis=1).min() >= poses.lowest.height_mm - poses.stray_mm - 1e-9
    assert poses.stray_mm <= AS_DRAWN_MM + 0.01
    assert np.ptp(points @ np.array(poses.lowest.down_ratio)) == pytest.approx(poses.lowest.height_mm)


def test_a_ball_says_how_much_lower_it_might_stand():
    poses = _poses(turned_at_random(solids.sphere(5.0), 3))
    assert poses.lowest.height_mm == pytest.approx(10.0, abs=AS_DRAWN_MM)
    assert 0.0 < poses.stray_mm < 0.02 * 10


def test_a_leaf_without_thickness_to_speak_of_still_stands():
    poses = _poses(turned_at_random(solids.box(20, 10, 1e-12), 2))
    assert poses.lowest.height_mm == pytest.approx(0.0, abs=1e-6)
    assert poses.slimmest.across_mm == pytest.approx(10.0, abs=1e-3)


def test_a_report_holds_how_its_piece_stands_as_drawn():
    report = measure_mesh(solids.box(12, 6, 20), "post.stl")
    assert report.poses is not None
    assert report.poses.as_drawn.footprint_mm == pytest.approx(report.box_mm[:2])
    assert report.poses.as_drawn.height_mm == pytest.approx(20.0)
    assert report.poses.lowest.down_ratio == (0.0, -1.0, 0.0)
    assert report.poses.lowest.footprint_mm == pytest.approx((20.0, 12.0))
