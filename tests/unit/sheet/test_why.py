"""Where a flask's numbers come from: range, way it is made, inputs, the one that moves it most, sources."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import html

from pourwright.core.figure import given, reckon
from pourwright.prepare.day_plan import DayPlan
from pourwright.sheet.why import reasons


@pytest.fixture
def reckoned(plan) -> DayPlan:
    """The plan with a floor that is made from two inputs, one of them with a range."""
    parts = {
        "sound_g": given(60.0, "g", "day.toml, piece P01", 59.0, 61.0, ("memory",)),
        "loss_frac": given(0.01, "frac", "studio.toml, habits"),
    }
    floor = reckon("g", "prepare.how-melts", lambda sound_g, loss_frac: sound_g / (1 - loss_frac), parts)
    one = plan.flasks[0]
    return replace(plan, flasks=(replace(one, need=replace(one.need, floor_g=floor)), *plan.flasks[1:]))


def test_a_number_says_range_inputs_mover_and_where_it_was_read(reckoned):
    row = next(one for one in reasons(reckoned, reckoned.flasks[0]) if one["name"] == "Charge, no less than")
    assert (row["value"], row["range"]) == ("60.61\u00a0g", "59.60\u00a0g – 61.62\u00a0g")
    assert row["from"] == ["sound 60.00\u00a0g", "loss 1.0\u00a0%"]
    assert row["mover"] == "sound"
    assert row["read"] == ["day.toml, piece P01", "studio.toml, habits"]
    assert len(row["sources"]) == 1


def test_every_number_acted_on_at_a_flask_has_its_reason(plan):
    names = [one["name"] for one in reasons(plan, plan.flasks[0])]
    assert names == [
        "Powder", "Water", "Charge", "Charge, no less than", "Charge, no more than", "Fineness at worst", "Flask at",
        "Weight at", "Wind", "Quench from, after release", "Quench until, after release",
    ]  # fmt: skip


def test_a_flask_without_a_charge_gives_no_reason_for_one(plan):
    one = plan.flasks[0]
    none = replace(one, need=replace(one.need, charge_g=None), alloyed=None)
    names = [row["name"] for row in reasons(plan, none)]
    assert "Charge" not in names
    assert "Fineness at worst" not in names


def test_on_the_screen_each_number_opens_by_itself(full_papers):
    page = html.document_fromstring((full_papers / "run-sheet.html").read_bytes())
    opened = page.xpath("//section[@id='flask-1']//details")
    assert len(opened) == 11
    assert all(one.find("summary") is not None for one in opened)
    assert "63.41" in opened[2].find("summary").text_content()
