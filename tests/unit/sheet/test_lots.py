"""The weighing page: sums on paper are the plan's sums."""

from __future__ import annotations

from dataclasses import replace

from pourwright.sheet.lots import fineness, lot_title, pans, weighing


def _grams(words):
    return round(float(words.split()[0].replace("\u2009", "")), 2)


def test_pans_of_a_flask_add_up_to_its_charge(plan):
    for one in plan.flasks:
        assert round(sum(_grams(pan["mass"]) for pan in pans(plan, one)), 2) == one.need.charge_g.value


def test_rows_of_the_table_add_up_to_what_leaves_the_drawer(plan):
    page = weighing(plan)
    for lot, row in zip(page["lots"], page["tables"][0]["rows"], strict=True):
        assert lot["lot"] == row["lot"]
        assert round(sum(_grams(mass) for mass in row["pans"]), 2) == _grams(lot["out"])
        assert round(_grams(lot["have"]) - _grams(lot["out"]), 2) == _grams(lot["left"])


def test_more_than_four_flasks_go_into_several_tables(plan):
    many = replace(plan, flasks=tuple(replace(plan.flasks[0], number=number) for number in (1, 2, 3, 4, 5, 7)))
    assert [table["flasks"] for table in weighing(many)["tables"]] == [[1, 2, 3, 4], [5, 7]]


def test_worst_case_stands_beside_the_fineness(plan):
    assert fineness(plan.flasks[0].alloyed) == {"aim": "925.7\u00a0‰", "worst": "925.1\u00a0‰", "scrap": "42\u00a0%"}


def test_scrap_and_owner_are_named(plan):
    owned = replace(plan.studio.lots[2], owner="Søren Łęcki")
    studio = replace(plan.studio, lots=(*plan.studio.lots[:2], owned))
    assert lot_title(replace(plan, studio=studio), "L-0051") == "clean scrap, of Søren Łęcki"


def test_flask_without_a_charge_has_no_pans(plan):
    bare = replace(plan.flasks[0], alloyed=None)
    assert pans(plan, bare) == []
    assert weighing(replace(plan, flasks=(bare,)))["tables"][0]["totals"] == ["–"]
