"""Freezing a ring with sprue and button: our engine alone, then against a sparse Newton and a finite-volume library.

Alone: the cut cells of a whole flask (:mod:`bench.freeze_case`), the case that the floors of speed are meant for; from
the pour until the last metal is solid, laying of the lists and heat book included, cutting the cells not. Beside the
time stand bytes a cell and the share of the machine's measured bandwidth at which the mould is swept.

Against peers: whole cells in a box, the same for all. Answers first, then times as ratios. Peers run to the end at the
smallest size; at the larger ones they take a number of steps and the rest is reckoned from those, which is marked.
``FREEZE_LONG=1`` lets them run to the end everywhere and adds our own growth to eight million cells.
"""

from __future__ import annotations

import os
import time
from dataclasses import replace

import numpy as np
from numba import njit, prange

from bench.freeze_case import SIDES_MM, ring_flask
from bench.freeze_peers import PeerRun, fipy_newton, plain_law, sparse_newton
from pourwright.physics.freeze.backend import Backend, processor
from pourwright.physics.freeze.problem import ContactLaw, FreezeProblem, Kind, MouldLaw, TimeControl, WholeCells
from pourwright.physics.freeze.solver import solve

BOX_MM = (36.0, 20.0, 40.0)
# Cells in all, and about how many steps a peer takes where it does not run to the end.
SIZES = ((0.05e6, None), (0.14e6, 12), (0.35e6, 6))
LONG = bool(os.environ.get("FREEZE_LONG"))


def problem(cells_count: float) -> FreezeProblem:
    """A ring of 2 mm wire on a sprue with a button, in even cells."""
    side_mm = (np.prod(BOX_MM) / cells_count) ** (1 / 3)
    counts = [round(one / side_mm) for one in BOX_MM]
    edges = [np.linspace(0, one, count + 1) for one, count in zip(BOX_MM, counts, strict=True)]
    x, y, z = np.meshgrid(*((one[1:] + one[:-1]) / 2 for one in edges), indexing="ij")
    x, y = x - BOX_MM[0] / 2, y - BOX_MM[1] / 2
    ring = (np.hypot(x, z - 24.0) - 9.0) ** 2 + y**2 < 1.3**2
    sprue = (np.hypot(x, y) < 1.6) & (z > 6.0) & (z < 15.2)
    button = (np.hypot(x, y) < 6.0) & (z > 2.0) & (z <= 6.0)
    kind = np.where(ring | sprue | button, Kind.METAL, Kind.MOULD).astype(np.uint8)
    return FreezeProblem(
        WholeCells(tuple(1e-3 * one for one in edges), kind), plain_law(), MouldLaw.constant(0.4, 1.4e6),
        ContactLaw.constant(2000.0), np.array(1253.15), 773.15, time=TimeControl(growth_ratio=0.05, tolerance_K=1e-2),
    )  # fmt: skip


def _ours(posed: FreezeProblem):
    solve(posed)  # compiles
    times = []
    for _ in range(3):
        began = time.perf_counter()
        found = solve(posed)
        times.append(time.perf_counter() - began)
    return found, float(np.median(times))


def _apart_percent(peer: PeerRun, ours: np.ndarray) -> float:
    both = np.isfinite(peer.freeze_s) & np.isfinite(ours)
    return 100 * float(np.linalg.norm((peer.freeze_s - ours)[both]) / np.linalg.norm(ours[both]))


@njit(parallel=True)
def _triad(out, one, other):
    for i in prange(len(out)):
        out[i] = one[i] + np.float32(0.5) * other[i]


def bandwidth_GB_s() -> float:
    """The best rate at which the machine adds two long arrays into a third, on all threads."""
    out, one, other = (np.ones(20_000_000, np.float32) for _ in range(3))
    _triad(out, one, other)
    times = []
    for _ in range(10):
        began = time.perf_counter()
        _triad(out, one, other)
        times.append(time.perf_counter() - began)
    return 12e-9 * len(out) / min(times)


class SweepMeter:
    """Bytes that the sweeps must move at least, and the time they take."""

    def __init__(self) -> None:
        self.moved_bytes, self.seconds = 0.0, 0.0

    def machine(self) -> Backend:
        """The processor, with its sweeps metered."""
        plain = processor()

        def slope(start, *rest):
            self._timed(9, start.size, plain.sweep_slope, start, *rest)

        def stage(number, last, curved, start, *rest):
            read = {2: 9, 3: 13}.get(number, 17) + 4 * (last or curved)
            self._timed(read, start.size, plain.sweep_stage, number, last, curved, start, *rest)

        return replace(plain, sweep_slope=slope, sweep_stage=stage)

    def _timed(self, bytes_a_cell: int, cells: int, kernel, *arguments) -> None:
        began = time.perf_counter()
        kernel(*arguments)
        self.seconds += time.perf_counter() - began
        self.moved_bytes += bytes_a_cell * cells


def main() -> None:
    best_GB_s = bandwidth_GB_s()
    print(f"measured bandwidth: {best_GB_s:.0f} GB/s")
    _growth(best_GB_s, (0.14, 1.0, 3.6, 8.0) if LONG else (0.14, 1.0))
    for cells_count, most_steps in SIZES:
        posed = problem(cells_count)
        found, seconds = _ours(posed)
        many = posed.cells.kind.size
        print(f"{many / 1e6:.2f} million whole cells, {len(found.freeze_s)} of metal: ours {seconds:.2f} s,", end=" ")
        print(f"{found.effort.steps_count} steps, {found.effort.array_bytes_count / many:.0f} bytes a cell")
        for name, peer in (("sparse Newton", sparse_newton), ("finite-volume library", fipy_newton)):
            _beside(name, peer(posed, None if LONG else most_steps), found, seconds)


def _beside(name: str, run: PeerRun, found, seconds: float) -> None:
    whole = np.isfinite(run.freeze_s).all()
    total = run.seconds if whole else run.seconds / run.steps_count * found.effort.steps_count
    apart = f"{_apart_percent(run, found.freeze_s):.2f} % apart" if whole else "reckoned from its first steps"
    print(f"  {name}: {total / seconds:.0f} times as long; {apart};", end=" ")
    print(f"{run.corrections_count / run.steps_count:.1f} corrections a step")


def _growth(best_GB_s: float, millions: tuple[float, ...]) -> None:
    """Our own time over the number of cells of a ring's whole flask, and the exponent through it."""
    counts, times = [], []
    for million in millions:
        posed, meter = ring_flask(SIDES_MM[million]), SweepMeter()
        found, seconds = _ours(posed)
        solve(posed, machine=meter.machine())
        effort = found.effort
        counts.append(effort.cells_count)
        times.append(seconds)
        print(f"{effort.cells_count / 1e6:.2f} million cells of a flask, {len(found.freeze_s)} with metal:", end=" ")
        print(f"{seconds:.2f} s, {effort.steps_count} steps, {effort.stages_count} stages,", end=" ")
        print(f"{effort.cg_count} cycles,", end=" ")
        print(f"{effort.array_bytes_count / effort.cells_count:.0f} bytes a cell,", end=" ")
        print(f"swept at {100e-9 * meter.moved_bytes / meter.seconds / best_GB_s:.0f} % of the bandwidth;", end=" ")
        print(f"all heat but {found.heat.error_frac:.0e} of the metal's booked")
    print(f"time grows with cells to the power {np.polyfit(np.log(counts), np.log(times), 1)[0]:.2f}")


if __name__ == "__main__":
    main()
