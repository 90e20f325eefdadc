"""Holes and sound bodies, turned at random: what is there is found at its place, what is not is not."""

from __future__ import annotations

import numpy as np
import pytest
from tests.turned_solids import moved_as, turned_at_random

from pourwright.prepare.castability.judge import judge_pattern
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.holes_deep import find_bore_mm, find_holes
from pourwright.shape.pattern.measure import measure_mesh
from pourwright.shape.pattern.union import less


def _drilled(diameter_mm, depth_mm):
    """A cube of 14 mm with a hole from the top."""
    drill = solids.moved(solids.rod(diameter_mm / 2, depth_mm + 1, 32), (0, 0, 7.5 - depth_mm / 2))
    return less(solids.box(14, 14, 14), drill)


@pytest.mark.parametrize(
    ("depth_mm", "through", "middle_mm", "code"),
    [(8.0, False, (0, 0, -1), "prepare.core-blind"), (15.0, True, (0, 0, 0), "prepare.core-through")],
)
def test_a_deep_narrow_hole_is_found_with_its_width_depth_and_place(depth_mm, through, middle_mm, code):
    report = measure_mesh(turned_at_random(_drilled(1.0, depth_mm), 4), "drilled.stl")
    (hole,) = find_holes(report.mesh, report.skin)
    assert hole.through == through
    assert hole.diameter_mm == pytest.approx(1.0, rel=0.03)
    assert hole.depth_mm == pytest.approx(min(depth_mm, 14.0), rel=0.05)
    assert np.linalg.norm(np.array(hole.place_mm) - moved_as([middle_mm], 4)[0]) < 1.0
    (finding,) = [one for one in judge_pattern(report, "P01", "silver") if one.code.startswith("prepare.core")]
    assert finding.code == code
    assert finding.sources


@pytest.mark.parametrize(
    "mesh",
    [solids.sphere(5.0), solids.torus(9.5, 1.25), solids.box(20, 20, 1.5), _drilled(2.0, 2.0)],
    ids=["ball", "ring", "plate", "shallow hole"],
)
def test_no_alarm_on_a_sound_body(mesh):
    assert not judge_pattern(measure_mesh(turned_at_random(mesh, 6), "sound.stl"), "P01", "silver")


def test_a_sealed_void_is_no_bore_for_a_finger():
    report = measure_mesh(solids.hollow_sphere(9.0, 8.0, 48), "hollow.stl")
    assert find_bore_mm(report.mesh, report.skin) is None
