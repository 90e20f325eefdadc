"""Small hollows for filling: boxes on the arm, laid out as voxels, with exact walls. All SI."""

from dataclasses import replace

import numpy as np

from pourwright.physics.fill.cavity import find_neighbours, touching_sprue
from pourwright.physics.fill.problem import (
    Cavity,
    FillProblem,
    Gate,
    Melt,
    MouldWall,
    Sprue,
    Supply,
    steady_spin,
)

# Round numbers from memory for a silver alloy; the arithmetic of the tests does not rest on them.
MELT = Melt(
    pour_K=1240.0,
    temp_K=np.array([900.0, 1075.0, 1170.0, 1400.0]),
    enthalpy_J_m3=9100.0 * np.array([0.0, 49_000.0, 49_000.0 + 105e3 + 29_000.0, 49_000.0 + 134e3 + 71_300.0]),
    solid_frac=np.array([1.0, 1.0, 0.0, 0.0]),
    density_kg_m3=9100.0,
    surface_tension_N_m=0.95,
    contact_deg=140.0,
    viscosity_Pa_s=0.004,
    stop_frac=0.3,
)
MOULD = MouldWall(
    temp_K=773.0, conductivity_W_mK=0.4, heat_capacity_J_m3K=1.225e6, contact_W_m2K=1500.0,
    permeability_m2=3e-14, gas_viscosity_Pa_s=3.9e-5, porosity_frac=0.5,
)  # fmt: skip


def boxes(side_m, parts, names=None, vent_m=0.015, walled=(0, 1, 2)):
    """Return a hollow of boxes: ``parts`` are (tank, low corner, high corner) along, across, up [m].

    Where boxes overlap the last has its way. ``walled`` are the axes along which mould is met; across the others the
    hollow is a slice out of something that goes on.
    """
    low = np.min([part[1] for part in parts], axis=0)
    high = np.max([part[2] for part in parts], axis=0)
    shape = np.rint((high - low) / side_m).astype(int)
    tank = np.full(shape, -1)
    for number, corner, far in parts:
        first = np.rint((np.asarray(corner) - low) / side_m).astype(int)
        last = np.rint((np.asarray(far) - low) / side_m).astype(int)
        tank[tuple(slice(a, b) for a, b in zip(first, last, strict=True))] = number
    cell = np.argwhere(tank >= 0)
    of_cell = tank[tuple(cell.T)].astype(np.int32)
    neighbours = find_neighbours(cell)
    columns = [2 * axis + end for axis in walled for end in (0, 1)]
    wall_m2 = (neighbours[:, columns] < 0).sum(axis=1) * side_m**2
    modulus_m = np.array([_modulus(parts, number, walled) for number in range(of_cell.max() + 1)])[of_cell]
    place_m = low + (cell + 0.5) * side_m
    sprue = np.flatnonzero(of_cell == 0)
    inlet = sprue[place_m[sprue, 0] < place_m[sprue, 0].min() + 0.5 * side_m].astype(np.int32)
    names = names or ("sprue", *(f"piece-{one}" for one in range(1, of_cell.max() + 1)))
    return Cavity(place_m, side_m, neighbours, np.full(len(cell), side_m**3), wall_m2, modulus_m,
                  np.full(len(cell), vent_m), of_cell, names, inlet)  # fmt: skip


def _modulus(parts, number, walled):
    """Half the thickness of the last box of a tank, over how many of its sides are near each other."""
    low, high = next((a, b) for tank, a, b in reversed(parts) if tank == number)
    sides = (np.asarray(high) - np.asarray(low))[list(walled)]
    return 1 / sum(2 / side for side in sides)


def gate_of(cavity, tank, area_m2, length_m=0.0, discharge_ratio=0.61):
    """Return the gate of a tank where it touches the sprue."""
    voxels = touching_sprue(cavity, tank)
    beside = cavity.neighbours[voxels]
    beside = beside[(beside >= 0) & (cavity.tank[np.maximum(beside, 0)] == 0)]
    return Gate(tank, voxels, area_m2, length_m, cavity.place_m[beside].mean(axis=0), discharge_ratio)


def comb(side_m=0.5e-3, thick_m=1e-3, charge_m3=4e-6, pieces=2):
    """Return a sprue of 4 mm with plates to both sides: far ones first, then near ones. From r = 0.16 to 0.20 m."""
    parts = [(0, (0.160, -0.002, -0.002), (0.200, 0.002, 0.002))]
    for number in range(pieces):
        out = 0.194 - 0.014 * (number // 2)
        left = number % 2 == 0
        near, far = (0.002, 0.014) if left else (-0.014, -0.002)
        parts.append((number + 1, (out - 0.006, near, -thick_m / 2), (out + 0.004, far, thick_m / 2)))
    cavity = boxes(side_m, parts)
    gates = tuple(gate_of(cavity, number + 1, 2e-3 * thick_m) for number in range(pieces))
    supply = Supply(charge_m3, np.array([0.130, 0, 0]), np.array([0.150, 0, 0]), 12e-6, np.array([0.155, 0, 0]))
    return FillProblem(cavity, gates, Sprue(16e-6, 4e-3), supply, steady_spin(25.0, 0.0), MELT, MOULD)


def changed(problem, **parts):
    """Return a problem with fields of its parts changed: ``mould={"temp_K": 800.0}``."""
    return replace(problem, **{name: replace(getattr(problem, name), **fields) for name, fields in parts.items()})
