"""Heat alone, without freezing: a closed box, two layers with a contact, and a lump that radiates, against exact
decays."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import CURVED, ball_problem
from tests.verification.freezing_cases import column, plain_metal
from tests.verification.references import heat_modes

from pourwright.physics.freeze.problem import (
    ContactLaw,
    FreezeProblem,
    Kind,
    MouldLaw,
    Surroundings,
    TimeControl,
    WholeCells,
)
from pourwright.physics.freeze.solver import solve

BASE_K, SWING_K = 1200.0, 50.0
SIZE_M, WAVES = (12e-3, 8e-3, 8e-3), (2, 1, 1)
METAL_A_M2_S = 300.0 / 2.79e6


def _steps(step_s: float, count: int, **more: float) -> TimeControl:
    """So many equal steps."""
    end_s = count * step_s
    return TimeControl(0.5, step_s, step_s, 1e-8, end_s, end_s, step_s, **more)


def _edges(length_m: float, count: int, graded: bool) -> np.ndarray:
    even = np.linspace(0.0, 1.0, count + 1)
    return length_m * (even + 0.08 * np.sin(2 * np.pi * even) if graded else even)


def _decay_per_s(cells_count: int, graded: bool) -> float:
    """Decay of the mode on a grid, with steps of 1.5 % of its decay, so that time adds under 0.01 %."""
    edges = tuple(_edges(s, cells_count * n, graded) for s, n in zip(SIZE_M, (3, 2, 2), strict=True))
    shape = tuple(len(one) - 1 for one in edges)
    middles = np.meshgrid(*((one[1:] + one[:-1]) / 2 for one in edges), indexing="ij")
    mode = heat_modes.box_mode(np.column_stack([one.ravel() for one in middles]), SIZE_M, WAVES)
    step_s, count = 2.5e-4, 30
    cells = WholeCells(edges, np.full(shape, Kind.METAL, dtype=np.uint8))
    found = solve(
        FreezeProblem(
            cells, plain_metal(), MouldLaw.constant(1.0, 1e6), ContactLaw.constant(1.0), BASE_K + SWING_K * mode,
            BASE_K, time=_steps(step_s, count),
        )
    )  # fmt: skip
    weight = found.metal_m3 * mode
    kept = float(np.sum(weight * (found.temp_K - BASE_K)) / np.sum(weight * mode)) / SWING_K
    return -np.log(kept) / float(found.histories.time_s[-1])


@pytest.mark.parametrize("graded", [False, True])
def test_a_mode_of_a_closed_box_dies_at_second_order_in_the_cell(graded):
    """Case: three cosines in a box of 12 x 8 x 8 mm. Source: separation of variables. Tolerance: error falls by 3.2 to
    4.8 at half the cell (order two is 4)."""
    exact = heat_modes.box_decay_per_s(METAL_A_M2_S, SIZE_M, WAVES)
    errors = [abs(_decay_per_s(count, graded) / exact - 1.0) for count in (2, 4, 8)]
    print("errors of the decay:", errors, "orders:", np.log2(np.array(errors[:-1]) / errors[1:]))
    assert 3.2 < errors[1] / errors[2] < 4.8


def test_two_layers_with_a_contact_come_to_rest_at_the_exact_rate_and_shape():
    """Case: 4 mm of metal and 6 mm of mould, closed, contact 800 W/m2/K: after a while only the slowest way of
    coming to rest is left. Source: transcendental equation of two layers. Tolerance 0.5 % of the rate (cells of
    0.25 mm, steps of a hundredth of the decay) and 1 % of the step across the joint."""
    thick_m, k, capacity, contact = (4e-3, 6e-3), (2.0, 0.8), (2.79e6, 1.4e6), 800.0
    rate, shape = heat_modes.two_layers(thick_m, k, capacity, contact)
    cell_m = 0.25e-3
    cells = column([(Kind.METAL, np.full(16, cell_m)), (Kind.MOULD, np.full(24, cell_m))])
    probes_m = np.array([[0.5e-3, 0.5e-3, z] for z in (0.125e-3, 3.875e-3, 4.125e-3, 9.875e-3)])
    start_K, cold_K = 1200.0, 800.0
    found = solve(
        FreezeProblem(
            cells, plain_metal(2.0), MouldLaw.constant(k[1], capacity[1]), ContactLaw.constant(contact),
            np.array(start_K), cold_K, time=_steps(0.004 / rate, 1000, double=True), probes_m=probes_m,
        )
    )  # fmt: skip
    held = np.array(thick_m) * capacity
    rest_K = float(held @ [start_K, cold_K] / held.sum())
    time_s, away_K = found.histories.time_s, found.histories.probe_K - rest_K
    late = (time_s > 1.5 / rate) & (time_s < 3.5 / rate)
    measured = -np.polyfit(time_s[late], np.log(np.abs(away_K[late, 0])), 1)[0]
    assert measured == pytest.approx(rate, rel=5e-3)
    middle = int(np.searchsorted(time_s, 2.5 / rate))
    wanted = shape(probes_m[:, 2])
    assert away_K[middle] / away_K[middle, 0] == pytest.approx(wanted / wanted[0], abs=0.01)


LUMP_M, LUMP_J_M3K = 2e-3, 1.4e6


def _lump(cells: WholeCells, mould: MouldLaw, contact_W_m2K: float, room: Surroundings):
    """A cube of 2 mm cooled from 1100 K in steps of the usual growth."""
    return solve(
        FreezeProblem(
            cells, plain_metal(300.0, LUMP_J_M3K), mould, ContactLaw.constant(contact_W_m2K), np.array(1100.0), 1100.0,
            surroundings=room, time=TimeControl(0.05, 1e-3, follow_s=7.0, double=True),
        )
    )  # fmt: skip


def _cube(count: int, kind: Kind) -> WholeCells:
    return WholeCells((np.linspace(0, LUMP_M, count + 1),) * 3, np.full((count,) * 3, kind, dtype=np.uint8))


def _miss(temp_K: np.ndarray, time_s: np.ndarray, until_K: float, volume_m3: float) -> float:
    """How much later than the outside integrator says a temperature is passed, as a share."""
    capacity_J_m2K = LUMP_J_M3K * volume_m3 / (6 * LUMP_M**2)
    wanted_s = heat_modes.lumped_s(1100.0, until_K, capacity_J_m2K, 0.8, 10.0, 293.15)
    return float(np.interp(-until_K, -temp_K, time_s)) / wanted_s - 1.0


@pytest.mark.parametrize("until_K", [900.0, 700.0])
def test_a_lump_of_bare_metal_cools_as_an_outside_integrator_says(until_K):
    """Case: a cube all of metal, its faces bare as a button's, emissivity 0.8, 10 W/m2/K. Source: Dormand-Prince of
    order 8 for a body of one temperature. Tolerance 0.1 %, for middle, skin and mean alike.

    A radiating body has no one temperature: skin, middle and mean part in proportion to Biot's number, here 0.0006.
    The mean follows from the heat lost, so that it alone would say nothing of a skin too warm or too cool.
    """
    found = _lump(_cube(4, Kind.METAL), MouldLaw.constant(1.0, 1e6), 1.0, Surroundings(293.15, 0.0, 0.0, 0.8, 10.0))
    history = found.histories
    mean_K = 1100.0 - history.lost_J / (LUMP_J_M3K * LUMP_M**3)
    for temp_K in (mean_K, history.hottest_metal_K, history.button_skin_K):
        assert abs(_miss(temp_K, history.time_s, until_K, LUMP_M**3)) < 1e-3


@pytest.mark.parametrize("until_K", [900.0, 700.0])
def test_a_lump_of_mould_cools_as_an_outside_integrator_says(until_K):
    """Case: the same cube of mould, with a grain of metal in its middle that takes no part. Tolerance 1 %: what the air
    takes is straightened over each step of 5 % of the time, measured 0.8 %, and 0.1 % with steps of 1 %. Biot's number
    is 0.003; mean and skin must agree to 0.1 %."""
    cells = _cube(8, Kind.MOULD)
    cells.kind[3:5, 3:5, 3:5] = Kind.METAL
    found = _lump(cells, MouldLaw.constant(60.0, LUMP_J_M3K), 1e-6, Surroundings(293.15, 10.0, 0.8, 0.0, 0.0))
    history, volume_m3 = found.histories, LUMP_M**3 * (1 - 1 / 64)
    mean_K = 1100.0 - history.lost_J / (LUMP_J_M3K * volume_m3)
    mean, skin = (_miss(one, history.time_s, until_K, volume_m3) for one in (mean_K, history.flask_skin_K))
    assert abs(mean) < 0.01
    assert skin == pytest.approx(mean, abs=1e-3)
    assert found.cooling_heat is not None
    assert found.cooling_heat.error_frac < 1e-9


@pytest.mark.parametrize("mould", [None, CURVED], ids=["even", "curved"])
def test_a_cut_flask_open_to_the_room_keeps_its_heat_in_double_precision(mould):
    """Case: a ball in a steel flask whose walls run through cells, radiating, followed for a minute. Tolerance 1e-9 of
    the metal's heat, losses included; a wall or a face booked on one side only would be wrong by far more."""
    found = solve(ball_problem(mould=mould, double=True, follow_s=60.0))
    assert found.finished
    assert found.cooling_heat is not None
    assert found.cooling_heat.lost_J > 0.1 * found.cooling_heat.metal_J
    assert max(found.heat.error_frac, found.cooling_heat.error_frac) < 1e-9
