"""The seam between the freezing run and the machine it runs on.

One driver (:mod:`.solver`) serves every machine. It never loops over cells itself: it calls the kernels of a
:class:`Backend` with arrays that live where those kernels run. A second machine needs ``put`` and ``fetch`` to carry
arrays there and back, and its own twin of each kernel, called with the same arguments and filling the same arrays. What
a kernel does is said where the one for the processor is written, in ``kernels/*/_kernels.py``; what is inside one
(turns of colours, threads, precision of the corrections) is its own affair as long as it closes the books of heat and
repeats to the last bit. Between kernels the driver only adds and scales whole arrays and reads single numbers.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from importlib.util import find_spec
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import SolverError
from pourwright.core.text import say

Kernel = Callable[..., Any]
Array = NDArray[Any]
Tree = TypeVar("Tree")


@dataclass(frozen=True, eq=False)
class Backend:
    """A machine to run on.

    Parameters
    ----------
    name : str
        What to call it.
    put, fetch : callable
        Carry a numpy array to the machine, and an array of the machine back.
    threads_for : callable
        Context in which so many cells are worked on.
    sweep_slope, sweep_stage, settle_cells : callable
        The mould's field: slope, later stages, and heat put right afterwards.
    open_rows, close_faces, settle_rows, rows_heat_J, hottest_skin_K : callable
        The mould's rows and their faces to nodes and air.
    node_heat, node_temps, node_laws, link_values, spread_paths, air_of_nodes, guess_nodes, step_nodes : callable
        The nodes.
    look, mark_crossings, mark_slopes : callable
        What is read off the nodes after a step.
    """

    name: str
    put: Callable[[Array], Any]
    fetch: Callable[[Any], Array]
    threads_for: Callable[[int], AbstractContextManager[None]]
    sweep_slope: Kernel
    sweep_stage: Kernel
    settle_cells: Kernel
    open_rows: Kernel
    close_faces: Kernel
    settle_rows: Kernel
    rows_heat_J: Kernel
    hottest_skin_K: Kernel
    node_heat: Kernel
    node_temps: Kernel
    node_laws: Kernel
    link_values: Kernel
    spread_paths: Kernel
    air_of_nodes: Kernel
    guess_nodes: Kernel
    step_nodes: Kernel
    look: Kernel
    mark_crossings: Kernel
    mark_slopes: Kernel


@cache
def processor() -> Backend:
    """Return the machine's own processor, on as many threads as it has."""
    from pourwright.physics.freeze.kernels.faces import _kernels as faces
    from pourwright.physics.freeze.kernels.levels import _kernels as levels
    from pourwright.physics.freeze.kernels.marks import _kernels as marks
    from pourwright.physics.freeze.kernels.nodes import _kernels as nodes
    from pourwright.physics.freeze.kernels.sweep import _kernels as sweep
    from pourwright.physics.freeze.kernels.threads import _kernels as threads

    return Backend(
        "processor", np.asarray, np.asarray, threads.threads_for,
        sweep.sweep_slope, sweep.sweep_stage, sweep.settle_cells,
        faces.open_rows, faces.close_faces, faces.settle_rows, faces.rows_heat_J, faces.hottest_skin_K,
        nodes.node_heat, nodes.node_temps, nodes.node_laws, nodes.link_values, levels.spread_paths, nodes.air_of_nodes,
        nodes.guess_nodes, nodes.step_nodes, marks.look, marks.mark_crossings, marks.mark_slopes,
    )  # fmt: skip


@cache
def graphics() -> Backend:
    """Return a graphics card of NVIDIA's make, reached by the optional extra ``gpu``.

    Raises
    ------
    SolverError
        The extra is not installed, or no such card is there.
    """
    if find_spec("numba_cuda") is None:
        raise SolverError(say("physics.freeze-no-gpu-extra"))
    from pourwright.physics.freeze.kernels_gpu.arrays import _kernels as arrays

    if not arrays.is_there():
        raise SolverError(say("physics.freeze-no-gpu"))
    from pourwright.physics.freeze.kernels_gpu.faces import _kernels as faces
    from pourwright.physics.freeze.kernels_gpu.levels import _kernels as levels
    from pourwright.physics.freeze.kernels_gpu.marks import _kernels as marks
    from pourwright.physics.freeze.kernels_gpu.nodes import _kernels as nodes
    from pourwright.physics.freeze.kernels_gpu.sweep import _kernels as sweep

    return Backend(
        "graphics card", arrays.put, arrays.fetch, lambda _: nullcontext(),
        sweep.sweep_slope, sweep.sweep_stage, sweep.settle_cells,
        faces.open_rows, faces.close_faces, faces.settle_rows, faces.rows_heat_J, faces.hottest_skin_K,
        nodes.node_heat, nodes.node_temps, nodes.node_laws, nodes.link_values, levels.spread_paths, nodes.air_of_nodes,
        nodes.guess_nodes, levels.step_nodes, marks.look, marks.mark_crossings, marks.mark_slopes,
    )  # fmt: skip


def placed(tree: Tree, put: Callable[[Array], Any]) -> Tree:
    """Return the same tuples and dataclasses with all their arrays put on a machine."""
    if isinstance(tree, np.ndarray):
        return put(tree)  # type: ignore[no-any-return]
    if isinstance(tree, tuple):
        parts = [placed(one, put) for one in tree]
        return type(tree)(*parts) if hasattr(tree, "_fields") else tuple(parts)  # type: ignore[return-value]
    if is_dataclass(tree) and not isinstance(tree, type):
        return replace(tree, **{one.name: placed(getattr(tree, one.name), put) for one in fields(tree)})
    return tree
