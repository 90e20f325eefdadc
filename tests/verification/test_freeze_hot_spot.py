"""The hot spot of a ring that carries a bead opposite its sprue: a pool that lives for a fraction of a second.

Case: a band of 2 x 4 mm on a mean radius of 10 mm, a bead of 6 mm on its far side, a sprue and a button; round figures
for the metal, mould at 480 °C, no heat leaves the flask. Source: the design's measured prototype of such a ring (voxel
steps, another solver), which found one pool at 802 °C, in the bead, cut off at 5.97 s and gone at 6.39 s on cells of
0.5 mm, 5.76 and 6.67 s on cells of 1 mm. Its other measures are not handed down, so what is asked for here is one pool,
in the bead, of some such seconds, and the same on another grid. 802 °C is 74 % solid on this curve; all solid is later.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pytest
from tests.verification.freezing_cases import eutectic_metal

from pourwright.core.interval import Interval
from pourwright.grid.cut_cells import cut_cells
from pourwright.grid.graded import Flask, flask_cells, lay_grid
from pourwright.grid.network import lay_network
from pourwright.physics.freeze.hot_spots import HotSpot, find_hot_spots, linked
from pourwright.physics.freeze.problem import ContactLaw, CutFlask, FreezeProblem, MouldLaw
from pourwright.physics.freeze.solver import solve
from pourwright.shape.pattern import solids

FLASK, BUTTON_M = Flask(25e-3, 55e-3, 0.0), 8e-3
BEAD_M = np.array([0.0, 0.0, 40e-3])
POUR_K, MOULD_K, MOULD_W_MK, CONTACT_W_M2K = 1253.15, 753.15, 0.4, 2000.0


@dataclass(frozen=True)
class Pool:
    """A hot spot, and when the last of it stopped passing feed metal [s]."""

    spot: HotSpot
    locked_s: float


def _casting(bead_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Button, sprue and a ring standing upright, its bead uppermost: corners and faces."""
    ring = solids.moved(solids.rotated(solids.ring_band(9.0, 4.0, 2.0, 96), (1, 0, 0), 90.0), (0, 0, 30))
    parts = [solids.moved(solids.rod(11.0, 8.0), (0, 0, 4)), solids.moved(solids.rod(2.0, 13.0), (0, 0, 13.5)), ring]
    if bead_mm > 0:
        parts.append(solids.moved(solids.sphere(bead_mm / 2, 48), tuple(1e3 * BEAD_M)))
    mesh = solids.united(*parts)
    return 1e-3 * np.asarray(mesh.vertices_mm), np.asarray(mesh.faces)


@lru_cache(maxsize=4)
def spots(side_mm: float, bead_mm: float = 6.0, offset: tuple[float, float, float] = (0.0, 0.0, 0.0)):
    """Hot spots of the casting that hold more than a hundredth of the bead."""
    vertices_m, faces = _casting(bead_mm)
    grid = lay_grid(vertices_m.min(axis=0), vertices_m.max(axis=0), FLASK, 1e-3 * side_mm, offset, planes_m=(BUTTON_M,))
    flask, cut = flask_cells(grid, FLASK), cut_cells(grid, vertices_m, faces)
    network = lay_network(grid, cut, vertices_m, faces, MOULD_W_MK / CONTACT_W_M2K, flask)
    found = solve(
        FreezeProblem(
            CutFlask(flask, network), eutectic_metal(270.0), MouldLaw.constant(MOULD_W_MK, 1.4e6),
            ContactLaw.constant(CONTACT_W_M2K), np.array(POUR_K), MOULD_K,
        )
    )  # fmt: skip
    place = np.empty(len(network.metal_cells), dtype=np.int32)
    place[np.argsort(network.metal_cells)] = np.arange(len(place), dtype=np.int32)
    beside = linked(place[network.metal_links[network.metal_shape_m > 0]], len(place))
    feeder = found.centre_m[:, 2] < BUTTON_M
    all_found = find_hot_spots(found, feeder, Interval(0.04, 0.05, 0.06), 0.7, neighbours=beside)
    return [
        Pool(one, float(found.critical_s[all_found.spot == number].max()))
        for number, one in enumerate(all_found.spots)
        if one.pool_m3 > 1.1e-9
    ]


def test_the_bead_is_the_one_place_that_is_cut_off():
    """One pool, in the bead to a millimetre, cut off between 4 and 9 s and locked within two seconds of that; it holds
    the bead (113 mm³) and some of the band beside it."""
    (pool,) = spots(1.0)
    spot = pool.spot
    print(f"cut off {spot.cut_off_s:.2f} s, locked {pool.locked_s:.2f} s, all solid {spot.last_freezing_s:.2f} s")
    assert np.linalg.norm(np.array(spot.place_m) - BEAD_M) < 1e-3
    assert 4.0 < spot.cut_off_s < 9.0
    assert 0.1 < pool.locked_s - spot.cut_off_s < 2.0
    assert spot.last_freezing_s > pool.locked_s
    assert 113e-9 < spot.pool_m3 < 250e-9


def test_without_its_bead_the_ring_is_fed_from_both_sides():
    """The cause is the bead and nothing else: the plain ring freezes towards its sprue, and what its far side keeps, if
    any, is less than a tenth of the liquid in the bead."""
    assert sum(one.spot.liquid_m3 for one in spots(1.0, 0.0)) < 0.1 * spots(1.0)[0].spot.liquid_m3


def test_another_place_of_the_grid_finds_the_same_hot_spot():
    """Tolerance 2 % of its times and 8 % of its liquid at cells of 1 mm, two to the band: measured 0.6 and 3 %."""
    (ours,), (other,) = spots(1.0), spots(1.0, offset=(0.41, 0.37, 0.78))
    assert other.spot.cut_off_s == pytest.approx(ours.spot.cut_off_s, rel=0.02)
    assert other.locked_s == pytest.approx(ours.locked_s, rel=0.02)
    assert other.spot.last_freezing_s == pytest.approx(ours.spot.last_freezing_s, rel=0.02)
    assert other.spot.liquid_m3 == pytest.approx(ours.spot.liquid_m3, rel=0.08)
