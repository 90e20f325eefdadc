"""Steps before and after, and piece cards (NEEDS J8)."""

from dataclasses import replace

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report, planned
from tests.unit.prepare.mould_bench import fig

from pourwright.core.text import say
from pourwright.matter.assay import assay_countries, assay_question
from pourwright.matter.safety import prompt_ids
from pourwright.prepare.after.cards import lot_shares, remark_for
from pourwright.prepare.plan import plan_day


@pytest.fixture(scope="module")
def aftercare():
    return planned().plan.aftercare


def _in(country, volume_mm3=900.0, **changes):
    studio, day = demo_studio_and_day()
    there = replace(studio, country=country, **changes)
    return plan_day(there, day, lambda order: made_up_report(order, volume_mm3)).plan.aftercare


def test_every_piece_has_a_card_whose_lots_sum_to_its_mass(aftercare):
    plan = planned().plan
    assert sorted(one.piece for one in aftercare.cards) == sorted(one.id for one in plan.pieces)
    for card in aftercare.cards:
        assert sum(one.mass_g for one in card.lots) == pytest.approx(card.mass_g.value, abs=0.01)


def test_a_card_gives_fineness_worst_case_and_who_weighed():
    card = planned(weighed_by="Student C").plan.aftercare.cards[0]
    assert card.worst_permille.value >= 925 - 1e-9
    assert card.fineness_permille.value >= card.worst_permille.value
    assert card.weighed_by == "Student C"
    assert card.remark == ""


def test_one_unknown_lot_and_the_card_says_not_to_be_sold_without_assay():
    lots = lot_shares(10.0, {"L-1": 60.0, "L-2": 40.0}, {"L-2"})
    key = remark_for(lots, fig(926, "permille"), 925)
    assert say(key, standard="925") == "Not to be sold as 925 without assay"
    assert remark_for(lot_shares(10.0, {"L-1": 60.0}, {"L-2"}), fig(926, "permille"), 925) == ""


def test_the_plan_carries_the_remark_for_an_unknown_lot_it_uses():
    studio, _ = demo_studio_and_day()
    unsure = tuple(replace(one, certain=False) if one.id == "L-0003" else one for one in studio.lots)
    cards = _in("", lots=unsure).cards
    used = [any(lot.lot == "L-0003" for lot in card.lots) for card in cards]
    assert any(used)
    assert [card.remark == "prepare.card-not-sold" for card in cards] == used
    assert {card.standard for card in cards} == {"925"}


def test_a_worst_case_below_the_standard_is_not_sold_either():
    lots = lot_shares(10.0, {"L-1": 60.0}, ())
    assert remark_for(lots, fig(924.6, "permille"), 925) == "prepare.card-not-sold"


@pytest.mark.parametrize("mass_g", [0.005, 3.333, 21.756])
def test_shares_are_hundredths_that_lose_nothing(mass_g):
    shares = lot_shares(mass_g, {"a": 1.0, "b": 1.0, "c": 1.0}, ())
    assert sum(round(100 * one.mass_g) for one in shares) == round(100 * mass_g)
    assert lot_shares(mass_g, {}, ()) == ()


def test_assay_applies_above_the_limit_of_the_country():
    cards = _in("united-kingdom", volume_mm3=700.0).cards
    assert {card.assay_applies for card in cards} == {True, False}
    assert all(card.assay_applies == (card.mass_g.value > 7.78) for card in cards)


def test_a_country_outside_the_table_asks_its_assay_office():
    question = _in("atlantis").assay
    assert question.id == "default"
    assert question.statement.startswith("Ask your assay office")
    assert not any(card.assay_applies for card in _in("").cards)


def test_the_table_names_its_countries_with_limit_and_source():
    assert assay_countries() == ("united-kingdom", "finland", "united-states")
    silver = assay_question("united-kingdom").limits_g["Ag"]
    assert (silver.best, silver.unit, silver.sources) == (7.78, "g", ("hallconv_uk",))
    assert assay_question("united-kingdom").control == "compulsory"


def test_every_step_can_be_said_and_its_prompts_exist(aftercare):
    steps = (*aftercare.before, *aftercare.after)
    assert steps
    for one in steps:
        assert "{" not in say(one.what, **one.params)
        assert set(one.prompts) <= set(prompt_ids())
        assert all(say(key) for key in one.write_in)


def test_prints_are_washed_and_cured_before_every_flask_is_sprued_and_weighed(aftercare):
    assert aftercare.before[0].what == "prepare.step-wash-cure"
    assert aftercare.before[0].prompts == ("resin.handling",)
    assert aftercare.before[0].params == {"materials": "castable-resin"}
    sprued = [one for one in aftercare.before if one.what == "prepare.step-sprue"]
    assert len(sprued) == len(planned().plan.flasks)
    assert sprued[0].write_in == ("prepare.write-pattern", "prepare.write-base", "prepare.write-invested")


def test_a_material_with_its_own_sheet_gives_its_own_words():
    studio, _ = demo_studio_and_day()
    density = studio.materials[0].density_g_cm3
    own = replace(studio.materials[0], id="castable-resin", family="resin", density_g_cm3=density, programme="",
                  wash=("first bath 3 min", "second bath 3 min"), cure=("30 min of light",))  # fmt: skip
    steps = _in("", materials=(*studio.materials, own)).before
    spoken = [say(one.what, **one.params) for one in steps]
    assert "Wash castable-resin: first bath 3 min; second bath 3 min" in spoken
    assert "Cure castable-resin: 30 min of light" in spoken
    assert not any(one.what == "prepare.step-wash-cure" for one in steps)


def test_castings_are_broken_out_wet_and_pieces_and_sprues_weighed_apart(aftercare):
    devest = next(one for one in aftercare.after if one.what == "prepare.step-devest")
    cut = next(one for one in aftercare.after if one.what == "prepare.step-cut")
    assert "devest.acid" in devest.prompts
    assert {"prepare.write-piece", "prepare.write-sprue"} <= set(cut.write_in)
