"""Solids put together."""

from __future__ import annotations

import math

import pytest

from pourwright.core.errors import MeshError
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.union import shared_mm3, unite

R = 5.0


def lens_mm3(distance):
    return math.pi * (4 * R + distance) * (2 * R - distance) ** 2 / 12


def test_two_balls_that_overlap_share_a_lens():
    one, other = solids.sphere(R, 96), solids.moved(solids.sphere(R, 96), (4.0, 0, 0))
    both_mm3 = 2 * 4 / 3 * math.pi * R**3
    assert mass.volume_mm3(unite([one, other])) == pytest.approx(both_mm3 - lens_mm3(4.0), rel=3e-3)
    assert shared_mm3(one, other) == pytest.approx(lens_mm3(4.0), rel=5e-3)


def test_an_open_mesh_is_refused():
    with pytest.raises(MeshError, match="NotManifold"):
        unite([solids.without_faces(solids.box(1, 1, 1), [3]), solids.box(1, 1, 1)])
