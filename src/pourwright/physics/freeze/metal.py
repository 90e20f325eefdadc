"""The nodes: metal with its heat of fusion, and mould too quick for sweeping, solved together step by step.

Backward Euler in the heat E of each node: (E - E_n) / dt = flows from links, faces and air at the new temperatures.
Newton's corrections solve (C / dt + K) dT = imbalance with C = dE/dT at the heat reached, then E += C dT and T = T(E).
What imbalance is left at the end is added to E: the books close to rounding whatever the tolerances.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from math import sqrt
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.freeze.backend import Backend, placed
from pourwright.physics.freeze.lists import Nodes
from pourwright.physics.freeze.mould import MouldTables
from pourwright.physics.freeze.multigrid import Levels, Lists, Workspace
from pourwright.physics.freeze.problem import Floats, FreezeProblem, MetalLaw, Surroundings, TimeControl

STEFAN_BOLTZMANN_W_m2K4 = 5.670374419e-8  # exact by the definition of the units (CODATA 2018)
# Corrections whose surprise is kept from one step to the next.
_FORESEEN = 4
# Knots are carried on so far beyond the metal's law, in a straight line.
_BEYOND_K = 1500.0
# First part of a step, 1 - 1/sqrt(2): with it the two-part step is of second order and damps whatever is quick.
PART = 1 - sqrt(0.5)


class Laws(NamedTuple):
    """Laws of the nodes, metal first, as arrays.

    Parameters
    ----------
    metals_count : int
        How many nodes are metal.
    m3 : array, shape (n,)
        Volume that follows the law of the node's material [m**3].
    other_J_K : array, shape (n,)
        Heat capacity that goes with each node besides its law [J/K].
    heir : array, shape (n,)
        Who takes what imbalance is left.
    knots_K, heat_J_m3, solid_frac, k_W_mK : arrays
        The metal's law, carried on at both ends.
    contact_frac, contact_W_m2K : arrays
        The contact's law.
    mould_J_m3, mould_W_mK, mould_u_K, low_K, per_K_ratio
        The mould's law with even knots, as in :class:`~pourwright.physics.freeze.mould.MouldTables`.
    """

    metals_count: int
    m3: Floats
    other_J_K: Floats
    heir: NDArray[np.int32]
    knots_K: Floats
    heat_J_m3: Floats
    solid_frac: Floats
    k_W_mK: Floats
    contact_frac: Floats
    contact_W_m2K: Floats
    mould_J_m3: Floats
    mould_W_mK: Floats
    mould_u_K: Floats
    low_K: float
    per_K_ratio: float


class Links(NamedTuple):
    """Links between nodes (see :class:`~pourwright.physics.freeze.lists.Nodes`)."""

    one: NDArray[np.int32]
    other: NDArray[np.int32]
    kind: NDArray[np.uint8]
    size: NDArray[Any]
    one_m: Floats
    other_m: Floats


class BareFaces(NamedTuple):
    """Faces of nodes to the air (see :class:`~pourwright.physics.freeze.lists.Nodes`)."""

    node: NDArray[np.int32]
    m2: Floats
    m: Floats
    side: NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class NodeTables:
    """What does not change about the nodes.

    Parameters
    ----------
    laws : Laws
        Of metal, contact and mould.
    links, bare : Links, BareFaces
        Where heat passes.
    lists : Lists
        The links of all levels.
    centre_m : array, shape (metals, 3)
        Where the temperature of metal nodes is thought to be [m].
    beside_first, beside : arrays
        Metal nodes beside metal node i: those from ``beside_first[i]`` to ``beside_first[i + 1]``.
    outside : array, shape (3, 2)
        Flask's side, flask's end, button: convection [W/m**2/K], emissivity times Stefan's number [W/m**2/K**4].
    ambient_K : float
        Of the air [K].
    """

    laws: Laws
    links: Links
    bare: BareFaces
    lists: Lists
    centre_m: Floats
    beside_first: NDArray[np.uint32]
    beside: NDArray[np.uint32]
    outside: NDArray[Any]
    ambient_K: float


def node_tables(problem: FreezeProblem, nodes: Nodes, levels: Levels, mould: MouldTables) -> NodeTables:
    """Return the laws of the nodes of a problem, and where heat passes."""
    metal = problem.metal
    knots_K = np.concatenate(([metal.temp_K[0] - _BEYOND_K], metal.temp_K, [metal.temp_K[-1] + _BEYOND_K]))
    laws = Laws(
        nodes.metals_count, nodes.m3, _other_J_K(problem, nodes), nodes.heir, knots_K,
        metal.enthalpy_at_J_m3(knots_K), np.interp(knots_K, metal.temp_K, metal.solid_frac),
        np.interp(knots_K, metal.temp_K, metal.conductivity_W_mK), problem.contact.solid_frac,
        problem.contact.coefficient_W_m2K, mould.heat_by_temp_J_m3, mould.k_by_temp_W_mK, mould.u_by_temp_K,
        mould.low_K, mould.per_K_ratio,
    )  # fmt: skip
    return NodeTables(
        laws, Links(nodes.one, nodes.other, nodes.kind, nodes.size, nodes.one_m, nodes.other_m),
        BareFaces(nodes.air_node, nodes.air_m2, nodes.air_m, nodes.air_side), levels.lists,
        nodes.centre_m[: nodes.metals_count], levels.first, levels.beside, outside_table(problem.surroundings),
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
    """State of the nodes between steps, and work space; all arrays of shape (n,) but the last.

    Parameters
    ----------
    heat_J, temp_K : array
        Now.
    before_J, before_K : array
        A step ago.
    spare_J, spare_K, lead_J : array
        Room for the step to come; after a step the first two hold what was two steps ago.
    held_K, k_W_mK, h_W_m2K, u_K : array
        Temperature held during the sweeps, and the laws there.
    source_W, sink_W_K : array
        What came through faces to rows and air.
    capacity_J_K, settled_K, mean_K : array
        Heat capacity, temperature at which flows are booked, and its mean over the step.
    surprise_K : array, shape (2, 4)
        How far temperatures came out from those foreseen after each correction of each part of the last step.
    """

    heat_J: Floats
    temp_K: Floats
    before_J: Floats
    before_K: Floats
    spare_J: Floats
    spare_K: Floats
    lead_J: Floats
    held_K: Floats
    k_W_mK: Floats
    h_W_m2K: Floats
    u_K: Floats
    source_W: Floats
    sink_W_K: Floats
    capacity_J_K: Floats
    settled_K: Floats
    mean_K: Floats
    surprise_K: Floats


class Flows(NamedTuple):
    """What comes to the nodes from outside their links in a step, and where they settle."""

    source_W: Floats
    sink_W_K: Floats
    capacity_J_K: Floats
    settled_K: Floats


def start_temps_K(problem: FreezeProblem, nodes: Nodes) -> Floats:
    """Return the temperatures of metal nodes at the start [K]; they are given by rising cell."""
    metals = nodes.metals_count
    start_K = np.empty(metals)
    start_K[np.lexsort(nodes.cell[:metals].T[::-1])] = problem.metal_start_K
    return start_K


def start_nodes(problem: FreezeProblem, nodes: Nodes, laws: Laws, machine: Backend) -> NodeField:
    """Return the nodes at the start: metal at its own temperature, all else at the mould's."""
    many, metals = len(nodes.m3), nodes.metals_count
    temp_K = np.full(many, float(problem.mould_start_K))
    temp_K[:metals] = start_temps_K(problem, nodes)
    empty = NodeField(
        **{one.name: np.zeros((2, _FORESEEN) if one.name == "surprise_K" else many) for one in fields(NodeField)}
    )
    laws, field = placed(laws, machine.put), placed(empty, machine.put)
    machine.node_heat(laws, machine.put(temp_K), field.spare_J, field.heat_J)
    field.heat_J += laws.other_J_K * problem.mould_start_K
    field.temp_K[:] = machine.put(temp_K)
    field.before_J[:] = field.heat_J
    look_up(field, laws, machine)
    field.before_K[:] = field.temp_K
    return field


def look_up(field: NodeField, laws: Laws, machine: Backend) -> None:
    """Set temperatures and capacities from the heats."""
    machine.node_temps(laws, field.heat_J, field.temp_K, field.capacity_J_K)


def hold(field: NodeField, laws: Laws, ahead_ratio: float, machine: Backend) -> None:
    """Set the temperature held in the step to come, on by a ratio of the last step, and the laws there."""
    machine.node_laws(
        laws, field.temp_K, field.before_K, ahead_ratio, field.held_K, field.k_W_mK, field.h_W_m2K, field.u_K
    )


def take_step(
    field: NodeField,
    tables: NodeTables,
    work: Workspace,
    step_s: float,
    last_step_s: float,
    control: TimeControl,
    counts: NDArray[np.int64],
    machine: Backend,
) -> tuple[float, float]:
    """Take all nodes one step; return the heat lost at bare faces [J] and the last correction [K].

    The guess carries the last step's gain of heat on. ``field.source_W`` and ``field.sink_W_K`` hold what comes through
    the faces; ``before`` holds the start of the step afterwards.
    """
    bare, laws, first_s = tables.bare, tables.laws, PART * step_s
    machine.link_values(tables.links, field.k_W_mK, field.h_W_m2K, work.passes_W_K)
    machine.spread_paths(len(tables.links.one), work.passes_W_K, tables.lists, work)
    machine.air_of_nodes(
        bare, field.held_K, field.k_W_mK, tables.ambient_K, tables.outside, work.air_W_K, field.source_W,
        field.sink_W_K,
    )  # fmt: skip
    flows = Flows(field.source_W, field.sink_W_K, field.capacity_J_K, field.settled_K)
    begun_J, begun_K, part_J, part_K = field.heat_J, field.temp_K, field.spare_J, field.spare_K

    def solve(part: int, from_J: Floats) -> float:
        return float(machine.step_nodes(
            laws, tables.lists, work, from_J, part_J, part_K, flows, first_s, control.tolerance_K,
            control.newton_most_count, field.surprise_K[part], counts,
        ))  # fmt: skip

    machine.guess_nodes(
        laws, begun_J, begun_K, field.before_J, field.before_K, begun_J, begun_K, first_s / last_step_s, part_J, part_K
    )
    solve(0, begun_J)
    field.mean_K[:] = (1 - PART) * field.settled_K
    field.lead_J[:] = begun_J + (part_J - begun_J) * (1 / PART - 1)
    machine.guess_nodes(laws, begun_J, begun_K, begun_J, begun_K, part_J, part_K, 1 / PART, part_J, part_K)
    last_K = solve(1, field.lead_J)
    field.mean_K += PART * field.settled_K
    field.heat_J, field.before_J, field.spare_J = part_J, begun_J, field.before_J
    field.temp_K, field.before_K, field.spare_K = part_K, begun_K, field.before_K
    lost_J = step_s * float((work.air_W_K * (field.mean_K[bare.node] - tables.ambient_K)).sum())
    return lost_J, last_K


def step_back(field: NodeField) -> None:
    """Take back the last step."""
    field.heat_J, field.before_J, field.spare_J = field.before_J, field.spare_J, field.heat_J
    field.temp_K, field.before_K, field.spare_K = field.before_K, field.spare_K, field.temp_K


def solid_of(metal: MetalLaw, temp_K: Floats) -> Floats:
    """Return the share of solid at temperatures [K]."""
    return np.interp(temp_K, metal.temp_K, metal.solid_frac)
