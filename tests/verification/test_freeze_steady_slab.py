"""A slab of metal and mould with a contact between them, hot behind and open to the room in front, come to rest.

Case: 6 mm of metal and 9 mm of mould; a store of heat behind the metal stays at its temperature; the front loses heat
by convection and radiation. Source: at rest one flow passes all resistances in a row: metal, contact, the mould by the
integral of its conductivity over temperature, and from the skin to the room; one equation for the skin's temperature,
solved by bisection (no code shared). Tolerance: rounding where conductivities stay the same, whatever the cells;
second order in the cell where the mould's changes with temperature.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.verification.freezing_cases import column

from pourwright.physics.freeze.problem import (
    ContactLaw,
    FreezeProblem,
    Kind,
    MetalLaw,
    MouldLaw,
    Surroundings,
    TimeControl,
    WholeCells,
)
from pourwright.physics.freeze.solver import solve

METAL_M, MOULD_M, CONTACT_W_M2K, METAL_W_MK = 6e-3, 9e-3, 800.0, 2.0
STORE_K, ROOM_K, START_K = 1200.0, 293.15, 900.0
EMISSIVITY, AIR_W_M2K, STEFAN_BOLTZMANN = 0.8, 10.0, 5.670374419e-8
# So wide that nothing to speak of leaves by the sides, which are open to the room too.
WIDE_M = 1e3
EVEN = MouldLaw.constant(0.8, 1e5)
RISING = MouldLaw(np.array([200.0, 1300.0]), np.array([0.3, 1.4]), np.full(2, 1e5))


@dataclass(frozen=True)
class Rest:
    """The slab at rest: flow [W/m**2], the mould's face at the contact and its skin [K]."""

    flow_W_m2: float
    mould_face_K: float
    skin_K: float


def exact(mould: MouldLaw, behind_m: float) -> Rest:
    """The slab at rest, from the skin inwards; ``behind_m`` of metal lie between the store and the 6 mm."""

    def at(skin_K: float) -> Rest:
        flow_W_m2 = AIR_W_M2K * (skin_K - ROOM_K) + EMISSIVITY * STEFAN_BOLTZMANN * (skin_K**4 - ROOM_K**4)
        return Rest(flow_W_m2, _behind_K(mould, skin_K, flow_W_m2 * MOULD_M), skin_K)

    def over(skin_K: float) -> float:
        rest = at(skin_K)
        return rest.mould_face_K + rest.flow_W_m2 * (1 / CONTACT_W_M2K + (METAL_M + behind_m) / METAL_W_MK) - STORE_K

    return at(float(brentq(over, ROOM_K, STORE_K, xtol=1e-10)))


def _behind_K(mould: MouldLaw, skin_K: float, passed_W_m: float) -> float:
    """The temperature [K] from which the integral of a straight conductivity down to the skin's is so much [W/m]."""
    slope = float(np.diff(mould.conductivity_W_mK)[0] / np.diff(mould.temp_K)[0])
    at_skin = float(np.interp(skin_K, mould.temp_K, mould.conductivity_W_mK))
    return skin_K + 2 * passed_W_m / (at_skin + float(np.sqrt(at_skin**2 + 2 * slope * passed_W_m)))


def _metal() -> MetalLaw:
    """Takes little heat below the store's temperature and any amount there; all of it solid."""
    knots = np.array([100.0, STORE_K, STORE_K + 1.0, 2500.0, 2600.0])
    heat = np.cumsum(np.concatenate(([1e7], np.diff(knots) * [1e5, 1e15, 1e15, 1e15])))
    return MetalLaw(knots, heat, np.array([1.0, 1.0, 1.0, 1.0, 0.0]), np.full(5, METAL_W_MK))


def ours(mould: MouldLaw, cells_count: int, on_its_side: bool = False):
    """Result at rest, and the middles of its cells up from the store [m]; on its side the front is the flask's."""
    metal_m = np.full(2 * cells_count + 1, METAL_M / 2 / cells_count)
    mould_m = np.full(3 * cells_count, MOULD_M / 3 / cells_count)
    cells = column([(Kind.METAL, metal_m), (Kind.MOULD, mould_m)], WIDE_M)
    middles_m = (cells.edges_m[2][1:] + cells.edges_m[2][:-1]) / 2
    if on_its_side:
        cells = WholeCells(cells.edges_m[::-1], np.ascontiguousarray(cells.kind.T))
    start_K = np.full(len(metal_m), START_K)
    start_K[0] = STORE_K + 1e-5
    places_m = np.array([[WIDE_M / 2, WIDE_M / 2, z] for z in middles_m])
    found = solve(
        FreezeProblem(
            cells, _metal(), mould, ContactLaw.constant(CONTACT_W_M2K), start_K, START_K,
            surroundings=Surroundings(ROOM_K, AIR_W_M2K, EMISSIVITY, 0.0, 0.0),
            time=TimeControl(0.1, 0.01, 10.0, 1e-9, follow_s=100.0, follow_step_max_s=10.0, double=True),
            probes_m=places_m[:, ::-1] if on_its_side else places_m,
        )
    )  # fmt: skip
    return found, middles_m


def _flow_W_m2(found) -> float:
    lost_J, time_s = found.histories.lost_J, found.histories.time_s
    return float((lost_J[-1] - lost_J[-2]) / (time_s[-1] - time_s[-2])) / WIDE_M**2


@pytest.mark.parametrize("cells_count", [2, 5])
def test_a_slab_at_rest_passes_the_exact_flow_and_has_the_exact_temperatures(cells_count):
    """Even conductivities: straight lines, which the cells hold exactly. Tolerance 1e-5 of the flow and 0.005 K: the
    skin's radiation is found by four repetitions."""
    found, middles_m = ours(EVEN, cells_count)
    half_m = METAL_M / 4 / cells_count
    rest = exact(EVEN, half_m)
    assert _flow_W_m2(found) == pytest.approx(rest.flow_W_m2, rel=1e-5)
    metal_m = METAL_M + 2 * half_m
    in_metal = STORE_K - rest.flow_W_m2 / METAL_W_MK * (middles_m - half_m)
    in_mould = rest.mould_face_K - rest.flow_W_m2 / EVEN.conductivity_W_mK[0] * (middles_m - metal_m)
    wanted_K = np.where(middles_m < metal_m, in_metal, in_mould)
    assert found.histories.probe_K[-1] == pytest.approx(wanted_K, abs=5e-3)


def test_a_mould_that_conducts_better_when_hot_comes_to_the_exact_flow_at_second_order():
    """Tolerance 1 % in cells of 1.5 mm, and an error that falls by 3 at least at half the cell (order two is 4)."""
    errors = []
    for count in (2, 4, 8):
        found, _ = ours(RISING, count)
        errors.append(abs(_flow_W_m2(found) / exact(RISING, METAL_M / 4 / count).flow_W_m2 - 1))
    print("errors of the flow:", errors)
    assert errors[0] < 0.01
    assert errors[1] < errors[0] / 3
    assert errors[2] < errors[1] / 3


def test_the_skin_is_as_cool_as_the_room_makes_it():
    """What is said of the flask's side is its skin, which lies 20 K below the middle of the cell behind it here.
    Tolerance 0.05 K."""
    found, _ = ours(EVEN, 2, on_its_side=True)
    wanted_K = exact(EVEN, METAL_M / 8).skin_K
    assert found.histories.probe_K[-1, -1] - wanted_K > 20.0
    assert found.histories.flask_skin_K[-1] == pytest.approx(wanted_K, abs=0.05)
