"""The freezing run on a graphics card against the one on the processor, and the refusals where there is none.

Plain runs use numba's simulator of a card. ``POURWRIGHT_GPU=1`` asks for the card of this machine instead.
"""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from pourwright.core.errors import SolverError
from pourwright.physics.freeze.backend import graphics

ROOT = Path(__file__).resolve().parents[3]
SIMULATOR = {} if os.environ.get("POURWRIGHT_GPU") == "1" else {"NUMBA_ENABLE_CUDASIM": "1"}


@pytest.fixture(scope="module")
def told():
    """What both machines came to; in a process of its own, since numba must be told of the simulator beforehand."""
    command = [sys.executable, "-m", "tests.unit.physics.freezing_on_a_card"]
    environment = {**os.environ, **SIMULATOR, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.mark.parametrize(
    ("what", "apart"),
    [("u_K", 1e-4), ("temp_K", 1e-3), ("heat_J", 1e-5), ("crossed_s", 1e-4), ("histories", 1e-3)],
)
def test_a_card_comes_to_what_the_processor_comes_to(told, what, apart):
    """Single precision and 0.001 K of the solution leave 1e-4 in u [K] and 1e-3 K in the metal; sums go another way."""
    ours, theirs = np.array(told["card"][what]), np.array(told["processor"][what])
    assert ours.shape == theirs.shape
    assert np.ptp(theirs) > 100 * apart
    assert np.abs(ours - theirs).max() < apart


def test_a_card_takes_the_same_steps_stages_and_corrections(told):
    assert told["card"]["counts"][:3] == told["processor"]["counts"][:3]
    assert told["card"]["crossed"] == told["processor"]["crossed"] > 0


def test_a_card_keeps_its_book_of_heat(told):
    """Tolerance 1e-6 of the metal's heat, with steel, radiation and curved laws, in single precision."""
    assert told["card"]["error_frac"] < 1e-6
    assert told["card"]["lost_J"] == pytest.approx(told["processor"]["lost_J"], rel=1e-7)


def test_a_card_repeats_to_the_last_bit(told):
    assert told["again"] is True


def test_a_card_goes_on_where_a_run_was_cut_off_and_on_larger_cells(told):
    """Heat on larger cells: tolerance 1e-6 between the machines; zeros of heat differ between the grids."""
    card, processor = told["goes_on"]["card"], told["goes_on"]["processor"]
    assert card["same"] is True
    assert card["before_J"] == pytest.approx(processor["before_J"], rel=1e-6)
    assert card["after_J"] == pytest.approx(processor["after_J"], rel=1e-6)


def test_a_card_that_is_not_there_is_refused_in_plain_words(monkeypatch):
    monkeypatch.setattr("pourwright.physics.freeze.kernels_gpu.arrays._kernels.is_there", lambda: False)
    graphics.cache_clear()
    with pytest.raises(SolverError, match="card"):
        graphics()


def test_a_card_without_what_talks_to_it_is_refused_in_plain_words(monkeypatch):
    found = importlib.util.find_spec
    monkeypatch.setattr(
        "pourwright.physics.freeze.backend.find_spec", lambda name: None if name == "numba_cuda" else found(name)
    )
    graphics.cache_clear()
    with pytest.raises(SolverError, match=r"pourwright\[gpu\]"):
        graphics()
