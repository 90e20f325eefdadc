"""The hollow as the filling takes it: tanks, gates, sections and places along the arm."""

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import FUNNEL_MM, HEIGHT_MM, made_up_job

from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate.job import FlaskJob, piece_skin
from pourwright.simulate.throw_cavity import hollow_of
from pourwright.simulate.tree_solid import join_tree

MOUTH_M = 0.07


def two_pieces() -> FlaskJob:
    """Two blocks of 8 x 6 x 6 mm on gates of 2.5 mm, one to each side of the sprue; the second is nearer the mouth."""
    box_mm = (8.0, 6.0, 6.0)
    placed = [
        Placed("P1", (0, 1, 2), box_mm, (10.0, 0.0, 30.0), 0.0, 2.5, 4.0),
        Placed("P2", (0, 1, 2), box_mm, (-10.0, 0.0, 18.0), 180.0, 2.5, 4.0),
    ]
    tree = tree_of("FL-01", placed, 4.0, 24.0, 50.0, HEIGHT_MM, FUNNEL_MM)
    pieces = [TreePiece(one.id, box_mm, 2.5) for one in placed]
    solid, _ = join_tree(tree, pieces, {"P1": 288.0, "P2": 288.0}, 18.0, FUNNEL_MM)
    assert solid is not None
    skins = {one.id: piece_skin(one, None, 288.0, 260.0) for one in placed}
    return FlaskJob("D-F1", "FL-01", 25.0, HEIGHT_MM, 1.6, solid, skins, 2.5, made_up_job().conditions)


@pytest.fixture(scope="module")
def hollow():
    return hollow_of(two_pieces(), 0.5, MOUTH_M)


def test_each_piece_is_a_tank_behind_its_own_gate(hollow):
    cavity = hollow.cavity
    assert cavity.names == ("sprue", "P1", "P2")
    for gate in hollow.gates:
        assert np.all(cavity.tank[gate.voxels] == gate.tank)
        beside = cavity.neighbours[gate.voxels]
        assert np.all((cavity.tank[beside] == 0).any(axis=1))
        assert gate.area_m2 == pytest.approx(np.pi * 1.25e-3**2)
        assert gate.length_m > 1e-3
        volume_m3 = cavity.volume_m3[cavity.tank == gate.tank].sum()
        assert volume_m3 == pytest.approx(288e-9, rel=0.15)


def test_the_gate_nearer_the_mouth_leaves_the_sprue_nearer_the_shaft(hollow):
    far, near = hollow.gates
    assert near.place_m[0] < far.place_m[0]
    assert MOUTH_M < near.place_m[0] < MOUTH_M + 1e-3 * HEIGHT_MM
    assert far.place_m[1] > 0 > near.place_m[1]


def test_neighbours_know_each_other_and_share_a_face(hollow):
    cavity = hollow.cavity
    for side in range(6):
        here = np.flatnonzero(cavity.neighbours[:, side] >= 0)
        there = cavity.neighbours[here, side]
        assert np.all(cavity.neighbours[there, side ^ 1] == here)
        away_m = np.linalg.norm(cavity.place_m[there] - cavity.place_m[here], axis=1)
        assert away_m == pytest.approx(cavity.side_m)


def test_sections_are_a_quarter_of_a_bar_and_between_a_sixth_and_half_of_what_is_thick(hollow):
    cavity, voxels = hollow.cavity, hollow.voxels
    assert cavity.modulus_m[voxels.of_part("sprue")] == pytest.approx(1e-3)
    assert cavity.modulus_m[voxels.of_part("gate:P1")] == pytest.approx(1.25e-3 / 2)
    ratio = cavity.modulus_m[voxels.of_part("P1")] / (1e-3 * voxels.thickness_mm[voxels.of_part("P1")])
    assert np.all((ratio > 0.166) & (ratio < 0.501))


def test_gas_has_the_nearer_end_to_go_to_and_metal_comes_in_at_the_mouth(hollow):
    cavity = hollow.cavity
    z_mm = hollow.voxels.centre_mm[:, 2]
    assert cavity.vent_m == pytest.approx(1e-3 * np.maximum(np.minimum(z_mm, HEIGHT_MM - z_mm), 0.25))
    assert np.all(cavity.tank[cavity.inlet] == 0)
    assert cavity.place_m[cavity.inlet, 0].max() < MOUTH_M + 2 * cavity.side_m


def test_a_lone_piece_has_the_sprue_for_a_gate():
    hollow = hollow_of(made_up_job(), 0.5, 0.0)
    (gate,) = hollow.gates
    assert gate.area_m2 == pytest.approx(hollow.sprue.area_m2)
    assert gate.length_m == 0.0
