"""After the quench: steps, the weigh-up with its planned weights, the question before a sale, the clean-up."""

from __future__ import annotations

from dataclasses import replace

from pourwright.matter.assay import assay_question
from pourwright.sheet.after import after, clean_up


def test_without_an_aftercare_there_is_nothing_to_print(plan):
    assert after(plan) is None


def test_steps_go_from_breaking_out_to_marking(full_plan):
    texts = [step["text"] for step in after(full_plan)["steps"]]
    order = ("break the mould out wet", "cut P01, P02, P05 off", "pickle", "loupe", "Mark only")
    places = [next(number for number, text in enumerate(texts) if words in text) for words in order]
    assert places == sorted(places)


def test_weights_after_cutting_off_are_written_in_one_place_only(full_plan):
    page = after(full_plan)
    cutting = [step for step in page["steps"] if "cut P" in step["text"]]
    assert len(cutting) == 2
    assert not any(step["write_in"] for step in cutting)
    assert [[piece["short"] for piece in one["pieces"]] for one in page["weigh_up"]] == [
        ["P01", "P02", "P05"], ["P03", "P04"],
    ]  # fmt: skip


def test_the_weigh_up_has_the_charge_and_every_piece_as_planned(full_plan):
    first = after(full_plan)["weigh_up"][0]
    assert first["charge"] == "63.41\u00a0g"
    assert [piece["mass"] for piece in first["pieces"]] == ["3.04\u00a0g", "8.72\u00a0g", "1.49\u00a0g"]


def test_the_laws_question_comes_with_its_limit_for_the_days_metal(full_plan):
    ask = after(full_plan)["assay"]
    assert ask["title"] == "United Kingdom"
    assert ask["limit"] == "7.78\u00a0g"
    assert "hallmark" in ask["text"]


def test_where_no_country_is_named_the_question_stands_without_one(full_plan):
    care = replace(full_plan.aftercare, assay=assay_question(""))
    ask = after(replace(full_plan, aftercare=care))["assay"]
    assert (ask["title"], ask["limit"]) == ("", "")
    assert "assay office" in ask["text"]


def test_dust_pickle_and_spent_mould_have_their_steps(full_plan):
    page = clean_up(full_plan)
    text = " ".join(step["text"] for step in page["steps"])
    for words in ("wet cloths", "strong bags", "pickle", "mud"):
        assert words in text, words
    assert any("Never blow out" in one["text"] for one in page["waste"])


def test_resin_waste_is_named_where_a_print_was_cast_and_only_there(plan):
    printed = replace(plan, pieces=(replace(plan.pieces[0], family="resin"),))
    assert any("Resin" in step["text"] for step in clean_up(printed)["steps"])
    assert not any("Resin" in step["text"] for step in clean_up(plan)["steps"])
