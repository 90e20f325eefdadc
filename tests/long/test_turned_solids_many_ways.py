"""Case: the turned solids of tests/verification, in many more directions, with small fins on bodies of all sizes."""

from __future__ import annotations

import time

import numpy as np
import pytest
from tests.turned_solids import COMPOUND, SINGLE, moved_as, small_fin, turned_at_random
from tests.verification.test_turned_solids import holds_true

from pourwright.prepare.castability.judge import judge_pattern
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.measure import measure_mesh


@pytest.mark.parametrize("seed", range(2, 14))
@pytest.mark.parametrize("case", [*SINGLE, *COMPOUND], ids=lambda case: case.name)
def test_known_solids_are_right_in_many_directions(case, seed):
    holds_true(case, seed)


@pytest.mark.parametrize("body_mm", [10, 16, 25, 40])
@pytest.mark.parametrize("thick_mm", [0.3, 0.5])
@pytest.mark.parametrize(("wide_mm", "reach_mm"), [(6, 4), (3, 2), (2, 2), (2, 1), (1, 1)])
def test_small_fins_are_found_at_their_place(body_mm, thick_mm, wide_mm, reach_mm):
    for seed in range(3):
        report = measure_mesh(turned_at_random(small_fin(body_mm, thick_mm, wide_mm, reach_mm), seed), "fin.stl")
        assert report.wall.thickness_mm == pytest.approx(thick_mm, abs=0.02)
        (middle_mm,) = moved_as([(body_mm / 2 + reach_mm / 2, 0, 0)], seed)
        assert np.linalg.norm(middle_mm - report.wall.place_mm) < max(wide_mm, reach_mm)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(
    "make", [lambda: solids.sphere(5), lambda: solids.torus(9.5, 1.25), lambda: solids.box(20, 20, 1.5)]
)
def test_no_false_alarm_on_sound_bodies_in_many_directions(make, seed):
    found = judge_pattern(measure_mesh(turned_at_random(make(), seed), "sound.stl"), "P01", "silver")
    assert not found


def _crowd(kind):
    generator = np.random.default_rng(0)
    if kind == "onion":
        return [(solids.flipped if turn % 2 else _kept)(solids.sphere(3 + 0.004 * turn, 12)) for turn in range(2900)]
    if kind == "grid":
        return [
            solids.moved(solids.sphere(0.4, 12), (x, y, z)) for x in range(14) for y in range(14) for z in range(14)
        ]
    places = generator.uniform(-9, 9, (2900, 3))
    crowd = [solids.moved(solids.sphere(1.5, 10), tuple(place)) for place in places]
    return crowd if kind == "crossing" else [solids.flipped(one) if n % 2 else one for n, one in enumerate(crowd)]


def _kept(mesh):
    return mesh


@pytest.mark.parametrize("kind", ["onion", "grid", "crossing", "opposed"])
def test_thousands_of_shells_are_measured_or_refused_in_bounded_time(kind):
    """Bounded by counts, not a clock; the limit here is ten times what it took, for slower machines."""
    start = time.process_time()
    report = measure_mesh(solids.beside(*_crowd(kind)), "crowd.stl")
    assert time.process_time() - start < 180
    assert report.mesh is not None or report.findings[0].code == "shape.shells-entangled"
