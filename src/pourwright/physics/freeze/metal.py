"""The nodes: metal with its heat of fusion, and mould too quick for sweeping, solved together step by step.

Backward Euler in the heat E of each node: (E - E_n) / dt = flows from links, faces and air at the new temperatures.
Newton's corrections solve (C / dt + K) dT = imbalance with C = dE/dT at the heat reached, then E += C dT and T = T(E).
What imbalance is left at the end is added to E: the books close to rounding whatever the tolerances.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze import _kernels
from pourwright.physics.freeze.mould import MouldTables
from pourwright.physics.freeze.multigrid import Levels, Workspace
from pourwright.physics.freeze.network import Nodes
from pourwright.physics.freeze.problem import Floats, FreezeProblem, MetalLaw, Surroundings

STEFAN_BOLTZMANN_W_m2K4 = 5.670374419e-8  # exact by the definition of the units (CODATA 2018)
# Knots are carried on so far beyond the metal's law, in a straight line.
_BEYOND_K = 1500.0
# First part of a step, 1 - 1/sqrt(2): with it the two-part step is of second order and damps whatever is quick.
PART = 1 - sqrt(0.5)


@dataclass(frozen=True, eq=False)
class NodeTables:
    """Laws of the nodes as arrays.

    Parameters
    ----------
    knots_K, heat_J_m3, solid_frac, k_W_mK : arrays
        The metal's law, carried on at both ends.
    contact_frac, contact_W_m2K : arrays
        The contact's law.
    other_J_K : array, shape (n,)
        Heat capacity that goes with each node besides its law [J/K].
    outside : array, shape (3, 2)
        Flask's side, flask's end, button: convection [W/m**2/K], emissivity times Stefan's number [W/m**2/K**4].
    """

    knots_K: Floats
    heat_J_m3: Floats
    solid_frac: Floats
    k_W_mK: Floats
    contact_frac: Floats
    contact_W_m2K: Floats
    other_J_K: Floats
    outside: NDArray[Any]
    ambient_K: float


def node_tables(problem: FreezeProblem, nodes: Nodes) -> NodeTables:
    """Return the laws of the nodes of a problem."""
    metal = problem.metal
    knots_K = np.concatenate(([metal.temp_K[0] - _BEYOND_K], metal.temp_K, [metal.temp_K[-1] + _BEYOND_K]))
    heat_J_m3 = metal.enthalpy_at_J_m3(knots_K)
    return NodeTables(
        knots_K, heat_J_m3, np.interp(knots_K, metal.temp_K, metal.solid_frac),
        np.interp(knots_K, metal.temp_K, metal.conductivity_W_mK), problem.contact.solid_frac,
        problem.contact.coefficient_W_m2K, _other_J_K(problem, nodes), outside_table(problem.surroundings),
        problem.surroundings.ambient_K,
    )  # fmt: skip


def _other_J_K(problem: FreezeProblem, nodes: Nodes) -> Floats:
    """Return the heat capacity of mould that goes with metal, at the melting range, and of steel at the start [J/K]."""
    middle_K = (problem.metal.solidus_K + problem.metal.liquidus_K) / 2
    mould = float(np.interp(middle_K, problem.mould.temp_K, problem.mould.heat_capacity_J_m3K))
    other_J_K = nodes.skin_m3 * mould
    if problem.shell is not None:
        law = problem.shell.law
        other_J_K += nodes.steel_m3 * float(np.interp(problem.mould_start_K, law.temp_K, law.heat_capacity_J_m3K))
    return other_J_K


def outside_table(surroundings: Surroundings) -> Floats:
    """Return convection [W/m2/K] and emissivity times Stefan's number, of the flask's side and ends and the button."""
    flask = (surroundings.convection_W_m2K, surroundings.flask_emissivity_frac * STEFAN_BOLTZMANN_W_m2K4)
    button = (surroundings.button_convection_W_m2K, surroundings.button_emissivity_frac * STEFAN_BOLTZMANN_W_m2K4)
    return np.array((flask, flask, button))


@dataclass(eq=False)
class NodeField:
    """State of the nodes between steps, and work space.

    Parameters
    ----------
    heat_J, temp_K : arrays, shape (n,)
        Now.
    before_J, before_K : arrays, shape (n,)
        A step ago.
    """

    heat_J: Floats
    temp_K: Floats
    before_J: Floats
    before_K: Floats
    capacity_J_K: Floats
    settled_K: Floats
    mean_K: Floats
    held_K: Floats
    k_W_mK: Floats
    h_W_m2K: Floats
    u_K: Floats
    source_W: Floats
    sink_W_K: Floats


def start_nodes(problem: FreezeProblem, nodes: Nodes, tables: NodeTables, mould: MouldTables) -> NodeField:
    """Return the nodes at the start: metal at its own temperature, all else at the mould's."""
    many, metals = len(nodes.m3), nodes.metals_count
    temp_K = np.full(many, float(problem.mould_start_K))
    temp_K[:metals] = problem.metal_start_K
    heat_J = np.zeros(many)
    bare = np.zeros(many)
    _kernels.node_heat(
        metals, temp_K, nodes.m3, bare, tables.knots_K, tables.heat_J_m3, mould.heat_by_temp_J_m3, mould.low_K,
        mould.per_K_ratio, heat_J,
    )  # fmt: skip
    heat_J += tables.other_J_K * problem.mould_start_K
    field = NodeField(heat_J, temp_K, heat_J.copy(), temp_K.copy(), *(np.zeros(many) for _ in range(9)))
    look_up(field, nodes, tables, mould)
    field.before_K[:] = field.temp_K
    return field


def look_up(field: NodeField, nodes: Nodes, tables: NodeTables, mould: MouldTables) -> None:
    """Set temperatures and capacities from the heats."""
    _kernels.node_temps(
        nodes.metals_count, field.heat_J, nodes.m3, tables.other_J_K, tables.knots_K, tables.heat_J_m3,
        mould.heat_by_temp_J_m3, mould.low_K, mould.per_K_ratio, field.temp_K, field.capacity_J_K,
    )  # fmt: skip


def set_laws(field: NodeField, nodes: Nodes, tables: NodeTables, mould: MouldTables) -> None:
    """Set conductivity, contact and u of the nodes for the step to come."""
    _kernels.node_laws(
        nodes.metals_count, field.held_K, tables.knots_K, tables.solid_frac, tables.k_W_mK, tables.contact_frac,
        tables.contact_W_m2K, mould.k_by_temp_W_mK, mould.u_by_temp_K, mould.low_K, mould.per_K_ratio, field.k_W_mK,
        field.h_W_m2K, field.u_K, field.held_K,
    )  # fmt: skip


def take_step(
    field: NodeField,
    nodes: Nodes,
    tables: NodeTables,
    mould: MouldTables,
    levels: Levels,
    work: Workspace,
    step_s: float,
    last_step_s: float,
    tolerance_K: float,
    most_count: int,
    counts: NDArray[np.int64],
) -> tuple[float, float]:
    """Take all nodes one step; return the heat lost at bare faces [J] and the last correction [K].

    The guess carries the last step's gain of heat on. ``field.source_W`` and ``field.sink_W_K`` hold what comes through
    the faces; ``before`` holds the start of the step afterwards.
    """
    _kernels.link_values(
        nodes.one, nodes.other, nodes.kind, nodes.size, nodes.one_m, nodes.other_m, field.k_W_mK, field.h_W_m2K,
        work.passes_W_K,
    )  # fmt: skip
    _kernels.spread_paths(
        levels.links_count,
        work.passes_W_K,
        levels.parent_link,
        levels.first,
        levels.link,
        work.value_W_K,
        work.leaving_W_K,
    )
    air_W_K = np.zeros(len(nodes.air_node))
    _kernels.air_of_nodes(
        nodes.air_node, nodes.air_m2, nodes.air_m, field.held_K, field.k_W_mK, tables.ambient_K, tables.outside,
        nodes.air_side, air_W_K,
    )  # fmt: skip
    np.add.at(field.sink_W_K, nodes.air_node, air_W_K)
    np.add.at(field.source_W, nodes.air_node, air_W_K * tables.ambient_K)
    begun_J, begun_K = field.heat_J, field.temp_K
    gain_J, gain_K = (begun_J - field.before_J) / last_step_s, (begun_K - field.before_K) / last_step_s
    first_s = PART * step_s

    def solve(from_J: Floats, guess_J: Floats, guess_K: Floats) -> float:
        field.heat_J, field.temp_K = guess_J, guess_K
        return float(_kernels.step_nodes(
            nodes.metals_count, from_J, field.heat_J, field.temp_K, nodes.m3, tables.other_J_K, nodes.heir,
            tables.knots_K, tables.heat_J_m3, mould.heat_by_temp_J_m3, mould.low_K, mould.per_K_ratio, field.source_W,
            field.sink_W_K, first_s, levels.level, levels.lump, levels.child_first, levels.child, levels.first,
            levels.beside, work.value_W_K, work.leaving_W_K, work.mass_W_K, work.diagonal_W_K, work.inverse_K_W,
            work.factor_W_K,
            work.miss_W, work.change_K, work.cycle_K, work.search_K, work.along_W, work.work_K, field.capacity_J_K,
            field.settled_K, tolerance_K, most_count, counts,
        ))  # fmt: skip

    solve(begun_J, begun_J + gain_J * first_s, begun_K + gain_K * first_s)
    part_J, part_K = field.heat_J, field.temp_K
    field.mean_K[:] = (1 - PART) * field.settled_K
    rate_J, rate_K = (part_J - begun_J) / first_s, (part_K - begun_K) / first_s
    last_K = solve(begun_J + rate_J * (step_s - first_s), begun_J + rate_J * step_s, begun_K + rate_K * step_s)
    field.mean_K += PART * field.settled_K
    field.before_J, field.before_K = begun_J, begun_K
    lost_J = step_s * float(np.dot(air_W_K, field.mean_K[nodes.air_node] - tables.ambient_K))
    return lost_J, last_K


def solid_of(metal: MetalLaw, temp_K: Floats) -> Floats:
    """Return the share of solid at temperatures [K]."""
    return np.interp(temp_K, metal.temp_K, metal.solid_frac)
