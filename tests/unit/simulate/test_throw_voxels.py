"""The metal in cubes: nothing lost of volume and wall, thickness where it is known, every part in its place."""

import numpy as np
import pytest
from tests.unit.simulate.made_up_flask import made_up_job

from pourwright.shape.pattern import mass
from pourwright.simulate.throw_voxels import cut_voxels

JOB = made_up_job()


@pytest.fixture(scope="module")
def voxels():
    return cut_voxels(JOB, 0.5)


def test_cubes_hold_all_metal_and_answer_for_all_wall(voxels):
    assert voxels.volume_mm3.sum() == pytest.approx(JOB.solid.volume_mm3, rel=2e-3)
    assert voxels.wall_mm2.sum() == pytest.approx(mass.area_mm2(JOB.solid.mesh), rel=1e-9)


def test_bars_and_balls_are_as_thick_as_they_are(voxels):
    across_mm = {name: np.median(voxels.thickness_mm[voxels.of_part(name)]) for name in ("sprue", "P1")}
    assert across_mm["sprue"] == pytest.approx(4.0, rel=0.03)
    middle = voxels.of_part("P1") & (np.abs(voxels.centre_mm[:, 2] - 23.0) < 1.0)
    assert np.median(voxels.thickness_mm[middle]) == pytest.approx(2.0, rel=0.05)


def test_parts_lie_one_behind_the_other_from_the_mouth(voxels):
    height_mm = [voxels.centre_mm[voxels.of_part(name), 2].mean() for name in ("button", "sprue", "P1")]
    assert height_mm == sorted(height_mm)


def test_finer_cubes_move_the_volume_of_a_part_less_each_time():
    volumes = []
    for side_mm in (1.0, 0.5, 0.25):
        one = cut_voxels(JOB, side_mm)
        volumes.append(one.volume_mm3[one.of_part("P1")].sum())
    assert abs(volumes[2] - volumes[1]) < abs(volumes[1] - volumes[0])
