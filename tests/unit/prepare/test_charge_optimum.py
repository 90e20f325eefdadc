"""The cheapest charge from a stock, and what stands in the way when there is none."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from pourwright.prepare.charge.optimum.cheapest import cheapest_charge, likely_charge, probability_frac
from pourwright.prepare.charge.optimum.request import Request, StockPart


def silver(lot, share, mass_g, price="1.00", low=None, high=None, **more):
    composition = {"Ag": share, "Cu": 1.0 - share}
    ends = share if low is None else low, share if high is None else high
    return StockPart(lot, composition, *ends, mass_g, price_per_g=Decimal(price), **more)


FINE, COPPER = silver("fine", 0.999, 300.0, "1.10"), silver("copper", 0.0, 50.0, "0.02")
EXACT = Request("Ag", 925.0, 120.0, scale_error_g=0.0)


def weighed(charge):
    return {one.lot: one.mass_g for one in charge.weigh}


def test_the_cheapest_sterling_is_the_leanest_that_keeps_the_mark():
    charge, _ = cheapest_charge((FINE, COPPER), EXACT)
    # Alligation by hand: 120 g x 0.925 / 0.999 = 111.111 g, in whole marks of a hundredth upwards.
    assert weighed(charge) == {"fine": 111.12, "copper": 8.88}
    assert charge.proven
    assert charge.cost == Decimal("122.41")


def test_the_worst_case_of_the_scale_is_kept_in_exact_fractions():
    request = replace(EXACT, scale_error_g=0.05)
    charge, _ = cheapest_charge((FINE, COPPER), request)
    masses = {lot: Fraction(str(mass)) for lot, mass in weighed(charge).items()}
    error, over, under = Fraction("0.05"), Fraction("0.074"), Fraction("-0.925")

    def excess(extra_fine):
        return over * (masses["fine"] + extra_fine - error) + under * (masses["copper"] - extra_fine + error)

    assert excess(0) >= 0
    assert excess(Fraction("-0.01")) < 0, "a mark less of fine silver would break it"
    assert charge.fineness_low_permille == pytest.approx(925.0, abs=0.1)
    assert charge.fineness_low_permille >= 925.0


def test_whole_buttons_are_put_together_without_a_cut():
    masses_g = (31.2, 27.9, 22.4, 18.6, 15.3, 9.7, 6.1)
    buttons = [silver(f"B{mass}", 0.925, mass, whole=True, is_new=False) for mass in masses_g]
    charge, _ = cheapest_charge(buttons, replace(EXACT, mass_g=61.7, surplus_most_g=0.3))
    assert weighed(charge) == {"B27.9": 27.9, "B18.6": 18.6, "B15.3": 15.3}


def test_half_of_it_new_metal_and_no_more_earlier_melts_than_allowed():
    scrap = silver("scrap", 0.925, 200.0, "0.50", is_new=False, melts_count=4)
    half = cheapest_charge((FINE, COPPER, scrap), replace(EXACT, new_least_frac=0.5))[0]
    assert half.new_frac == pytest.approx(0.5, abs=1e-4)
    young = cheapest_charge((FINE, COPPER, scrap), replace(EXACT, melts_mean_most_count=1.0))[0]
    assert young.melts_mean_count <= 1.0
    assert weighed(young)["scrap"] == pytest.approx(30.0)
    few_old = cheapest_charge((FINE, COPPER, scrap), replace(EXACT, old_melts_count=3, old_most_frac=0.1))[0]
    assert few_old.old_frac <= 0.1
    assert weighed(few_old)["scrap"] == pytest.approx(12.0)


def test_copper_that_burns_away_is_made_up_for():
    request = replace(EXACT, loss_frac={"Cu": 0.10})
    charge, _ = cheapest_charge((FINE, COPPER), request)
    masses = weighed(charge)
    silver_g = 0.999 * masses["fine"]
    copper_g = 0.9 * (0.001 * masses["fine"] + masses["copper"])
    assert silver_g / (silver_g + copper_g) >= 0.925
    assert charge.lost_g == pytest.approx(masses["fine"] + masses["copper"] - silver_g - copper_g)
    assert masses["copper"] > 8.88, "more copper goes in than without the loss"


def test_a_window_of_another_element_is_kept():
    brass_like = StockPart("zinc-alloy", {"Ag": 0.925, "Zn": 0.075}, 0.925, 0.925, 500.0, price_per_g=Decimal("0.10"))
    request = replace(EXACT, windows_frac={"Zn": (0.0, 0.02)})
    charge, _ = cheapest_charge((FINE, COPPER, brass_like), request)
    assert charge.composition_frac["Zn"] == pytest.approx(0.02, abs=1e-4)
    assert charge.composition_frac["Zn"] <= 0.02 + 1e-9


def test_nothing_is_weighed_that_the_scale_cannot_weigh_well():
    charge, _ = cheapest_charge((FINE, COPPER), replace(EXACT, mass_g=20.0, weigh_least_g=2.0))
    assert charge is None or min(weighed(charge).values()) >= 2.0
    small, standing = cheapest_charge(
        (FINE, COPPER), replace(EXACT, mass_g=20.0, weigh_least_g=2.0, windows_frac={"Ag": (0.0, 0.93)})
    )
    assert small is None
    assert {one.limit for one in standing} >= {"weigh", "window"}


def test_a_stock_too_small_says_the_largest_charge_and_what_to_buy():
    charge, standing = cheapest_charge((FINE, COPPER), replace(EXACT, mass_g=500.0))
    assert charge is None
    by_limit = {one.limit: one for one in standing}
    # 300 g of fine at 999 make 324.0 g at 925; 500 g need 462.97 g.
    assert by_limit["mass"].reached == pytest.approx(324.0)
    assert by_limit["stock"].subject == "fine"
    assert by_limit["stock"].asked == pytest.approx(462.97)


def test_lean_scrap_alone_says_the_fineness_it_reaches():
    scrap = silver("scrap", 0.900, 200.0, is_new=False)
    charge, standing = cheapest_charge((scrap,), EXACT)
    assert charge is None
    (only,) = standing
    assert only.limit == "fineness"
    assert only.reached == pytest.approx(900.0)


def test_two_limits_that_must_give_together_are_both_named():
    scrap = silver("scrap", 0.900, 50.0, is_new=False)
    charge, standing = cheapest_charge((scrap,), replace(EXACT, new_least_frac=0.5))
    assert charge is None
    assert {one.limit for one in standing} == {"fineness", "new", "mass"}


def test_an_unknown_lot_is_guarded_by_its_low_end():
    doubtful = silver("doubtful", 0.925, 500.0, "0.10", low=0.90, high=0.95, is_new=False)
    charge, _ = cheapest_charge((FINE, COPPER, doubtful), EXACT)
    masses = weighed(charge)
    assert 0.999 * masses["fine"] + 0.90 * masses["doubtful"] >= 0.925 * 120.0 - 1e-9
    assert charge.fineness_permille > 925.0
    assert charge.meets_frac == 1.0


def test_a_probability_instead_of_the_worst_case_is_cheaper_and_keeps_its_word():
    doubtful = [silver(f"D{n}", 0.925, 40.0, "0.10", low=0.90, high=0.95, is_new=False) for n in range(3)]
    stock = (FINE, COPPER, *doubtful)
    guarded, _ = cheapest_charge(stock, EXACT)
    likely, _ = likely_charge(stock, EXACT, 0.95)
    assert likely.cost < guarded.cost
    assert 0.95 <= likely.meets_frac < 1.0
    assert probability_frac(likely.weigh, stock, EXACT) == likely.meets_frac


def test_an_empty_drawer_says_so():
    charge, standing = cheapest_charge((), EXACT)
    assert charge is None
    assert standing[0].limit == "stock"
