"""The last page: fire watch by the clock, shutting down, first aid."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.sheet.sample_plan import at

from pourwright.sheet.closing import closing


def test_fire_watch_ends_an_hour_after_the_last_pour(plan):
    late = replace(plan, flasks=(replace(plan.flasks[0], pour_at=at(16, 10)),))
    fire = closing(late)["fire"]
    assert fire["last"] == "16:10"
    assert fire["until"] == "17:10"


def test_gas_is_shut_and_bled_before_all_else(plan):
    texts = [step["text"] for step in closing(plan)["steps"]]
    assert "gas off" in texts[0]
    assert "bled" in texts[1]
    assert any("Kiln off" in text for text in texts)


def test_first_aid_is_there(plan):
    assert "cool running tap water" in closing(plan)["first_aid"][0]["text"]
