"""Safety prompts on paper are the table's own words."""

from __future__ import annotations

from pourwright.matter.safety import prompt
from pourwright.sheet.cautions import caution, notice, way_back


def test_prompt_carries_its_figure_and_its_law():
    shown = caution("fire.watch")
    assert shown["text"].endswith("after the last flame, by the regulation at least: 30 min.")
    assert shown["citation"].replace("\u00a0", " ") == prompt("fire.watch").citation


def test_prompt_without_a_source_is_marked():
    assert caution("spin.wound")["marks"] == ["practice"]
    assert caution("quench.scald")["marks"] == ["memory"]
    assert caution("gas.acet")["marks"] == []


def test_way_back_is_the_tables_sentence_step_by_step():
    shown = way_back()
    assert [step.split()[0] for step in shown["steps"]] == ["Flame", "Flask", "Metal", "The", "Only"]
    sentence = prompt("abort.path").statement.lower()
    assert all(step.rstrip(".").lower() in sentence for step in shown["steps"])


def test_notice_defers_to_those_who_govern():
    assert "local codes" in notice()
    assert "licensed practice" in notice()
    assert notice()[0].isupper()
