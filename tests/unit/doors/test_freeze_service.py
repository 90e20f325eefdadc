"""The freeze service over the demo day, with invented bodies and an engine that makes times up from shape."""

import json
import shutil
from dataclasses import replace

import pytest
from tests.demo_day import demo_files, made_up_report, planned
from tests.unit.simulate.made_up_flask import edges_of, fake_engine

from pourwright.core.errors import SolverError
from pourwright.core.findings import stops
from pourwright.core.text import say
from pourwright.doors.cli.main import run
from pourwright.doors.service import freeze as service
from pourwright.doors.service.freeze_file import read_summaries, summary_as_json
from pourwright.doors.service.freeze_plan import with_freezing
from pourwright.prepare.plan_file import plan_as_json
from pourwright.shape.pattern.solids import sphere, without_faces

PLAN = planned().plan


@pytest.fixture
def day(tmp_path, monkeypatch):
    """The demo studio in a folder of its own, nothing measured and nothing reckoned for long."""
    shutil.copytree(demo_files(), tmp_path / "studio")
    monkeypatch.setattr(service, "measure_in", lambda folder: made_up_report)
    monkeypatch.setattr("pourwright.simulate.engine.freeze", fake_engine)
    monkeypatch.setattr("pourwright.simulate.engine.thin_frac", lambda job, side_mm: 0.0)
    monkeypatch.setattr(
        "pourwright.simulate.engine.cells_count", lambda job, side_mm: edges_of(job, 1.0)[0].turns_ratio.size
    )
    return max((tmp_path / "studio").glob("days/*/day.toml"))


def frozen(day, **asked):
    return service.freeze_day_file(day, side="1 mm", **asked)


def codes(answer):
    return [one.code for one in answer.findings]


def test_every_flask_of_the_day_has_an_answer(day):
    answer = frozen(day)
    plain = json.loads(json.dumps(service.as_json(answer)))
    assert [one["id"] for one in plain["flasks"]] == [one.id for one in PLAN.flasks]
    for one in plain["flasks"]:
        assert one["finished"]
        assert 0 < one["last_solid_s"] < one["black_heat_s"]
        assert one["energy_error_frac"] < 1e-3
        assert {"value", "low", "high", "unit", "moved_most_by"} == one["ranges"]["last_solid_s"].keys()
        assert one["verdicts"]
        assert isinstance(one["hot_spots"], list)
    assert plain["shrinkage_only"]


@pytest.mark.parametrize("name", ["F1", "1", "FL-03", PLAN.flasks[0].id])
def test_one_flask_can_be_named_in_four_ways(day, name):
    wanted = next(one for one in PLAN.flasks if name in (one.id, one.id[-2:], str(one.number), one.flask))
    assert [one.id for one in frozen(day, flask=name).flasks] == [wanted.id]


@pytest.mark.parametrize(
    ("asked", "code", "words"),
    [
        ({"flask": "F9"}, "doors.freeze-flask-unknown", "F9"),
        ({"flask_temperature": "540"}, "doors.freeze-amount", "540"),
        ({"flask_temperature": "1540 C"}, "doors.freeze-flask-absurd", "1\u2009540"),
        ({"flask_temperature": "-5 C"}, "doors.freeze-flask-absurd", "\u22125"),
        ({"pour_temperature": "700 C"}, "doors.freeze-pour-absurd", "700"),
        ({"pour_temperature": "2500 F"}, "doors.freeze-pour-absurd", "1\u2009371"),
        ({"granted": "0 s"}, "doors.freeze-time", "0 s"),
        ({"granted": "soon"}, "doors.freeze-amount", "soon"),
    ],
)
def test_bad_input_is_one_clear_finding(day, asked, code, words):
    answer = frozen(day, **asked)
    assert codes(answer) == [code]
    assert stops(answer.findings)
    assert words in answer.findings[0].what
    assert answer.findings[0].do_next
    assert not answer.flasks


def test_cells_out_of_all_reason_are_refused(day):
    assert codes(service.freeze_day_file(day, side="0.001 mm")) == ["doors.freeze-side"]


def test_all_that_is_wrong_is_said_at_once(day):
    answer = service.freeze_day_file(day, flask_temperature="540", pour_temperature="hot", side="9 mm")
    assert codes(answer) == ["doors.freeze-amount", "doors.freeze-amount", "doors.freeze-side"]


def told(day, capsys, *asked):
    """What a person reads on the screen after a refusal: words in a row, whatever the width of the lines."""
    assert run(["freeze", str(day), *asked]) == 1
    shown = capsys.readouterr()
    assert "Traceback" not in shown.out + shown.err
    return " ".join((shown.out + shown.err).replace("│", " ").split())


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--pour-temperature", "3000 C"), "3 000"),
        (("--flask-temperature", "-5 C"), "\u22125"),
        (("--side", "0.001 mm"), "0.001"),
        (("--side", "2 mm"), "cells of 2.00 mm are thicker than the wall"),
    ],
)
def test_a_person_reads_why_absurd_conditions_are_refused(day, capsys, asked, words):
    assert words in told(day, capsys, "--flask", "F1", *asked)


def test_a_person_reads_that_memory_is_too_short(day, capsys, monkeypatch):
    monkeypatch.setattr(service, "memory_bytes_count", lambda: 10**6)
    said = told(day, capsys, "--flask", "F1")
    assert "with the memory that is free only cells of" in said
    assert "Close other programs, or run it on a machine with more memory." in said


def test_a_person_reads_that_the_engine_has_too_little_memory(day, capsys, monkeypatch):
    def refuse(*_):
        raise SolverError(say("physics.freeze-memory", needed="9.0", free="1.0"))

    monkeypatch.setattr("pourwright.simulate.engine.freeze", refuse)
    said = told(day, capsys, "--flask", "F1")
    assert "9.0" in said
    assert "Take larger cells" in said


def test_a_person_reads_which_pattern_is_open(day, capsys, monkeypatch):
    leaking = without_faces(sphere(5.0, 24), range(40))

    def measured(order):
        report = made_up_report(order)
        return replace(report, mesh=leaking) if report is not None and order.id.endswith("P02") else report

    monkeypatch.setattr(service, "measure_in", lambda folder: measured)
    said = told(day, capsys, "--flask", "F1")
    assert "The pattern of 2026-12-05-P02 is not one closed body" in said
    assert "Run pourwright check on its file" in said


def test_much_of_the_metal_thinner_than_a_cell_is_refused(day, capsys, monkeypatch):
    monkeypatch.setattr("pourwright.simulate.engine.thin_frac", lambda job, side_mm: 0.4)
    assert "On 40 % of the metal's surface a wall" in told(day, capsys, "--flask", "F1")


def test_some_of_the_metal_thinner_than_a_cell_is_said_beside_the_answer(day, monkeypatch):
    monkeypatch.setattr("pourwright.simulate.engine.thin_frac", lambda job, side_mm: 0.05)
    answer = frozen(day, flask="F1")
    assert "simulate.thin-places" in codes(answer)
    assert answer.flasks[0].finished


def test_a_day_that_cannot_be_planned_is_refused_with_the_plans_reasons(day):
    day.write_text(day.read_text("utf-8").replace('alloy = "sterling-925"', 'alloy = "sterlin-925"'), "utf-8")
    answer = frozen(day)
    assert stops(answer.findings)
    assert not answer.flasks


def test_a_stop_is_said_and_the_same_command_goes_on(day):
    asked = iter([False, False, True])
    stopped = frozen(day, flask="F1", cancelled=lambda: next(asked, True))
    assert codes(stopped)[-1] == "doors.freeze-stopped"
    assert not stopped.flasks[0].finished
    assert not (day.parent / "freeze.json").exists()
    done = frozen(day, flask="F1")
    assert done.flasks[0].finished


def test_what_was_found_is_kept_beside_the_day_and_read_back(day):
    answer = frozen(day, flask="F1")
    again = frozen(day, flask="F2")
    kept = read_summaries(day.parent)
    assert sorted(kept) == [answer.flasks[0].id, again.flasks[0].id]
    told = answer.flasks[0].summary
    assert summary_as_json(kept[answer.flasks[0].id]) == summary_as_json(told)
    assert (day.parent / told.picture).read_text("utf-8").startswith("<svg")


def test_a_damaged_or_newer_file_is_no_reason_to_stop(day):
    (day.parent / "freeze.json").write_text('{"format": 99, "flasks": {}}', "utf-8")
    assert read_summaries(day.parent) == {}
    (day.parent / "freeze.json").write_text("not json", "utf-8")
    assert read_summaries(day.parent) == {}


def test_the_plan_takes_up_what_was_reckoned_for_its_tree(day):
    frozen(day, flask="F1")
    plan = with_freezing(PLAN, day.parent)
    first, second = plan.flasks
    assert first.freeze is not None
    assert second.freeze is None
    # the demo's arm may slow to three gravities before the last metal is solid: its friction was never measured
    assert [one.code for one in plan.findings[len(PLAN.findings) + len(first.freeze.findings) :]] == [
        "prepare.throw-may-stop-early"
    ]


def test_the_plan_file_holds_it_with_its_trail(day):
    frozen(day, flask="F1")
    document = plan_as_json(with_freezing(PLAN, day.parent))
    load = PLAN.flasks[0].id
    kept = document["flasks"][0]["freeze"]
    assert kept["last_solid_s"] > 0
    assert kept["verdicts"][0]["words"].endswith("Shrinkage only.")
    trail = document["figures"][f"flasks.{load}.freeze.last_solid_s"]
    assert trail["origin"].startswith(f"freezing run of {load}")
    assert document["flasks"][1]["freeze"] is None
    json.dumps(document)


def test_another_tree_or_temperature_is_not_taken_up_and_that_is_said(day):
    frozen(day, flask="F1")
    hotter = planned(
        flask_temperature_C=replace(PLAN.flasks[0].flask_temperature_C, value=600.0, low=600.0, high=600.0)
    )
    plan = with_freezing(hotter.plan, day.parent)
    assert plan.flasks[0].freeze is None
    assert plan.findings[-1].code == "doors.freeze-stale"
    assert "600" in plan.findings[-1].what
    other = with_freezing(planned(volume_mm3=950.0).plan, day.parent)
    assert other.flasks[0].freeze is None


def test_fields_are_written_for_viewers_when_asked(day, tmp_path):
    answer = frozen(day, flask="F1", fields=tmp_path / "fields")
    assert sorted(one.name for one in (tmp_path / "fields").iterdir()) == [
        f"{PLAN.flasks[0].id}.vtr", f"{PLAN.flasks[0].id}.zarr",
    ]  # fmt: skip
    assert tmp_path / "fields" / f"{PLAN.flasks[0].id}.vtr" in answer.files


def test_the_text_tells_a_caster_what_matters(day):
    text = service.as_text(frozen(day, flask="F1"))
    assert "all metal solid after" in text
    assert "not yet safe to quench" in text
    assert text.count("Shrinkage only") >= 1
    assert "no porosity" not in text


def test_the_command_prints_one_json_document_also_on_refusal(day, capsys):
    assert run(["freeze", str(day), "--flask-temperature", "540", "--json"]) == 1
    refused = json.loads(capsys.readouterr().out)
    assert refused["flasks"] == []
    assert refused["findings"][0]["code"] == "doors.freeze-amount"
    assert run(["freeze", str(day), "--samples", "-1", "--json"]) == 2
    json.loads(capsys.readouterr().out)
    run(["freeze", str(day), "--flask", "F1", "--side", "1 mm", "--json"])
    assert json.loads(capsys.readouterr().out)["flasks"][0]["finished"]
