"""Walls that run slanting and round through the cells, against exact solutions with gradients on both sides.

Cases: a ball that conducts as metal does, and a ball and a tilted plate of a poor conductor, hot, in a mould, with a
contact between them. Source: ``references/joined.py``, which shares nothing with our code. They stand in the place of a
manufactured solution, whose sources of heat no run ever has: every path, volume, wall area and distance of the cut
cells is in the answer. The finer grids are run by ``tests/long/freeze_orders.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pytest
from scipy.special import erf, erfc, erfcx
from tests.verification.freezing_cases import plain_metal
from tests.verification.references.joined import Pair, from_transform, rises

from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, flask_cells, lay_grid
from pourwright.grid.network import Network, lay_network
from pourwright.physics.freeze.problem import ContactLaw, CutFlask, FreezeProblem, MouldLaw, TimeControl
from pourwright.physics.freeze.solver import solve
from pourwright.shape.pattern import solids

FLASK, MIDDLE_M = Flask(15e-3, 24e-3, 0.0), np.array([0.0, 0.0, 12e-3])
METAL_K, MOULD_K, TIME_S = 1200.0, 800.0, 1.2
# Half of the plate's width, and how far from its middle its rim is not felt.
WIDE_M, CORE_M = 8e-3, 2e-3
# No axis of the grid nor any of its diagonals lies along the plate.
NORMAL = np.array([0.48, 0.23, np.sqrt(1 - 0.48**2 - 0.23**2)])
METAL_PAIR, POOR_PAIR = Pair(300.0, 2.79e6, 0.4, 1.4e6, 2000.0), Pair(2.0, 2.79e6, 0.8, 1.4e6, 800.0)
OFFSET = (0.27, 0.61, 0.13)


@dataclass(frozen=True)
class Case:
    """A body of which half the thickness, or the radius, is given [m], and its materials."""

    half_m: float
    is_ball: bool
    pair: Pair


BALL = Case(3.5e-3, True, METAL_PAIR)
POOR_BALL, POOR_PLATE = Case(3.5e-3, True, POOR_PAIR), Case(1.8e-3, False, POOR_PAIR)


def _plate(half_m: float) -> tuple[np.ndarray, np.ndarray]:
    """A square plate whose middle plane has that normal: corners and faces."""
    along = np.cross(NORMAL, [0.0, 1.0, 0.0])
    along /= np.linalg.norm(along)
    frame = np.array([along, np.cross(NORMAL, along), NORMAL])
    box = solids.box(1.0, 1.0, 1.0)
    vertices = np.asarray(box.vertices_mm)
    unit = 2 * (vertices - vertices.min(axis=0)) / np.ptp(vertices, axis=0) - 1
    return unit * [WIDE_M, WIDE_M, half_m] @ frame + MIDDLE_M, np.asarray(box.faces)


def _ball(radius_m: float) -> tuple[np.ndarray, np.ndarray]:
    """A ball of many faces with the volume of the true one."""
    mesh = solids.sphere(1.0, 120)
    vertices, faces = np.asarray(mesh.vertices_mm), np.asarray(mesh.faces)
    vertices = vertices - (vertices.min(axis=0) + vertices.max(axis=0)) / 2
    corners = vertices[faces]
    volume = float(np.einsum("nd,nd->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))) / 6
    return radius_m * (4 * np.pi / 3 / volume) ** (1 / 3) * vertices + MIDDLE_M, faces


def _depth_m(case: Case, places_m: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance of places from the body's middle (plane), and whether a rim is too far off to be felt there."""
    away_m = places_m - MIDDLE_M
    if case.is_ball:
        return np.linalg.norm(away_m, axis=1), np.ones(len(away_m), bool)
    depth_m = away_m @ NORMAL
    return np.abs(depth_m), np.linalg.norm(away_m - np.outer(depth_m, NORMAL), axis=1) < CORE_M


def _laid(case: Case, side_m: float, offset: tuple[float, float, float]) -> CutFlask:
    vertices_m, faces = _ball(case.half_m) if case.is_ball else _plate(case.half_m)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), FLASK, side_m, offset)
    flask, cut = flask_cells(grid, FLASK), cut_cells(grid, vertices_m, faces)
    gap_m = case.pair.mould_W_mK / case.pair.contact_W_m2K
    return CutFlask(flask, lay_network(grid, cut, vertices_m, faces, gap_m, flask))


def _mould_places_m(network: Network, case: Case) -> np.ndarray:
    """Middles of mould cells near the body, 400 of them at most, the same ones at every call."""
    cells = np.setdiff1d(np.flatnonzero(network.has_mould.ravel() == 1), network.metal_cells)
    places_m = network.grid.centres_m(cells)
    depth_m, felt = _depth_m(case, places_m)
    near = places_m[felt & (depth_m < case.half_m + 2.5e-3)]
    return near[np.random.default_rng(1).permutation(len(near))[:400]]


@lru_cache(maxsize=32)
def errors(
    case: Case, side_mm: float, offset: tuple[float, float, float] = OFFSET, growth_ratio: float = 0.03
) -> tuple[float, float]:
    """Root mean square of the error of temperature over the metal, and over the mould near it, as a share of the step
    at the start."""
    cells, pair = _laid(case, 1e-3 * side_mm, offset), case.pair
    places_m = _mould_places_m(cells.network, case)
    found = solve(
        FreezeProblem(
            cells, plain_metal(pair.metal_W_mK, pair.metal_J_m3K), MouldLaw.constant(pair.mould_W_mK, pair.mould_J_m3K),
            ContactLaw.constant(pair.contact_W_m2K), np.array(METAL_K), MOULD_K, probes_m=places_m,
            time=TimeControl(growth_ratio, 1e-3, 1.0, 1e-6, follow_s=TIME_S, follow_step_max_s=1.0),
        )
    )  # fmt: skip
    centroid_m = cells.network.metal_m[np.argsort(cells.network.metal_cells)]
    depth_m, felt = _depth_m(case, centroid_m)
    metal = _share(found.temp_K[felt]) - _wanted(case, depth_m[felt])
    mould = _share(found.histories.probe_K[-1]) - _wanted(case, _depth_m(case, places_m)[0])
    return float(np.sqrt(np.average(metal**2, weights=found.metal_m3[felt]))), float(np.sqrt(np.mean(mould**2)))


def _share(temp_K: np.ndarray) -> np.ndarray:
    return (temp_K - MOULD_K) / (METAL_K - MOULD_K)


def _wanted(case: Case, depth_m: np.ndarray) -> np.ndarray:
    return rises(case.pair, case.half_m, case.is_ball, depth_m, TIME_S)


def test_the_way_back_from_the_transform_gives_closed_forms():
    """Case: one material throughout, the plate and the ball a hot patch in it; and a half-space in perfect conductor.
    Source: sums of error functions. Tolerance 1e-7 of the step."""
    even, a, at_m = Pair(0.8, 1.4e6, 0.8, 1.4e6, 1e12), 0.8 / 1.4e6, np.array([0.5e-3, 2e-3, 4e-3])
    wide_m, half_m = 2 * np.sqrt(a * TIME_S), 3e-3
    both = [erf((at_m + half_m) / wide_m), erf((at_m - half_m) / wide_m)]
    patch = 0.5 * (both[0] - both[1])
    bell = np.exp(-(((at_m - half_m) / wide_m) ** 2)) - np.exp(-(((at_m + half_m) / wide_m) ** 2))
    assert rises(even, half_m, False, at_m, TIME_S) == pytest.approx(patch, abs=1e-7)
    ball = patch - wide_m / (2 * np.sqrt(np.pi) * at_m) * bell
    assert rises(even, half_m, True, at_m, TIME_S) == pytest.approx(ball, abs=1e-7)
    assert from_transform(lambda s: np.exp(-np.sqrt(s / a) * at_m) / s, TIME_S) == pytest.approx(
        erfc(at_m / wide_m), abs=1e-9
    )
    chilled = Pair(2.0, 2.79e6, 1e12, 1e12, 800.0)
    deep_m, in_m = 2 * np.sqrt(2.0 / 2.79e6 * TIME_S), np.array([0.0, 1e-3, 2e-3])
    carried = 800.0 / 2.0 * deep_m / 2
    cooled = erf(in_m / deep_m) + np.exp(-((in_m / deep_m) ** 2)) * erfcx(in_m / deep_m + carried)
    assert rises(chilled, 20e-3, False, 20e-3 - in_m, TIME_S) == pytest.approx(cooled, abs=1e-7)


def test_a_round_wall_is_reckoned_nearly_at_second_order():
    """Tolerance: in the mould round a ball of metal the error falls by 2.7 at half the cell (order 1.4; the whole
    ladder has 1.8) and is under 0.6 % of the step at cells of 0.7 mm; the metal as a whole is within 0.1 %."""
    coarse, fine = errors(BALL, 1.4), errors(BALL, 0.7)
    print("errors in metal and mould:", coarse, fine)
    assert fine[1] < coarse[1] / 2.7
    assert fine[1] < 6e-3
    assert fine[0] < 1e-3
