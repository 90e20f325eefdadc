"""Nodes of the freezing run: heats, temperatures and the two-part step."""

from __future__ import annotations

import numpy as np
import pytest
from tests.unit.physics.small_castings import FLASK_K, POUR_K, ROOM, ball_problem, metal

from pourwright.physics.freeze import metal as room
from pourwright.physics.freeze.backend import processor
from pourwright.physics.freeze.metal import STEFAN_BOLTZMANN_W_m2K4, node_tables, outside_table, solid_of, start_nodes
from pourwright.physics.freeze.mould import tabulate
from pourwright.physics.freeze.multigrid import lay_levels
from pourwright.physics.freeze.network import lay_paths


def _started():
    problem = ball_problem()
    nodes = lay_paths(problem).nodes
    mould = tabulate(problem.mould, None, FLASK_K, 243.0, POUR_K + 50)
    tables = node_tables(problem, nodes, lay_levels(nodes), mould)
    return nodes, tables.laws, start_nodes(problem, nodes, tables.laws, processor())


def test_metal_starts_at_the_pour_and_shares_its_heat_with_the_skin_of_mould():
    nodes, laws, field = _started()
    metals = nodes.metals_count
    bare = nodes.skin_m3[:metals] == 0
    assert field.temp_K[:metals][bare] == pytest.approx(POUR_K)
    assert np.all(field.temp_K[:metals][~bare] < POUR_K)
    wanted_J = nodes.m3[:metals] * metal().enthalpy_at_J_m3(np.array(POUR_K)) + laws.other_J_K[:metals] * FLASK_K
    assert field.heat_J[:metals] == pytest.approx(wanted_J)


def test_heat_tells_temperature_for_metal_and_mould_alike():
    nodes, laws, field = _started()
    rng = np.random.default_rng(1)
    holds = nodes.m3 + nodes.steel_m3 > 0
    wanted = np.where(holds, rng.uniform(700.0, 1250.0, len(holds)), field.temp_K)
    processor().node_heat(laws, wanted, laws.other_J_K, field.heat_J)
    room.look_up(field, laws, processor())
    assert field.temp_K == pytest.approx(wanted, rel=1e-12)
    assert np.all(field.capacity_J_K[holds] > 0)


def test_outside_has_stefans_number_for_flask_and_button():
    table = outside_table(ROOM)
    assert table[:, 0] == pytest.approx([10.0, 10.0, 10.0])
    assert table[:, 1] == pytest.approx(np.array([0.8, 0.8, 0.6]) * STEFAN_BOLTZMANN_W_m2K4)


def test_share_of_solid_runs_from_none_to_all():
    assert solid_of(metal(), np.array([1300.0, 1170.0, 1053.0, 1051.0, 900.0])) == pytest.approx([0, 0, 0.9, 1, 1])


def test_the_two_part_step_is_of_second_order_and_damps_what_is_quick():
    """The first part's share g makes R(z) = (1 + (1 - 2g) z) / (1 - g z)^2 agree with exp(z) to z^2; R falls to 0."""
    g = room.PART

    def grown(z: float) -> float:
        return (1 + (1 - 2 * g) * z) / (1 - g * z) ** 2

    misses = [abs(grown(-z) - np.exp(-z)) for z in (0.02, 0.01)]
    assert misses[0] / misses[1] == pytest.approx(8.0, rel=0.1)
    assert abs(grown(-1e6)) < 1e-5
