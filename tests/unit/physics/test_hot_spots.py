"""Hot spots on fields of freezing times whose basins are known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.physics.made_up_freezing import SIDE_M, button_first, frozen, row

from pourwright.core.interval import Interval
from pourwright.physics.freeze.hot_spots import find_hot_spots, linked, neighbours_of, niyama_rank_frac

SHRINKAGE = Interval(0.04, 0.05, 0.06)
CUBE_M3 = SIDE_M**3


def spots_of(result, feeder=None, **more):
    feeder = button_first(result) if feeder is None else feeder
    return find_hot_spots(result, feeder, SHRINKAGE, 0.7, **more)


def test_metal_that_freezes_towards_the_button_has_no_hot_spot():
    found = spots_of(row(9, 8, 7, 6, 5, 4))
    assert found.spots == ()
    assert list(found.fed_until_s) == [9, 8, 7, 6, 5, 4]


def test_a_lump_behind_a_neck_is_cut_off_when_the_neck_freezes():
    (spot,) = spots_of(row(9, 8, 3, 5, 7, 6, 4)).spots
    assert spot.cut_off_s == 3
    assert spot.neck_m == pytest.approx((2.5e-3, 0.5e-3, 0.5e-3))
    assert spot.place_m == pytest.approx((4.5e-3, 0.5e-3, 0.5e-3))
    assert spot.last_freezing_s == pytest.approx(7.06)
    assert spot.pool_m3 == pytest.approx(4 * CUBE_M3)
    assert spot.inside == -1


def test_the_liquid_of_a_pool_counts_what_is_already_solid_in_it():
    # at 3 s the lump's cubes, 0.7 mushy until 4 and 5 s, are part solid: each takes 4 s from liquidus to solid, evenly
    (spot,) = spots_of(row(9, 8, 3, 4, 5), **{}).spots
    assert spot.liquid_m3 == pytest.approx(2 * CUBE_M3)
    (mushy,) = spots_of(row(9, 8, 3, 4, 5, mushy_s=4.0)).spots
    assert mushy.liquid_m3 == pytest.approx(((0.3 + 1 / 4) + (0.3 + 2 / 4)) * CUBE_M3)
    assert mushy.liquid_frac == pytest.approx(0.675)


def test_the_void_is_the_liquid_times_the_range_of_shrinkage():
    (spot,) = spots_of(row(9, 8, 3, 5, 7)).spots
    assert spot.void_m3.low == pytest.approx(0.04 * 2 * CUBE_M3)
    assert spot.void_m3.best == pytest.approx(0.05 * 2 * CUBE_M3)
    assert spot.void_m3.high == pytest.approx(0.06 * 2 * CUBE_M3)


def test_a_pool_that_splits_keeps_its_liquid_once():
    # cut off at 2 s with 5 cubes, splits at 4 s into 2 and 2
    found = spots_of(row(9, 8, 2, 6, 7, 4, 8, 5))
    whole, part = found.spots
    assert (whole.inside, part.inside) == (-1, 0)
    assert part.cut_off_s == 4
    assert part.pool_m3 == pytest.approx(2 * CUBE_M3)
    assert whole.pool_m3 == pytest.approx(5 * CUBE_M3)
    assert whole.void_m3.best + part.void_m3.best == pytest.approx(0.05 * whole.liquid_m3)


def test_a_button_that_freezes_first_leaves_everything_unfed():
    (spot,) = spots_of(row(3, 5, 6, 7)).spots
    assert spot.cut_off_s == 3
    assert spot.pool_m3 == pytest.approx(3 * CUBE_M3)


def test_metal_that_never_touched_the_button_was_never_fed():
    (spot,) = spots_of(row(9, 8, np.nan, 5, 6)).spots
    assert spot.cut_off_s == 0
    assert spot.neck_m is None


def test_without_a_button_the_elder_pool_is_kept_and_the_other_noted():
    result = row(5, 6, 2, 4, 3)
    whole, part = spots_of(result, np.zeros(5, dtype=bool)).spots
    assert whole.neck_m is None
    assert part.cut_off_s == 2
    assert part.pool_m3 == pytest.approx(2 * CUBE_M3)


@pytest.mark.parametrize(("ripple_s", "count"), [(0.0, 0), (0.01, 0), (0.2, 1)])
def test_ripples_of_rounding_are_no_hot_spots(ripple_s, count):
    assert len(spots_of(row(9, 8, 5 - ripple_s, 5, 4)).spots) == count


def test_an_even_plateau_makes_one_pool():
    times_s = np.full((9, 9, 3), 5.0)
    times_s[4, 4, 1] = 2.0
    times_s[0, 0, 0] = 9.0
    times_s[1, 0, 0] = times_s[0, 1, 0] = times_s[0, 0, 1] = 3.0
    result = frozen(times_s)
    (spot,) = spots_of(result, (result.cell == 0).all(axis=1)).spots
    assert spot.cut_off_s == 3
    assert spot.pool_m3 == pytest.approx((9 * 9 * 3 - 5) * CUBE_M3)


def test_the_largest_void_comes_first_and_cells_know_their_spot():
    found = spots_of(row(9, 8, 3, 5, 9, 8, 2, 7, 7, 7, 7))
    assert [one.pool_m3 / CUBE_M3 for one in found.spots] == pytest.approx([4, 3])
    assert list(found.spot) == [-1, -1, -1, 1, 1, 1, -1, 0, 0, 0, 0]


def test_mirrored_times_have_mirrored_hot_spots():
    times_s = np.random.default_rng(4).uniform(1, 9, (12, 7, 5))
    straight, mirrored = frozen(times_s), frozen(times_s[::-1])
    one = spots_of(straight, straight.cell[:, 0] == 0)
    other = spots_of(mirrored, mirrored.cell[:, 0] == 11)
    assert [spot.void_m3.best for spot in one.spots] == pytest.approx([spot.void_m3.best for spot in other.spots])
    assert [12e-3 - spot.place_m[0] for spot in one.spots] == pytest.approx([spot.place_m[0] for spot in other.spots])


def test_a_run_that_did_not_end_is_refused():
    result = row(9, 8, 7)
    result.freeze_s[2] = np.nan
    with pytest.raises(ValueError, match="all metal froze"):
        spots_of(result)


def _fed_until_by_trying_every_time(result, neighbours, feeder):
    """The plain twin: at each freezing time, flood from the feeders through all metal that froze no earlier."""
    fed_until = np.full(len(feeder), -np.inf)
    for time_s in np.unique(result.critical_s):
        waiting = [cell for cell in np.flatnonzero(feeder) if result.critical_s[cell] >= time_s]
        seen = set(waiting)
        while waiting:
            cell = waiting.pop()
            fed_until[cell] = time_s
            for other in neighbours[cell]:
                if other >= 0 and other not in seen and result.critical_s[other] >= time_s:
                    seen.add(other)
                    waiting.append(other)
    return fed_until


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.booleans())
def test_the_time_of_cutting_off_agrees_with_flooding_at_every_time(seed, coarse):
    random = np.random.default_rng(seed)
    times_s = random.uniform(1, 9, (5, 4, 3))
    times_s = np.round(times_s) if coarse else times_s
    times_s[random.uniform(size=times_s.shape) < 0.2] = np.nan
    if np.isnan(times_s).all():
        times_s[0, 0, 0] = 1.0
    result = frozen(times_s)
    feeder = random.uniform(size=len(result.cell)) < 0.1
    found = spots_of(result, feeder)
    expected = _fed_until_by_trying_every_time(result, neighbours_of(result.cell), feeder)
    np.testing.assert_array_equal(found.fed_until_s, expected)
    for spot in found.spots:
        if spot.inside == -1 and feeder.any():
            assert found.fed_until_s[spot.cell] == (spot.cut_off_s or -np.inf)


def test_rank_of_feeding_falls_with_flat_temperatures_and_fast_cooling():
    result = row(9, 8, 7, 6, gradient_K_m=[400, 100, 400, 400], rate_K_s=[1, 1, 16, 4])
    assert list(np.argsort(niyama_rank_frac(result), kind="stable")) == [1, 2, 3, 0]
    assert niyama_rank_frac(result) == pytest.approx([0.875, 0.125, 0.375, 0.625])


def test_links_go_before_cells_side_by_side():
    """A wall of mould thinner than a cell parts two cells that touch in the grid."""
    result = row(9, 8, 7, 6, 5)
    parted = linked(np.array([[0, 1], [1, 2], [3, 4]]), 5)
    assert parted.tolist() == [[1, -1], [0, 2], [1, -1], [4, -1], [3, -1]]
    (spot,) = spots_of(result, neighbours=parted).spots
    assert (spot.cut_off_s, spot.pool_m3) == (0, pytest.approx(2 * CUBE_M3))
    assert spots_of(result, neighbours=linked(np.array([[0, 1], [1, 2], [2, 3], [3, 4]]), 5)).spots == ()
