"""plan.json: plain values, and the trail of every figure."""

import json

import pytest
from tests.demo_day import planned

from pourwright.core.units import SUFFIXES, suffix_of
from pourwright.prepare.plan_file import plan_as_json, write_plan


@pytest.fixture(scope="module")
def document():
    return plan_as_json(planned().plan)


def test_it_says_its_format_and_what_it_was_made_from(document):
    assert document["format"] == 1
    assert len(document["made_from"]["studio_sha256"]) == 64
    assert len(document["made_from"]["tables_sha256"]) == 64
    assert document["made_from"]["patterns_sha256"]


def test_it_is_plain_json(document, tmp_path):
    write_plan(planned().plan, tmp_path / "plan.json")
    assert json.loads((tmp_path / "plan.json").read_text("utf-8")) == json.loads(json.dumps(document))


def test_every_input_of_the_trail_is_in_the_trail(document):
    rows = document["figures"]
    for key, row in rows.items():
        for name, input_key in row["inputs"].items():
            assert input_key in rows, f"{key} < {name}"


def test_every_trail_ends_at_a_file_a_table_or_a_source(document):
    rows = document["figures"]
    ends = [key for key, row in rows.items() if not row["inputs"] and not row["origin"] and not row["sources"]]
    assert not ends


def test_the_unit_in_the_key_is_the_unit_of_the_figure(document):
    for key, row in document["figures"].items():
        if "/" not in key:
            assert SUFFIXES[suffix_of(key.rsplit(".", 1)[1])] == SUFFIXES[row["unit"]], key


def test_low_best_high_are_in_order(document):
    for key, row in document["figures"].items():
        assert row["low"] <= row["value"] <= row["high"], key


def test_numbers_in_the_file_say_their_unit(document):
    bare = set()

    def walk(value, name):
        if isinstance(value, dict):
            for key, one in value.items():
                walk(one, key)
        elif isinstance(value, list):
            for one in value:
                walk(one, name)
        elif isinstance(value, float) and suffix_of(name) is None and name not in {"value", "low", "high", "best"}:
            bare.add(name)

    walk(document, "")
    assert not bare


def test_times_are_utc_with_the_zone_beside(document):
    assert document["zone"] == "Europe/Vienna"
    assert document["burnout"]["light_at"].endswith("Z")


def test_sources_of_the_trail_are_registered(document):
    from pourwright.core.sources import register

    assert {one for row in document["figures"].values() for one in row["sources"]} <= set(register())
