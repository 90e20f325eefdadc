"""The smallest circle round points of a plane."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.shape.pattern.circles import smallest_circle


def _flat(*spots):
    return np.array(spots, dtype=float).T


@pytest.mark.parametrize(
    ("spots", "diameter_mm"),
    [
        ([(3, 4)], 0.0),
        ([(0, 0), (3, 4)], 5.0),
        ([(0, 0), (4, 0), (2, 0), (1, 0)], 4.0),
        ([(0, 0), (1, 0), (0.5, 3**0.5 / 2)], 2 / 3**0.5),
        ([(0, 0), (10, 0), (5, 1)], 10.0),
        ([(0, 0), (6, 0), (6, 8), (0, 8), (3, 4)], 10.0),
        ([(1, 1), (1, 1), (1, 1)], 0.0),
    ],
)
def test_points_are_held_by_the_smallest_circle(spots, diameter_mm):
    assert smallest_circle(_flat(*spots)) == pytest.approx(diameter_mm, abs=1e-9)


def test_a_guess_good_or_bad_leaves_the_circle_as_it_is():
    flat_mm = np.random.default_rng(4).normal(size=(2, 500))
    whole_mm = smallest_circle(flat_mm)
    for likely in ([0], [3, 3], list(range(50))):
        assert smallest_circle(flat_mm, np.array(likely)) == pytest.approx(whole_mm, rel=1e-9)


def test_no_centre_near_by_gives_a_smaller_circle():
    flat_mm = np.random.default_rng(8).uniform(-1, 1, size=(2, 60)) * [[3.0], [1.0]]
    steps = np.linspace(-3, 3, 241)
    away_mm = [np.hypot(flat_mm[0] - x, flat_mm[1] - y).max() for x in steps for y in steps / 3]
    assert 0 <= 2 * min(away_mm) - smallest_circle(flat_mm) < 0.05
