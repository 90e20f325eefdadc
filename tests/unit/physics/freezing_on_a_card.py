"""Runs in a process of its own: a few steps of a small casting on the processor and on the card, told as JSON.

Under ``NUMBA_ENABLE_CUDASIM=1``, set before numba is loaded, the card is numba's simulator; the processor's kernels are
then the same Python code that is compiled otherwise.
"""

from __future__ import annotations

import json
import sys

import numpy as np
from tests.unit.physics.small_castings import CURVED, ROOM, block, block_problem

from pourwright.physics.freeze.backend import Backend, graphics, processor
from pourwright.physics.freeze.follow import on_larger_cells
from pourwright.physics.freeze.problem import Kind, MouldLaw, Shell, WholeCells
from pourwright.physics.freeze.record import note
from pourwright.physics.freeze.run import Run, heat_book
from pourwright.physics.freeze.solver import next_step_s, prepare, take_step
from pourwright.physics.freeze.state import go_on_from, state_of

STEPS = 2
LONG_S = 0.4


def casting() -> WholeCells:
    """The small casting with two millimetres off two sides, so that a simulator is soon done."""
    cells = block()
    return WholeCells(tuple(one[2:] if axis < 2 else one for axis, one in enumerate(cells.edges_m)), cells.kind[2:, 2:])


def stepped(machine: Backend) -> Run:
    """Return a run after a few steps; the flask is of steel, the button bare, the mould's laws curved."""
    problem = block_problem(
        casting(), CURVED, surroundings=ROOM, shell=Shell(1e-3, MouldLaw.constant(25.0, 4e6)), step_min_s=LONG_S,
        follow_side_m=2e-3,
    )  # fmt: skip
    run = prepare(problem, machine)
    for _ in range(STEPS):
        assert take_step(run, next_step_s(run))
        note(run)
    return run


def told(run: Run) -> dict[str, object]:
    """Return what a run came to."""
    arrays = state_of(run).arrays
    return {
        "error_frac": heat_book(run).error_frac,
        "lost_J": run.lost_J,
        "counts": run.counts.tolist(),
        "metals": run.paths.nodes.metals_count,
        "crossed": int(np.isfinite(arrays["crossed_s"]).sum()),
        **{name: np.nan_to_num(arrays[name]).ravel().tolist()
           for name in ("u_K", "heat_J", "temp_K", "crossed_s", "gradient_K_m", "rate_K_s", "histories")},
    }  # fmt: skip


def goes_on(run: Run) -> dict[str, object]:
    """Return whether a run taken up again goes the same way, and the heat before and after going to larger cells."""
    again = prepare(run.problem, run.machine)
    go_on_from(again, state_of(run))
    for one in (run, again):
        assert take_step(one, LONG_S)
    same = all(
        np.array_equal(first, second, equal_nan=True)
        for (name, first), second in zip(state_of(run).arrays.items(), state_of(again).arrays.values(), strict=True)
        if name != "histories"
    )
    return {"same": same, "before_J": heat_book(run).now_J, "after_J": heat_book(on_larger_cells(run)).now_J}


def main() -> None:
    """Tell of both, and whether the card repeats to the last bit."""
    sys.setswitchinterval(2e-5)  # simulated threads wait for each other in a busy loop
    assert casting().kind.size < 1000
    assert (casting().kind == Kind.METAL).any()
    ours, card, again = stepped(processor()), stepped(graphics()), stepped(graphics())
    both = {"processor": told(ours), "card": told(card), "again": told(card) == told(again)}
    ways = {"goes_on": {"processor": goes_on(ours), "card": goes_on(card)}}
    print(json.dumps(both | ways))


if __name__ == "__main__":
    main()
