"""A freezing run cut off and taken up again, to the last bit."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from hashlib import sha256
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import SolverError
from pourwright.core.text import say
from pourwright.physics.freeze.problem import FreezeProblem
from pourwright.physics.freeze.results import FreezeState
from pourwright.physics.freeze.run import Run, Sight

# Of the arrays in a state and their order; one more whenever that changes, so that no other's state is taken up.
_EDITION = b"2"
_NODE_ARRAYS = ("heat_J", "temp_K", "before_J", "before_K", "surprise_K")
_MARK_ARRAYS = ("crossed_s", "gradient_K_m", "rate_K_s")


def state_of(run: Run) -> FreezeState:
    """Return all that changes in a run, as arrays."""
    fetch = run.machine.fetch
    arrays: dict[str, NDArray[Any]] = {
        "u_K": fetch(run.mould_field.u_K).copy(), "counts": run.counts.copy(), "histories": np.array(run.histories),
        "sight": np.array(run.sight),
        "books": np.array([run.start_J, run.lost_J, run.time_s, run.last_step_s, run.is_cooling]),
    }  # fmt: skip
    arrays |= {name: fetch(getattr(run.node_field, name)).copy() for name in _NODE_ARRAYS}
    arrays |= {name: fetch(getattr(run, name)).copy() for name in _MARK_ARRAYS}
    return FreezeState(arrays, fingerprint(run.problem))


def go_on_from(run: Run, state: FreezeState) -> None:
    """Put a fresh run where another was cut off.

    Raises
    ------
    SolverError
        The state is of another problem.
    """
    if state.fingerprint != fingerprint(run.problem):
        raise SolverError(say("physics.freeze-other-state"))
    nodes, kept, put = run.node_field, state.arrays, run.machine.put
    run.mould_field.u_K[...] = put(kept["u_K"])
    for name in _NODE_ARRAYS:
        getattr(nodes, name)[...] = put(kept[name])
    for name in _MARK_ARRAYS:
        getattr(run, name)[...] = put(kept[name])
    run.counts[:] = kept["counts"]
    run.sight = Sight(*(float(one) for one in kept["sight"]))
    run.histories = list(np.asarray(kept["histories"], dtype=np.float64))
    run.start_J, run.lost_J, run.time_s, run.last_step_s, cooling = (float(one) for one in kept["books"])
    run.is_cooling = bool(cooling)


def fingerprint(problem: FreezeProblem) -> str:
    """Return a mark that two problems share only if they are the same."""
    mark = sha256(_EDITION)
    stack: list[object] = [problem]
    while stack:
        one = stack.pop()
        if is_dataclass(one):
            mark.update(type(one).__name__.encode())
            stack.extend(getattr(one, part.name) for part in fields(one))
        elif isinstance(one, tuple):
            stack.extend(one)
        elif isinstance(one, np.ndarray):
            mark.update(np.ascontiguousarray(one).tobytes())
        else:
            mark.update(repr(one).encode())
    return mark.hexdigest()
