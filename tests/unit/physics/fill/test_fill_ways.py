"""Ways, sections and orders of filling of hollows that can be reckoned by hand."""

import numpy as np
import pytest
from tests.small_moulds import boxes, comb, gate_of

from pourwright.physics.fill.cavity import find_neighbours, touching_sprue
from pourwright.physics.fill.floods import Pull, flood_tank, pull_at
from pourwright.physics.fill.problem import Cavity
from pourwright.physics.fill.ways import lay_again, lay_ways

OUTWARD = Pull((33, 0, 0, 0))


def test_neighbours_stand_in_pairs_for_each_axis_in_any_order_of_cells():
    cell = np.array([[4, 4, 4], [5, 4, 4], [4, 3, 4], [4, 4, 6], [4, 4, 5]])
    found = find_neighbours(cell)
    assert found[0].tolist() == [-1, 1, 2, -1, -1, 4]
    assert found[3].tolist() == [-1, -1, -1, -1, 4, -1]


def test_a_tank_touches_the_sprue_where_their_faces_meet():
    cavity = boxes(1e-3, [(0, (0, 0, 0), (0.01, 0.002, 0.002)), (1, (0.006, 0.002, 0), (0.009, 0.008, 0.002))])
    place = cavity.place_m[touching_sprue(cavity, 1)]
    assert len(place) == 6
    assert np.allclose(place[:, 1], 0.0025)


def _room(side_m):
    """A box of 8 x 8 x 8 mm with its inlet in one corner."""
    cavity = boxes(side_m, [(0, (0, 0, 0), (0.008, 0.008, 0.008))])
    corner = np.argmin(cavity.place_m.sum(axis=1))
    return Cavity(**{**vars(cavity), "inlet": np.array([corner], dtype=np.int32)})


def _worst_frac(side_m):
    cavity = _room(side_m)
    ways = lay_ways(cavity, ())
    true_m = np.linalg.norm(cavity.place_m - cavity.place_m[cavity.inlet[0]], axis=1)
    far = true_m > 0.004
    return float(np.max(np.abs(ways.distance_m - true_m)[far] / true_m[far]))


def test_distances_are_round_not_along_the_axes_and_better_on_a_finer_grid():
    worst = [_worst_frac(side) for side in (1e-3, 0.5e-3, 0.25e-3)]
    assert worst[0] < 0.25
    assert worst[2] < worst[1] < worst[0]


def test_the_way_bends_round_a_corner():
    parts = [(0, (0, 0, 0), (0.02, 0.002, 0.002)), (0, (0.018, 0.002, 0), (0.02, 0.02, 0.002))]
    cavity = boxes(1e-3, parts)
    ways = lay_ways(cavity, ())
    assert ways.distance_m.max() == pytest.approx(0.037, rel=0.06)
    last = int(np.argmax(ways.distance_m))
    steps = 0
    while ways.before[last] >= 0:
        last, steps = ways.before[last], steps + 1
    assert last in cavity.inlet
    assert steps >= 34


def test_a_fork_shares_the_flow_by_the_metal_beyond_it():
    stem = (0, (0, 0, 0), (0.010, 0.002, 0.002))
    left = (0, (0.008, 0.002, 0), (0.010, 0.020, 0.002))
    right = (0, (0.008, -0.008, 0), (0.010, 0.0, 0.002))
    cavity = boxes(1e-3, [stem, left, right])
    ways = lay_ways(cavity, ())
    share = ways.tanks[0].share_frac[ways.section]
    far_left, far_right = np.argmax(cavity.place_m[:, 1]), np.argmin(cavity.place_m[:, 1])
    assert share[far_left] + share[far_right] == pytest.approx(1.0)
    assert share[far_left] == pytest.approx(18 / 26, abs=0.06)  # 18 mm of bar against 8 mm
    assert share[cavity.inlet] == pytest.approx(1.0)


def test_sections_of_a_bar_are_its_cross_section():
    cavity = boxes(0.5e-3, [(0, (0, 0, 0), (0.03, 0.003, 0.002))])
    ways = lay_ways(cavity, ())
    assert ways.tanks[0].area_m2[2:-2] == pytest.approx(6e-6, rel=0.35)
    assert ways.tanks[0].area_m2[2:-2].mean() == pytest.approx(6e-6, rel=0.03)


def test_laying_again_leaves_out_what_is_blocked_and_keeps_the_other_tanks():
    problem = comb()
    cavity, ways = problem.cavity, lay_ways(problem.cavity, problem.gates)
    is_open = ~((cavity.tank == 1) & (cavity.place_m[:, 1] > 0.008))
    again = lay_again(ways, cavity, problem.gates, is_open, {1})
    assert not np.isfinite(again.distance_m[(cavity.tank == 1) & (cavity.place_m[:, 1] > 0.008)]).any()
    other = cavity.tank != 1
    assert np.array_equal(again.distance_m[other], ways.distance_m[other])


def test_a_shut_gate_gives_no_way():
    problem = comb()
    shut = tuple(type(one)(**{**vars(one), "shut": one.tank == 1}) for one in problem.gates)
    ways = lay_ways(problem.cavity, shut)
    assert not np.isfinite(ways.distance_m[problem.cavity.tank == 1]).any()
    assert np.isfinite(ways.distance_m[problem.cavity.tank == 2]).all()


def _piece(*bars):
    """A sprue of 2 mm from 0 to 30 mm, and a piece of bars."""
    parts = [(0, (0, 0, 0), (0.030, 0.002, 0.002)), *((1, low, high) for low, high in bars)]
    cavity = boxes(1e-3, parts)
    return cavity, gate_of(cavity, 1, 1e-6), lay_ways(cavity, (gate_of(cavity, 1, 1e-6),))


def _flood(cavity, ways, tank=1, pull=OUTWARD):
    return flood_tank(cavity, tank, ways.tanks[tank].seeds, ways.tanks[tank].order, pull)


def test_the_far_end_fills_first_and_volume_is_kept():
    cavity, _, ways = _piece(((0.004, 0.002, 0), (0.028, 0.012, 0.002)))
    flood = _flood(cavity, ways)
    level_m = cavity.place_m[flood.order, 0]
    assert level_m[len(level_m) // 2 :].mean() < level_m[: len(level_m) // 2].mean()
    assert flood.full_m3 == pytest.approx(cavity.volume_m3[cavity.tank == 1].sum(), rel=1e-12)
    assert flood.filled_m3[-1] == pytest.approx(flood.full_m3 - 0.5e-9, rel=1e-9)


def test_the_sprue_fills_from_its_outermost_place():
    cavity, _, ways = _piece(((0.004, 0.002, 0), (0.028, 0.012, 0.002)))
    flood = _flood(cavity, ways, tank=0)
    assert np.all(np.diff(cavity.place_m[flood.order, 0]) <= 1e-12)
    assert np.all(np.diff(flood.crest_m[:, 0]) <= 1e-12)


def test_a_basin_behind_a_sill_fills_when_the_level_reaches_the_sill():
    # gate at 20 mm leads into a trough to 28 mm; a sill at 12 mm parts it from a second trough.
    cavity, _, ways = _piece(
        ((0.008, 0.002, 0), (0.028, 0.006, 0.002)),
        ((0.008, 0.006, 0), (0.012, 0.010, 0.002)),
        ((0.008, 0.010, 0), (0.028, 0.014, 0.002)),
    )
    gate_end = cavity.place_m[:, 0] > 0.018
    seeds = ways.tanks[1].seeds[gate_end[ways.tanks[1].seeds]]
    flood = flood_tank(cavity, 1, seeds, ways.tanks[1].order, OUTWARD)
    second = cavity.place_m[flood.order, 1] > 0.010
    before = cavity.place_m[flood.order[: np.argmax(second)], 0]
    assert before.min() == pytest.approx(0.0115)  # the first trough is full to the sill's edge
    assert np.argmax(second) > 0.3 * len(flood.order)


def test_gas_is_shut_into_a_dead_end_that_points_inward():
    # fed at the outer end; two fingers point inward, the shorter one closes first.
    cavity, _, ways = _piece(
        ((0.024, 0.002, 0), (0.028, 0.024, 0.002)),
        ((0.004, 0.006, 0), (0.024, 0.012, 0.002)),
        ((0.012, 0.016, 0), (0.024, 0.022, 0.002)),
    )
    flood = _flood(cavity, ways)
    assert len(flood.pocket_top) == 1
    top = cavity.place_m[flood.pocket_top[0]]
    assert top[0] == pytest.approx(0.0125)
    assert 0.016 < top[1] < 0.022
    inside = flood.order[flood.pocket == 0]
    assert cavity.volume_m3[inside].sum() == pytest.approx(12 * 6 * 2 * 1e-9, rel=0.1)  # with some of the trough


def test_dry_wall_and_its_way_out_shrink_as_the_tank_fills():
    cavity, _, ways = _piece(((0.004, 0.002, 0), (0.028, 0.012, 0.002)))
    flood = _flood(cavity, ways)
    wall_m2 = cavity.wall_m2[cavity.tank == 1].sum()
    assert flood.dry_m2[0] == pytest.approx(wall_m2)
    assert flood.outlet_m[0] == pytest.approx(wall_m2 / 0.015)
    assert np.all(np.diff(flood.dry_m2) <= 0)
    assert flood.dry_m2[-1] > 0


def test_a_pull_is_a_direction_in_steps_and_its_bend_in_steady_spin_is_one_over_the_radius():
    slow, fast = (pull_at(np.array([w * w * 0.2, 0.0, 0.0]), w) for w in (10.0, 30.0))
    assert slow == fast
    assert slow.direction == pytest.approx([1, 0, 0])
    assert slow.bend_per_m == pytest.approx(5.0, abs=0.25)
    assert pull_at(np.zeros(3), 0.0).direction == pytest.approx([1, 0, 0])
