"""Laws of the freezing run, and what it refuses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.unit.physics.small_castings import block, block_problem, metal

from pourwright.core.errors import SolverError
from pourwright.physics.freeze import problem as room
from pourwright.physics.freeze.problem import ContactLaw, Kind, MouldLaw, TimeControl, WholeCells, check


def test_heat_and_temperature_of_the_metal_undo_each_other():
    temps = np.linspace(300.0, 1700.0, 401)
    assert metal().temp_at_K(metal().enthalpy_at_J_m3(temps)) == pytest.approx(temps, rel=1e-13)


def test_marks_of_the_melting_range_are_read_off_the_curve():
    law = metal()
    assert (law.solidus_K, law.liquidus_K) == (1051.0, 1170.0)
    assert np.interp(law.critical_K, law.temp_K, law.solid_frac) == pytest.approx(law.critical_frac)


def test_a_sound_problem_is_let_through():
    check(block_problem())


def _broken(name: str, index: int, value: float):
    law = metal()
    values = getattr(law, name).copy()
    values[index] = value
    return replace(block_problem(), metal=replace(law, **{name: values}))


@pytest.mark.parametrize(
    ("made", "word"),
    [
        (lambda: _broken("temp_K", 1, np.nan), "not a number"),
        (lambda: _broken("enthalpy_J_m3", 2, 0.0), "in order"),
        (lambda: _broken("conductivity_W_mK", 0, 0.0), "above zero"),
        (lambda: _broken("solid_frac", 0, 0.9), "in order"),
        (lambda: replace(block_problem(), mould=MouldLaw.constant(-0.4, 1e6)), "above zero"),
        (lambda: replace(block_problem(), contact=ContactLaw.constant(0.0)), "above zero"),
        (lambda: replace(block_problem(), metal_start_K=np.array(4000.0)), "no temperature of a pour"),
        (lambda: replace(block_problem(), mould_start_K=1100.0), "would not freeze"),
        (lambda: replace(block_problem(), time=TimeControl(newton_most_count=2)), "too few"),
        (lambda: replace(block_problem(), time=TimeControl(growth_ratio=0.9)), "at most half"),
        (lambda: replace(block_problem(), metal_start_K=np.full(3, 1200.0)), "3 starting temperatures"),
        (lambda: block_problem(WholeCells(block().edges_m, np.ones_like(block().kind))), "no metal"),
    ],
)
def test_a_problem_that_would_give_a_wrong_number_is_refused(made, word):
    with pytest.raises(SolverError, match=word):
        check(made())


def test_too_little_memory_is_said_before_the_run(monkeypatch):
    monkeypatch.setattr(room, "free_bytes_count", lambda: 1000)
    with pytest.raises(SolverError, match="Take larger cells"):
        check(block_problem())


def test_kinds_are_the_numbers_that_cells_hold():
    assert set(np.unique(block().kind)) == {Kind.OUTSIDE, Kind.MOULD, Kind.METAL}
