"""Filling a tree: first pass and what-ifs as the grid grows, and the flood beside one in plain Python. Ratios matter.

Seconds are of the processor: one thread does it all, so that a quiet machine takes as long by the clock.
``FILL_LONG=1`` adds the finest grid.
"""

from __future__ import annotations

import heapq
import os
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from tests.small_moulds import MELT, MOULD, gate_of

from pourwright.physics.fill.cavity import find_neighbours
from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.floods import Pull, flood_tank
from pourwright.physics.fill.problem import Cavity, Drive, FillProblem, Sprue, Supply
from pourwright.physics.fill.ways import lay_ways

BOX_M = 0.040
FOOT_M = 0.10  # of the flask's mouth beyond the hinge
LONG = bool(os.environ.get("FILL_LONG"))


def _tank_of(x, y, z):
    """Return the tank at places of a tree in a box: a sprue, and eight rings with a plate each on gates around it."""
    tank = np.full(np.broadcast(x, y, z).shape, -1, np.int32)
    for number in range(8):
        angle, out = number * np.pi / 2 + np.pi / 4, 0.012 if number < 4 else 0.030
        u, v = x * np.cos(angle) + y * np.sin(angle), -x * np.sin(angle) + y * np.cos(angle)
        round_m = np.hypot(u - 0.0113, z - out)
        ring = np.hypot(round_m - 0.0062, v) < 0.0009
        plate = (np.abs(u - 0.0113) < 0.0058) & (np.abs(z - out) < 0.0035) & (np.abs(v) < 0.0005) & (round_m < 0.0062)
        gate = (np.hypot(v, z - out) < 0.0011) & (u > 0.0015) & (u < 0.0055)
        tank[ring | plate | gate] = number + 1
    tank[(np.hypot(x, y) < 0.0025) & (z < 0.036)] = 0
    tank[(np.hypot(x, y) < 0.008) & (z < 0.004)] = 0
    return tank


def problem(cells_count: int) -> FillProblem:
    """A tree in a box of so many cells along each side."""
    side_m = BOX_M / cells_count
    line = (np.arange(cells_count) + 0.5) * side_m
    tank = np.concatenate([
        _tank_of(line[None, :, None] - BOX_M / 2, line[None, None, :] - BOX_M / 2, plane[:, None, None])
        for plane in np.array_split(line, 16)
    ])  # fmt: skip
    cell = np.argwhere(tank >= 0)
    of_cell = tank[tuple(cell.T)]
    neighbours = find_neighbours(cell)
    place_m = (cell + 0.5) * side_m + [FOOT_M, -BOX_M / 2, -BOX_M / 2]
    wall_m2 = (neighbours < 0).sum(axis=1) * side_m**2 / 1.5
    thin_m = np.where(of_cell == 0, 1.2e-3, 0.45e-3)
    inlet = np.flatnonzero((cell[:, 0] == 0) & (np.hypot(place_m[:, 1], place_m[:, 2]) < 0.0025)).astype(np.int32)
    names = ("sprue", *(f"ring-{number}" for number in range(8)))
    cavity = Cavity(place_m, side_m, neighbours, np.full(len(cell), side_m**3), wall_m2, thin_m,
                    np.full(len(cell), 0.015), of_cell, names, inlet)  # fmt: skip
    gates = tuple(gate_of(cavity, number, 3.8e-6, 3e-3) for number in range(1, 9))
    supply = Supply(8e-6, np.array([0.065, 0, 0]), np.array([0.085, 0, 0]), 3e-5, np.array([0.09, 0, 0]), 0.7, 0.01)
    return FillProblem(cavity, gates, Sprue(2e-5, 5e-3), supply, winding_up(22.0), MELT, MOULD)


def winding_up(peak_rad_s: float) -> Drive:
    """An arm that is straight and speeds up to its peak in a second."""
    time_s = np.linspace(0, 3, 301)
    turning = peak_rad_s * np.sin(np.pi / 2 * np.minimum(time_s, 1.0))
    still = np.zeros_like(time_s)
    return Drive(time_s, 0.1 * turning**2, still, turning, np.gradient(turning, time_s), still)


def plain_flood(seeds, mine, neighbours, height):
    """The order of filling with Python's own heap: what the compiled pass must be worth."""
    heap = [(height[one], one) for one in seeds]
    seen, order = set(seeds), []
    heapq.heapify(heap)
    while heap:
        _, voxel = heapq.heappop(heap)
        order.append(voxel)
        for other in neighbours[voxel]:
            if other >= 0 and mine[other] and other not in seen:
                seen.add(other)
                heapq.heappush(heap, (height[other], other))
    return order


def _seconds(work: Callable[[], object], repeats: int = 3) -> float:
    times = []
    for _ in range(repeats):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return float(np.median(times))


def _against_plain(posed: FillProblem) -> None:
    cavity, ways = posed.cavity, lay_ways(posed.cavity, posed.gates)
    mine, height = cavity.tank == 0, -cavity.place_m[:, 0]
    start = [int(np.argmin(np.where(mine, height, np.inf)))]
    plain_s = _seconds(lambda: plain_flood(start, mine.tolist(), cavity.neighbours.tolist(), height.tolist()))
    pull = Pull((33, 0, 0, 0))
    ours_s = _seconds(lambda: flood_tank(cavity, 0, cavity.inlet, ways.tanks[0].order, pull))
    print(f"  flood of the sprue, {int(mine.sum()):,} voxels: plain Python takes {plain_s / ours_s:.0f} times as long")


def main() -> None:
    fill(problem(48))  # compiles
    for cells_count in (64, 128, 256, *((384,) if LONG else ())):
        posed = problem(cells_count)
        count = posed.cavity.count
        laid = lay_ways(posed.cavity, posed.gates)
        first_s = _seconds(lambda posed=posed: fill(posed), 1)
        fill(posed, laid)
        hotter = replace(posed, mould=replace(MOULD, temp_K=800.0))
        faster = replace(posed, drive=winding_up(24.0))
        heat_s = _seconds(lambda laid=laid, hotter=hotter: fill(hotter, laid))
        turns_s = _seconds(lambda laid=laid, faster=faster: fill(faster, laid), 1)
        again_s = _seconds(lambda laid=laid, faster=faster: fill(faster, laid))
        found = fill(posed, laid)
        each_ns = 1e9 * first_s / count
        print(f"  {cells_count:3d}^3 {count:9,d} voxels: first pass {first_s:6.3f} s, {each_ns:5.0f} ns each")
        print(f"        other temperature {heat_s:6.3f} s, other turns {turns_s:6.3f} s, asked again {again_s:6.3f} s")
        print(f"        full at {found.last_s:.3f} s, {found.passes_count} floods")
        if cells_count == 128:
            _against_plain(posed)


if __name__ == "__main__":
    main()
