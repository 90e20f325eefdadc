from itertools import product

import numpy as np
import pytest

from pourwright.prepare.charge.mixture import Recipe, largest_charge_frac, mix, mixed_permille, worst_permille

FINE, COPPER, COIN = [0.999, 0.001], [0.0, 1.0], [0.9, 0.1]


def _recipe(contents, most=None, scrap=None, cap=0.5, target=(0.925, 0.075)):
    lots = len(contents)
    return Recipe(
        np.array(contents),
        np.array(target),
        np.array(most or [1.0] * lots),
        tuple(scrap or [False] * lots),
        cap,
    )


def test_two_lots_follow_the_rule_of_alligation():
    fine, copper = mix(_recipe([FINE, COPPER]))
    assert fine == pytest.approx(0.925 / 0.999, rel=1e-7)
    assert fine + copper == pytest.approx(1.0)


def test_scrap_goes_in_first_up_to_its_cap():
    shares = mix(_recipe([FINE, COPPER, COIN], scrap=[False, False, True]))
    assert shares[2] == pytest.approx(0.5, abs=1e-6)


def test_the_lot_named_first_is_used_first():
    assert mix(_recipe([[0.925, 0.075], FINE, COPPER])) == pytest.approx((1.0, 0.0, 0.0), abs=1e-6)
    assert mix(_recipe([FINE, COPPER, [0.925, 0.075]]))[2] == pytest.approx(0.0, abs=1e-6)


def test_no_mixture_of_rich_lots_alone():
    assert mix(_recipe([FINE])) is None
    assert mix(_recipe([FINE]), excess_most_frac=0.08) == pytest.approx((1.0,))


def test_a_margin_raises_the_first_element_by_just_that():
    shares = np.array(mix(_recipe([FINE, COPPER]), margin_frac=0.001))
    assert shares @ np.array([0.999, 0.0]) == pytest.approx(0.926, abs=1e-8)


def test_other_elements_come_as_near_as_the_lots_allow():
    contents = [[0.999, 0.001, 0.0], [0.0, 0.999, 0.001], [0.0, 0.0, 1.0]]
    shares = np.array(mix(_recipe(contents, target=(0.75, 0.16, 0.09))))
    assert shares @ np.array(contents) == pytest.approx([0.75, 0.16, 0.09], abs=1e-7)


def test_the_largest_charge_is_set_by_the_lot_that_runs_out():
    recipe = _recipe([FINE, COPPER], most=[0.5, 1.0])
    assert largest_charge_frac(recipe) == pytest.approx(0.5 * 0.999 / 0.925, rel=1e-6)
    assert largest_charge_frac(_recipe([FINE, COPPER])) == pytest.approx(1.0)
    assert largest_charge_frac(_recipe([COIN])) == 0.0


@pytest.mark.parametrize("direction", [-1, 1])
def test_the_worst_case_is_the_extreme_over_all_signs(direction):
    masses, fine, errors = [40.0, 84.3, 5.7, 2.0], [900.0, 999.0, 0.0, 925.0], [0.05, 0.1, 0.05, 0.02]
    every = [
        mixed_permille([mass + sign * error for mass, sign, error in zip(masses, signs, errors, strict=True)], fine)
        for signs in product((-1, 1), repeat=4)
    ]
    expected = min(every) if direction < 0 else max(every)
    assert worst_permille(masses, fine, errors, direction) == pytest.approx(expected, rel=1e-12)


def test_an_error_larger_than_the_mass_takes_no_more_than_all_of_it():
    assert worst_permille([0.3, 10.0], [999.0, 925.0], [0.5, 0.0]) == pytest.approx(925.0)
