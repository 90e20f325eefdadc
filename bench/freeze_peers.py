"""The freezing problem by other means: a plain assembled sparse Newton, and a general library of finite volumes.

Both solve the same whole cells with the same laws, contact and rule for the step as our engine, one implicit Euler
step at a time: the enthalpy form ``V (H - H_old) / dt = sum of g (T_other - T)``, corrected until the largest
change is under 2 percent of a kelvin. Nothing leaves the box.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csr_matrix, diags
from scipy.sparse.linalg import LinearOperator, cg

from pourwright.physics.freeze.problem import FreezeProblem, Kind, MetalLaw, WholeCells

Floats = NDArray[np.float64]
# How sharply a step is solved [K], and how sharply each linear system inside it.
_SETTLED_K, _LINEAR = 2e-2, 1e-6
_MOST_CORRECTIONS = 40


@dataclass(frozen=True)
class PeerRun:
    """What a peer found: freezing times [s] of metal cells in the order of the grid (not a number: not reached)."""

    freeze_s: Floats
    steps_count: int
    corrections_count: int
    seconds: float


class Cells:
    """State and laws of all cells of a box, flat in the order of the grid."""

    def __init__(self, problem: FreezeProblem) -> None:
        assert isinstance(problem.cells, WholeCells)
        self.problem, self.metal_law = problem, problem.metal
        kind = problem.cells.kind
        self.shape, self.is_metal = kind.shape, (kind == Kind.METAL).ravel()
        self.sides = [np.diff(one) for one in problem.cells.edges_m]
        self.volume = np.einsum("i,j,k->ijk", *self.sides).ravel()
        self.capacity_mould = float(problem.mould.heat_capacity_J_m3K[0])
        start_K = np.where(self.is_metal, float(problem.metal_start_K), problem.mould_start_K)
        self.heat = self.capacity_mould * start_K
        self.heat[self.is_metal] = self.metal_law.enthalpy_at_J_m3(start_K[self.is_metal])
        self.solid_J_m3 = float(self.metal_law.enthalpy_at_J_m3(np.array(self.metal_law.solidus_K)))

    def state(self, heat: Floats) -> tuple[Floats, Floats]:
        """Temperature and heat capacity of each cell."""
        temp_K, capacity = heat / self.capacity_mould, np.full(len(heat), self.capacity_mould)
        law, held = self.metal_law, heat[self.is_metal]
        piece = np.clip(np.searchsorted(law.enthalpy_J_m3, held, side="right") - 1, 0, len(law.temp_K) - 2)
        slope = (np.diff(law.enthalpy_J_m3) / np.diff(law.temp_K))[piece]
        temp_K[self.is_metal] = law.temp_K[piece] + (held - law.enthalpy_J_m3[piece]) / slope
        capacity[self.is_metal] = slope
        return temp_K, capacity

    def conductivity(self, temp_K: Floats) -> Floats:
        mould = float(self.problem.mould.conductivity_W_mK[0])
        metal = np.interp(temp_K, self.metal_law.temp_K, self.metal_law.conductivity_W_mK)
        return np.where(self.is_metal, metal, mould)

    def faces(self, conductivity: Floats) -> list[tuple[NDArray[np.intp], NDArray[np.intp], Floats]]:
        """Lower and higher cell of each face along each axis, and its conductance [W/K]."""
        number = np.arange(len(conductivity)).reshape(self.shape)
        return [self._along(number, axis, conductivity) for axis in range(3)]

    def _along(self, number, axis: int, conductivity: Floats):
        count = self.shape[axis]
        low = np.take(number, range(count - 1), axis).ravel()
        high = np.take(number, range(1, count), axis).ravel()
        half = (
            0.5
            * np.broadcast_to(self.sides[axis].reshape([-1 if k == axis else 1 for k in range(3)]), self.shape).ravel()
        )
        area = (self.volume / (2 * half))[low]
        contact = float(self.problem.contact.coefficient_W_m2K[0])
        gap = np.where(self.is_metal[low] != self.is_metal[high], 1.0 / contact, 0.0)
        return low, high, area / (half[low] / conductivity[low] + gap + half[high] / conductivity[high])


def _matrix(cells: Cells, temp_K: Floats) -> csr_matrix:
    parts = cells.faces(cells.conductivity(temp_K))
    low, high, g = (np.concatenate([one[k] for one in parts]) for k in range(3))
    size = len(temp_K)
    off = coo_matrix(
        (np.concatenate([-g, -g]), (np.concatenate([low, high]), np.concatenate([high, low]))), (size, size)
    )
    return (off + diags(np.bincount(low, g, size) + np.bincount(high, g, size))).tocsr()


def _march(problem: FreezeProblem, most_steps: int | None, correct) -> PeerRun:
    """Take implicit steps by our rule; ``correct(cells, old, step)`` returns the new heat and how many corrections."""
    cells, control = Cells(problem), problem.time
    freeze = np.full(len(cells.heat), np.nan)
    now, steps, corrections, began = 0.0, 0, 0, time.perf_counter()
    while np.isnan(freeze[cells.is_metal]).any() and steps != most_steps:
        step = min(max(control.growth_ratio * now, control.step_min_s), control.step_max_s)
        old = cells.heat
        cells.heat, count = correct(cells, old, step)
        crossed = np.isnan(freeze) & cells.is_metal & (cells.heat <= cells.solid_J_m3)
        freeze[crossed] = now + step * (old[crossed] - cells.solid_J_m3) / (old[crossed] - cells.heat[crossed])
        now, steps, corrections = now + step, steps + 1, corrections + count
    return PeerRun(freeze[cells.is_metal], steps, corrections, time.perf_counter() - began)


def sparse_newton(problem: FreezeProblem, most_steps: int | None = None) -> PeerRun:
    """The whole box as one sparse matrix, assembled anew each step; conjugate gradients with the diagonal in front."""

    def correct(cells: Cells, old: Floats, step: float) -> tuple[Floats, int]:
        heat, (temp_K, _) = old.copy(), cells.state(old)
        stiff = _matrix(cells, temp_K)
        count, moved_K = 0, np.inf
        while moved_K >= _SETTLED_K and count < _MOST_CORRECTIONS:
            temp_K, capacity = cells.state(heat)
            matrix = stiff + diags(cells.volume * capacity / step)
            wrong = cells.volume * (old - heat) / step - stiff @ temp_K
            diagonal = matrix.diagonal()
            front = LinearOperator(matrix.shape, matvec=diagonal.__rtruediv__)
            move, _ = cg(matrix, wrong, rtol=_LINEAR, M=front)
            heat = heat + capacity * move
            count, moved_K = count + 1, float(np.max(np.abs(move)))
        return heat, count

    return _march(problem, most_steps, correct)


def fipy_newton(problem: FreezeProblem, most_steps: int | None = None) -> PeerRun:
    """The same corrections posed as terms of a general finite-volume library (its solver: conjugate gradients)."""
    from fipy import CellVariable, DiffusionTerm, FaceVariable, Grid3D, ImplicitSourceTerm
    from fipy.solvers.scipy import LinearPCGSolver

    sides = [np.diff(one) for one in problem.cells.edges_m]
    mesh = Grid3D(dx=sides[0], dy=sides[1], dz=sides[2])
    # the library counts cells along x first, we along z
    order = np.arange(len(mesh.cellVolumes)).reshape(problem.cells.kind.shape[::-1]).transpose(2, 1, 0).ravel()
    there = np.empty_like(order)
    there[order] = np.arange(len(order))
    solver = LinearPCGSolver(tolerance=_LINEAR, iterations=2000)
    inner = ~np.asarray(mesh.exteriorFaces)
    first, second = (np.ma.filled(np.ma.asarray(each), 0) for each in mesh.faceCellIDs)

    def spread(cells: Cells, temp_K: Floats) -> FaceVariable:
        """Conductivity of each face such that its flow is ours."""
        k = cells.conductivity(temp_K)[there]
        metal = cells.is_metal[there]
        near, far = np.asarray(mesh._faceToCellDistances)[0], np.asarray(mesh._cellDistances)
        beyond = np.maximum(far - near, 1e-12)
        contact = float(problem.contact.coefficient_W_m2K[0])
        gap = np.where(metal[first] != metal[second], 1.0 / contact, 0.0)
        value = np.where(inner, far / (near / k[first] + gap + beyond / k[second]), 0.0)
        return FaceVariable(mesh=mesh, value=value)

    def correct(cells: Cells, old: Floats, step: float) -> tuple[Floats, int]:
        heat, (temp_K, _) = old.copy(), cells.state(old)
        across = spread(cells, temp_K)
        count, moved_K = 0, np.inf
        while moved_K >= _SETTLED_K and count < _MOST_CORRECTIONS:
            temp_K, capacity = cells.state(heat)
            field = CellVariable(mesh=mesh, value=temp_K[there])
            wrong = CellVariable(mesh=mesh, value=((old - heat) / step)[there]) + (across * field.faceGrad).divergence
            move = CellVariable(mesh=mesh, value=0.0)
            held = CellVariable(mesh=mesh, value=capacity[there] / step)
            (ImplicitSourceTerm(coeff=held) - DiffusionTerm(coeff=across) == wrong).solve(var=move, solver=solver)
            moved = np.asarray(move.value)[order]
            heat = heat + capacity * moved
            count, moved_K = count + 1, float(np.max(np.abs(moved)))
        return heat, count

    return _march(problem, most_steps, correct)


def plain_law() -> MetalLaw:
    """Round figures of a silver alloy with a mushy range and an eutectic spread over two kelvin."""
    knots, freed = np.array([300.0, 1051.15, 1053.15, 1170.15, 2000.0]), 9.3e8 * np.array([0, 0, 0.1135, 1.0, 1.0])
    solid = np.array([1.0, 1.0, 0.8865, 0.0, 0.0])
    return MetalLaw(knots, 2.79e6 * knots + freed, solid, np.array([340.0, 340.0, 300.0, 175.0, 175.0]))
