from itertools import product

import pytest

from pourwright.prepare.charge.marks import (
    MarkTask,
    holds,
    in_steps,
    largest_remainder,
    marks_down,
    marks_up,
    whole_marks,
)
from pourwright.prepare.charge.mixture import worst_permille


def test_rounded_masses_add_up_and_the_largest_loss_is_made_good():
    assert largest_remainder([33.3333, 33.3333, 33.3334], 100.0, 0.01) == [33.33, 33.33, 33.34]
    assert largest_remainder([0.005, 99.995], 100.0, 0.01) == [0.01, 99.99]


def test_a_mass_on_a_mark_stays_on_it():
    assert (marks_up(138.70000000001, 0.1), marks_down(138.69999999999, 0.1)) == (1387, 1387)
    assert (marks_up(138.71, 0.1), marks_down(138.79, 0.1)) == (1388, 1387)
    assert in_steps(1387, 0.1) == 138.7


def _task(division_g, error_g, standard=925.0, mass_g=120.0, fine=999.0):
    share = standard / fine
    total = round(mass_g / division_g)
    masses_g = (mass_g * share, mass_g * (1 - share))
    return MarkTask(masses_g, (fine, 0.0), (total, total), (False, False), total, division_g, error_g, standard)


@pytest.mark.parametrize("division_g", [0.01, 0.02, 0.05, 0.1, 0.2, 0.5])
def test_two_lots_get_the_fewest_marks_of_fine_metal_that_hold(division_g):
    task = _task(division_g, division_g / 2)
    counts = whole_marks(task)
    by_hand = next(n for n in range(task.total_count) if holds(task, (n, task.total_count - n)))
    assert counts == (by_hand, task.total_count - by_hand)


def test_a_standard_met_exactly_needs_no_mark_more():
    task = MarkTask((92.5, 7.5), (1000.0, 0.0), (1000, 1000), (False, False), 1000, 0.1, 0.0, 925.0)
    assert whole_marks(task) == (925, 75)


def test_three_lots_are_as_lean_as_any_near_the_exact_weights():
    task = MarkTask((15.025, 2.4825, 2.4925), (999.0, 0.0, 0.0), (9999,) * 3, (False,) * 3, 2000, 0.01, 0.005, 750.0)
    counts = whole_marks(task)
    near = [
        offsets
        for offsets in product(range(-3, 4), repeat=3)
        if sum(offsets) == 0 and holds(task, [one + step for one, step in zip(counts, offsets, strict=True)])
    ]
    assert min(offsets[0] for offsets in near) == 0


def test_lots_used_up_give_their_last_whole_mark():
    task = MarkTask((40.004, 84.34, 5.656), (900.0, 999.0, 0.0), (4000, 99999, 99999), (True, False, False), 13000,
                    0.01, 0.005, 925.0)  # fmt: skip
    counts = whole_marks(task)
    assert counts[0] == 4000
    assert sum(counts) == 13000


def test_no_marks_where_the_lots_have_no_room():
    task = MarkTask((111.11, 8.89), (999.0, 0.0), (11111, 99999), (False, False), 12000, 0.01, 0.005, 925.0)
    assert whole_marks(task) is None


def test_without_a_standard_the_nearest_marks_are_taken():
    task = MarkTask((87.74, 12.26), (1000.0, 0.0), (999, 999), (False, False), 500, 0.2, 0.1, 0.0)
    assert whole_marks(task) == (439, 61)


def test_holds_agrees_with_the_worst_case_of_the_weighings():
    task = _task(0.1, 0.05)
    for fine in range(1105, 1117):
        masses_g = (fine * 0.1, (1200 - fine) * 0.1)
        worst = worst_permille(masses_g, task.fineness_permille, [0.05, 0.05])
        assert holds(task, (fine, 1200 - fine)) == (worst >= 925.0)
