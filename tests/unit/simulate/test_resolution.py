"""How fine a grid, and what is said when it must be coarser."""

import pytest

from pourwright.simulate.resolution import (
    Pace,
    choose_side,
    fine_side_mm,
    first_side_mm,
    memory_bytes_count,
    thin_places,
)

AMPLE = 10**12


def cells_at(side_mm):
    return int(1e6 / side_mm**3)


def test_two_cells_across_the_thinnest_wall_but_never_over_a_millimetre():
    assert first_side_mm(5.0) == 1.0
    assert first_side_mm(1.2) == pytest.approx(0.6)
    assert fine_side_mm(1.2) == pytest.approx(0.3)
    assert fine_side_mm(0.1) == 0.15


def test_with_room_and_time_the_side_is_the_one_wanted():
    chosen = choose_side(0.5, 1.0, cells_at, AMPLE, "F1", granted_s=1e9)
    assert (chosen.side_mm, chosen.findings) == (0.5, ())
    assert chosen.cells_count == 8_000_000


def test_short_of_memory_the_grid_is_coarser_and_says_so():
    chosen = choose_side(0.5, 2.0, cells_at, 10**9, "F1")
    assert 0.5 < chosen.side_mm < 2.0
    assert cells_at(chosen.side_mm) * 250 <= 0.6e9
    assert [one.code for one in chosen.findings] == ["simulate.coarser-memory"]


def test_short_of_time_the_grid_is_coarser_and_says_so():
    chosen = choose_side(0.5, 2.0, cells_at, AMPLE, "F1", granted_s=8.0, pace=Pace(8.0, 1.2))
    assert 1.0 <= chosen.side_mm < 1.1
    assert [one.code for one in chosen.findings] == ["simulate.coarser-time"]


@pytest.mark.parametrize(
    ("memory", "code"), [(10**6, "simulate.wall-under-cell-memory"), (AMPLE, "simulate.wall-under-cell")]
)
def test_a_wall_thinner_than_a_cell_is_refused(memory, code):
    chosen = choose_side(0.3, 0.6, cells_at, memory, "F1", granted_s=None if memory < AMPLE else 1.0)
    assert [(one.code, one.level.value) for one in chosen.findings] == [(code, "stop")]


def test_unknown_memory_is_not_taken_for_none():
    assert choose_side(0.5, 2.0, cells_at, None, "F1").side_mm == 0.5


def test_the_pace_follows_a_run_that_was_timed():
    pace = Pace(8.0, 1.5).measured(250_000, 1.0)
    assert pace.wall_s(250_000) == pytest.approx(1.0)
    assert pace.wall_s(1_000_000) == pytest.approx(8.0)


def test_free_memory_is_some_or_unknown():
    found = memory_bytes_count()
    assert found is None or found > 10**6


def test_cells_asked_for_that_are_thicker_than_the_wall_are_refused_as_such():
    chosen = choose_side(1.0, 0.6, cells_at, AMPLE, "F1")
    assert [(one.code, one.level.value) for one in chosen.findings] == [("simulate.wall-under-side", "stop")]


@pytest.mark.parametrize(
    ("thin_frac", "found"),
    [(0.005, []), (0.05, [("simulate.thin-places", "look")]), (0.4, [("simulate.thin-throughout", "stop")])],
)
def test_walls_and_gaps_under_a_cell_are_said_and_refused_where_they_are_many(thin_frac, found):
    assert [(one.code, one.level.value) for one in thin_places(thin_frac, 0.5, "F1")] == found
