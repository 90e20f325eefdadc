"""Every number of a plan explained in words that a caster reads, down to its sources."""

import json
import re

import pytest
from tests.demo_day import planned

from pourwright.core.findings import Level
from pourwright.core.sources import register
from pourwright.doors.service.explain import acted_on, as_json, as_text, explain, short_key
from pourwright.doors.service.explain_text import name_in_words, value_text
from pourwright.prepare.plan_file import write_plan


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    folder = tmp_path_factory.mktemp("day")
    write_plan(planned().plan, folder / "plan.json")
    return folder / "plan.json"


def _text(path, *words):
    return as_text(explain(words, path))


def test_a_charge_is_explained_with_what_moves_it_most_and_its_sources(path):
    text = _text(path, "F1.need.floor_g")
    assert text.startswith("F1.need.floor_g\n  ")
    assert "What moves it most is " in text
    assert "alone takes it from" in text
    assert "Made from" in text and "studio.toml" in text
    assert "[sterling_page]" in text.partition("Sources")[2]


@pytest.mark.parametrize("place", ["plan.json", "day.toml", ""])
def test_the_day_may_be_named_by_its_folder_its_file_or_its_plan(path, place):
    (path.parent / "day.toml").touch()
    answer = explain((str(path.parent / place), "F1", "floor_g"), None)
    assert answer.key.endswith("F1.need.floor_g")


def test_without_a_key_the_numbers_acted_on_are_listed(path):
    text = _text(path)
    assert {"F1.need.charge_g", "F1.throw.balance.mark_mm", "pouring.total_min"} <= set(re.findall(r"^\S+", text, re.M))
    assert not any("windings" in line for line in text.splitlines())


def test_every_number_acted_on_is_found_by_its_short_key_and_explained(path):
    rows = json.loads(path.read_text())["figures"]
    for key in acted_on(rows):
        answer = explain((short_key(key),), path)
        assert (answer.key, answer.findings) == (key, ())
        assert as_text(answer).count("\n") >= 2


def test_every_key_of_the_plan_can_be_explained_within_a_terminal(path):
    for key in json.loads(path.read_text())["figures"]:
        lines = _text(path, key).splitlines()
        # names of sources and origins may hold one word longer than a line
        assert all(len(line) <= 100 for line in lines), key


def test_what_moves_a_range_is_said_wherever_there_is_one_that_was_reckoned(path):
    rows = json.loads(path.read_text())["figures"]
    for key, row in rows.items():
        if row["moved_most_by"]:
            assert row["low"] - 1e-2 <= row["moved_to"]["low"] <= row["moved_to"]["high"] <= row["high"] + 1e-2, key
        else:
            assert row["moved_to"] is None


def test_part_of_a_key_that_several_have_asks_which(path):
    (asks,) = explain(("floor_g",), path).findings
    assert asks.level is Level.ASK
    assert "F1.need.floor_g" in asks.what and "F2.need.floor_g" in asks.what
    assert as_json(explain(("floor_g",), path)) == {"key": "floor_g"}


def test_a_key_that_nothing_has_names_the_nearest(path):
    (found,) = explain(("F1.need.flor_g",), path).findings
    assert "F1.need.floor_g" in found.what


def test_a_plan_that_is_not_there_is_said(tmp_path):
    (found,) = explain(("F1",), tmp_path / "plan.json").findings
    assert (found.code, found.level) == ("doors.plan-not-there", Level.STOP)


def test_sources_stand_in_full_in_the_document(path):
    document = as_json(explain(("F1.need.floor_g",), path))
    assert document["source_titles"]["sterling_page"].startswith(register()["sterling_page"].title)
    assert document["unit"] == "g"


def _row(value, low, high, unit):
    return {"value": value, "low": low, "high": high, "unit": unit}


def test_a_range_too_small_for_the_usual_digits_gets_more_or_is_left_out():
    assert value_text(_row(0.4409, 0.4397, 0.4436, "cm3")) == "0.441 cm³ (0.440 cm³ to 0.444 cm³)".replace(
        " cm", "\u00a0cm"
    )
    assert value_text(_row(5.0, 5.0 - 1e-9, 5.0, "g")) == "5.00\u00a0g"
    assert value_text(_row(0.008, 0.004, 0.012, "frac")).startswith("0.8\u00a0%")


def test_inputs_are_called_by_words():
    assert name_in_words("hemihydrate_frac") == "plaster in the powder"
    assert name_in_words("flask_dry_kg") == "flask dry"
    assert name_in_words("2026-12-05-P02") == "2026-12-05-P02"
