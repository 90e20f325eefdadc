"""A plate of stirred metal on an endless mould, against the integral equation of the same case."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from tests.verification.freezing_cases import column, eutectic_metal
from tests.verification.references import stirred

from pourwright.physics.freeze.problem import ContactLaw, FreezeProblem, Kind, MouldLaw, TimeControl
from pourwright.physics.freeze.solver import solve

HALF_M, MOULD_M, METAL_K, MOULD_K = 2e-3, 40e-3, 1253.15, 773.15
CONDUCTIVITY_W_MK, CAPACITY_J_M3K = 0.4, 1.4e6


@lru_cache(maxsize=2)
def exact(contact_W_m2K: float) -> stirred.Cooling:
    law = eutectic_metal()
    flow = stirred.plane(CONDUCTIVITY_W_MK, CAPACITY_J_M3K)
    return stirred.cool(law.temp_K, HALF_M * law.enthalpy_J_m3, METAL_K, MOULD_K, flow, contact_W_m2K, 300.0)


@lru_cache(maxsize=8)
def ours(cell_m: float, contact_W_m2K: float, growth_ratio: float = 0.03, double: bool = False):
    heights = [
        (Kind.METAL, np.full(round(HALF_M / cell_m), cell_m)),
        (Kind.MOULD, np.full(round(MOULD_M / cell_m), cell_m)),
    ]
    time = TimeControl(growth_ratio=growth_ratio, step_min_s=0.005, double=double)
    return solve(
        FreezeProblem(
            column(heights), eutectic_metal(), MouldLaw.constant(CONDUCTIVITY_W_MK, CAPACITY_J_M3K),
            ContactLaw.constant(contact_W_m2K), np.array(METAL_K), MOULD_K, time=time,
        )
    )  # fmt: skip


def test_the_integral_equation_gives_the_closed_form_where_nothing_freezes():
    """Case: stirred plate in perfect contact. Source: Carslaw and Jaeger (from memory), erfcx. Tolerance 0.02 K of 480:
    the reference is to be ten times better than what it judges; the very first moments, where its first step is all
    there is, are left out."""
    flow = stirred.plane(CONDUCTIVITY_W_MK, CAPACITY_J_M3K)
    capacity_J_m2K, knots_K = 2.79e6 * HALF_M, np.array([0.0, 3000.0])
    found = stirred.cool(knots_K, capacity_J_m2K * knots_K, METAL_K, MOULD_K, flow, 1e12, 60.0, 800)
    effusivity = np.sqrt(CONDUCTIVITY_W_MK * CAPACITY_J_M3K)
    closed = stirred.plane_without_freezing(found.time_s, METAL_K, MOULD_K, effusivity, capacity_J_m2K)
    late = found.time_s > 0.05
    assert np.max(np.abs(found.metal_K - closed)[late]) < 0.02


def test_more_steps_do_not_move_the_reference():
    """Tolerance 0.05 % of the freezing time, for half the steps: far below what is asked of the engine."""
    law, flow = eutectic_metal(), stirred.plane(CONDUCTIVITY_W_MK, CAPACITY_J_M3K)
    coarse = stirred.cool(law.temp_K, HALF_M * law.enthalpy_J_m3, METAL_K, MOULD_K, flow, 2000.0, 300.0, 700)
    assert coarse.when_s(law.solidus_K) == pytest.approx(exact(2000.0).when_s(law.solidus_K), rel=5e-4)


@pytest.mark.parametrize("contact_W_m2K", [1e9, 2000.0])
@pytest.mark.parametrize("cell_mm", [1.0, 0.5])
def test_a_stirred_plate_freezes_when_the_integral_equation_says(cell_mm, contact_W_m2K):
    """Case: half-thickness 2 mm, insulated at its middle, perfect contact and a real one. Tolerance 0.2 %: measured
    0.01 to 0.12 % with steps of 3 % of the time; the reference itself stands to 0.02 %."""
    found = ours(1e-3 * cell_mm, contact_W_m2K)
    solid_K = eutectic_metal().solidus_K
    assert found.last_solid_s == pytest.approx(exact(contact_W_m2K).when_s(solid_K), rel=2e-3)


def test_heat_is_kept_to_rounding_in_double_precision():
    """A closed box: 1e-12 of the metal's heat, hundreds of steps of rounding; 5e-4 asked with a single-precision
    mould."""
    assert ours(1e-3, 2000.0, double=True).heat.error_frac < 1e-12
    assert ours(1e-3, 2000.0).heat.error_frac < 5e-4


def test_shorter_steps_come_closer():
    """From steps of 10 % of the time to 3 % the error must fall to less than half, or lie in the noise (0.05 %)."""
    wanted_s = exact(2000.0).when_s(eutectic_metal().solidus_K)
    long, short = (abs(ours(0.5e-3, 2000.0, ratio).last_solid_s / wanted_s - 1.0) for ratio in (0.1, 0.03))
    assert short < max(long / 2.0, 5e-4)
