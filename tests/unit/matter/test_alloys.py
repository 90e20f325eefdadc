"""Casting alloys and bought metal."""

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.alloys import alloy, alloy_ids, stock_metal, stock_metal_ids
from pourwright.matter.elements import ideal_density_kg_m3

# Alloys whose density is worked out from their elements, and how near the ideal mixture must come.
_IDEAL = {
    "gold-14k": 2e-4,
    "gold-14k-zn": 2e-4,
    "gold-10k": 2e-4,
    "gold-9k": 2e-4,
    "silver-900": 1e-3,
    "britannia-958": 1e-3,
}


def test_all_fifteen_alloys_can_be_read():
    assert len(alloy_ids()) == 15
    assert all(alloy(one).id == one for one in alloy_ids())


def test_sterling_is_in_si():
    sterling = alloy("sterling-925")
    assert (sterling.family, sterling.element, sterling.fineness_permille) == ("silver", "Ag", 925)
    assert sterling.liquidus_K.best == pytest.approx(893 + 273.15)
    assert sterling.solid_kg_m3.best == 10360
    assert sterling.property("latent_heat").unit == "J/kg"
    assert sterling.property("last_freezing").best == pytest.approx(779.1 + 273.15)


def test_every_alloy_melts_over_an_ordered_range_and_is_lighter_when_molten():
    for one in map(alloy, alloy_ids()):
        assert one.solidus_K.best <= one.liquidus_K.best
        assert one.liquid_kg_m3(one.liquidus_K.best).best < one.solid_kg_m3.best


def test_the_noble_share_keeps_the_mark():
    for one in map(alloy, alloy_ids()):
        assert 1000 * one.composition_frac.get(one.element, 0.0) >= one.fineness_permille - 1e-9


def test_liquid_density_falls_as_the_melt_gets_hotter():
    sterling = alloy("sterling-925")
    cool, hot = sterling.liquid_kg_m3(1180.0), sterling.liquid_kg_m3(1243.15)
    assert hot.best < cool.best
    assert hot.best == pytest.approx(9208.06 - 0.893692 * 77, rel=1e-4)
    assert hot.low < hot.best < hot.high


def test_liquid_range_stays_ordered_for_an_undercooled_melt():
    cold = alloy("sterling-925").liquid_kg_m3(1100.0)
    assert cold.low < cold.best < cold.high


@pytest.mark.parametrize(("key", "tolerance"), _IDEAL.items())
def test_derived_densities_follow_from_the_elements(key, tolerance):
    one = alloy(key)
    assert one.solid_kg_m3.kind == "derived"
    assert one.solid_kg_m3.best == pytest.approx(ideal_density_kg_m3(one.composition_frac), rel=tolerance)


def test_only_the_leaded_brass_is_refused_in_teaching():
    assert [one for one in alloy_ids() if alloy(one).refuse_in_teaching] == ["yellow-brass-c85700"]


@pytest.mark.parametrize("wrong", ["sterling", "sterling_925", "Sterling-925"])
def test_a_wrong_alloy_names_the_nearest(wrong):
    with pytest.raises(DataError, match="did you mean sterling-925"):
        alloy(wrong)


def test_an_alloy_unlike_any_lists_what_there_is():
    with pytest.raises(DataError, match="known are britannia-958"):
        alloy("xyzzy")


def test_a_property_that_is_not_there_is_refused():
    with pytest.raises(DataError, match=r"property of sterling-925 'cp_liqid'.*cp_liquid"):
        alloy("sterling-925").property("cp_liqid")


def test_bought_metal_is_at_least_what_its_name_says():
    fine = stock_metal("fine-silver-999")
    assert (fine.element, fine.fineness_permille.low, fine.fineness_permille.high) == ("Ag", 999, 1000)
    assert stock_metal("fine-gold-9999").fineness_permille.best == 999.9
    assert stock_metal("copper").fineness_permille.best == 0


def test_every_alloy_can_be_grain_with_the_fineness_it_holds():
    assert set(alloy_ids()) <= set(stock_metal_ids())
    assert stock_metal("gold-14k").fineness_permille.best == pytest.approx(585)
    assert stock_metal("britannia-958").fineness_permille.best == pytest.approx(958.4)


def test_a_wrong_stock_metal_names_the_nearest():
    with pytest.raises(DataError, match="fine-silver-999"):
        stock_metal("fine-silver")
