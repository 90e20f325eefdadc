"""The freezing engine put to work on a flask: grid, cut cells, laws, and the run itself."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError, SolverError
from pourwright.core.text import say
from pourwright.grid.cut_cells import CutCells, cut_cells
from pourwright.grid.graded import Flask, GradedGrid, flask_cells, lay_grid
from pourwright.grid.network import Network, lay_network
from pourwright.matter.alloys import alloy
from pourwright.matter.laws import contact_law, metal_law, mould_law, surrounding, wall_emissivity, wall_law
from pourwright.physics.freeze.fields_file import Lattice
from pourwright.physics.freeze.problem import (
    ContactLaw,
    CutFlask,
    FreezeProblem,
    MetalLaw,
    MouldLaw,
    Shell,
    Surroundings,
    TimeControl,
)
from pourwright.physics.freeze.results import FreezeResult
from pourwright.physics.freeze.solver import solve
from pourwright.simulate.conditions import Case, Conditions
from pourwright.simulate.job import FlaskJob, StartField
from pourwright.simulate.run import CRITICAL_FRAC, Hooks

_M_MM = 1e-3
# Side of the cells on which the solid flask is followed: a few to the wall of the flask and across a button.
FOLLOW_SIDE_M = 2e-3


def grid_of(job: FlaskJob, side_mm: float) -> GradedGrid:
    """Return the grid of a flask with even cells of a side [mm] round its metal.

    Raises
    ------
    SolverError
        Metal reaches out of the flask.
    """
    corners_m = _M_MM * job.solid.mesh.vertices_mm
    button_m = _M_MM * job.solid.button_height_mm
    low_m, high_m = corners_m.min(axis=0), corners_m.max(axis=0)
    try:
        return lay_grid(low_m, high_m, _flask(job), _M_MM * side_mm, planes_m=(button_m,))
    except ValueError as refused:
        raise SolverError(say("simulate.metal-outside")) from refused


def cells_count(job: FlaskJob, side_mm: float) -> int:
    """Return how many cells the grid of a flask has with a side [mm]."""
    return grid_of(job, side_mm).cells_count


def thin_frac(job: FlaskJob, side_mm: float) -> float:
    """Return the share of the metal's surface where a wall, or a gap, is thinner than cells of a side [mm].

    Raises
    ------
    SolverError
        The metal is not one closed body.
    """
    return _cut(job, grid_of(job, side_mm)).doubled_frac


def _cut(job: FlaskJob, grid: GradedGrid) -> CutCells:
    try:
        return cut_cells(grid, _M_MM * job.solid.mesh.vertices_mm, job.solid.mesh.faces)
    except MeshError as refused:
        key = "simulate.metal-outside" if str(refused) == "outside" else "simulate.metal-open"
        raise SolverError(say(key)) from refused


def freeze(job: FlaskJob, case: Case, side_mm: float, follow_s: float, hooks: Hooks) -> tuple[FreezeResult, Lattice]:
    """Freeze a flask; an :class:`~pourwright.simulate.run.Engine`.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    case : Case
        One value out of each range.
    side_mm : float
        Side of the even cells [mm].
    follow_s : float
        How long to follow it from the pour [s].
    hooks : Hooks
        What to tell and to ask.

    Returns
    -------
    result : FreezeResult
        The run.
    lattice : Lattice
        Its grid.
    """
    grid = grid_of(job, side_mm)
    problem = problem_of(job, case, grid, follow_s)
    result = solve(problem, hooks.report, hooks.cancelled, resume=hooks.resume, keep=hooks.keep)
    assert isinstance(problem.cells, CutFlask)
    return result, Lattice(grid.edges_m, _links(problem.cells.network))


def _links(network: Network) -> NDArray[np.int32]:
    """Return the pairs of metal nodes that hang together, numbered as a run lists them: by rising cell."""
    place = np.empty(len(network.metal_cells), dtype=np.int32)
    place[np.argsort(network.metal_cells, kind="stable")] = np.arange(len(place), dtype=np.int32)
    return np.asarray(place[network.metal_links[network.metal_shape_m > 0]])


def problem_of(job: FlaskJob, case: Case, grid: GradedGrid, follow_s: float) -> FreezeProblem:
    """Return what the solver is given; the flask is followed for so long [s]."""
    said, metal = job.conditions, metal_law(job.conditions.alloy)
    mould = mould_law(said.mould, conductivity_ratio=case.conductivity_ratio)
    contact = contact_law(case.contact_W_m2K, case.after_gap_W_m2K)
    steel = wall_law(said.wall)
    conducts = float(np.interp(case.flask_K, mould.temp_K, mould.conductivity_W_mK))
    cells = _cells(job, grid, conducts / case.contact_W_m2K)
    return FreezeProblem(
        cells=cells,
        metal=MetalLaw(metal.temp_K, metal.enthalpy_J_m3, metal.solid_frac, metal.conductivity_W_mK, CRITICAL_FRAC),
        mould=MouldLaw(mould.temp_K, mould.conductivity_W_mK, mould.heat_capacity_J_m3K),
        contact=ContactLaw(contact.solid_frac, contact.coefficient_W_m2K),
        metal_start_K=_start_K(job.start, case, cells.network),
        mould_start_K=case.flask_K,
        shell=Shell(_M_MM * job.wall_mm, MouldLaw(steel.temp_K, steel.conductivity_W_mK, steel.heat_capacity_J_m3K)),
        surroundings=_surroundings(said),
        time=TimeControl(follow_s=follow_s, follow_side_m=FOLLOW_SIDE_M),
    )


def _start_K(start: StartField | None, case: Case, network: Network) -> NDArray[np.float64]:
    """Return how warm the metal of each node is when the mould is full [K]: as it came, or as it was poured."""
    from scipy.spatial import cKDTree

    if start is None:
        return np.array(case.pour_K)
    _, nearest = cKDTree(_M_MM * start.place_mm).query(network.metal_m)
    return np.asarray(start.temp_K[nearest] + (case.pour_K - start.pour_K))


def _cells(job: FlaskJob, grid: GradedGrid, gap_m: float) -> CutFlask:
    vertices_m, faces = _M_MM * job.solid.mesh.vertices_mm, job.solid.mesh.faces
    flask = flask_cells(grid, _flask(job))
    return CutFlask(flask, lay_network(grid, _cut(job, grid), vertices_m, faces, gap_m, flask))


def _flask(job: FlaskJob) -> Flask:
    return Flask(_M_MM * job.radius_mm, _M_MM * job.height_mm, _M_MM * job.wall_mm)


def _surroundings(said: Conditions) -> Surroundings:
    air = surrounding("convection").best
    return Surroundings(
        ambient_K=said.room_K,
        convection_W_m2K=air,
        flask_emissivity_frac=wall_emissivity(said.wall).best,
        button_emissivity_frac=alloy(said.alloy).property("emissivity_solid_oxidised").best,
        button_convection_W_m2K=air,
    )
