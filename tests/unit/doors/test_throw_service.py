"""The throw service over the demo day, with invented bodies on coarse cubes."""

import json
import shutil
from dataclasses import replace

import pytest
from tests.demo_day import demo_files, made_up_report, planned

from pourwright.core.findings import stops
from pourwright.doors.cli.main import run
from pourwright.doors.service import freeze
from pourwright.doors.service import throw as service
from pourwright.doors.service.throw_file import THROW_FILE, read_throws
from pourwright.doors.service.throw_plan import plan_with_windows, with_filling
from pourwright.doors.service.throw_text import as_text, window_words
from pourwright.prepare.plan_file import plan_as_json
from pourwright.simulate.throw_summary import FillWindow

PLAN = planned().plan
SIDE = "1 mm"


@pytest.fixture
def day(tmp_path, monkeypatch):
    """The demo studio in a folder of its own, nothing measured."""
    shutil.copytree(demo_files(), tmp_path / "studio")
    monkeypatch.setattr(freeze, "measure_in", lambda folder: made_up_report)
    return max((tmp_path / "studio").glob("days/*/day.toml"))


@pytest.fixture(scope="module")
def thrown(tmp_path_factory):
    """The answer for the day's first flask, and the day."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(freeze, "measure_in", lambda folder: made_up_report)
        home = tmp_path_factory.mktemp("thrown") / "studio"
        shutil.copytree(demo_files(), home)
        day = max(home.glob("days/*/day.toml"))
        return service.throw_day_file(day, flask="F1", side=SIDE, samples_count=3), day


def codes(answer):
    return [one.code for one in answer.findings]


def test_every_piece_of_the_flask_has_its_probability_and_its_last_arrival(thrown):
    answer, _ = thrown
    (flask,) = json.loads(json.dumps(service.as_json(answer), allow_nan=False))["flasks"]
    assert [one["piece"] for one in flask["pieces"]] == [one.id for one in PLAN.flasks[0].tree.placed]
    for one in flask["pieces"]:
        assert 0 <= one["fill_probability_frac"] <= 1
        assert one["runs_count"] == 3
        assert one["last_arrival_low_s"] <= one["last_arrival_s"] <= one["last_arrival_high_s"]
        assert one["state"] in ("fills", "open", "fails")
    assert flask["mass_error_frac"] < 1e-9
    assert flask["turns_turns"] == PLAN.flasks[0].throw.wind_turns.value


def test_the_text_says_how_surely_when_and_what_is_not_seen(thrown):
    words = as_text(thrown[0])
    assert "of 3 runs" in words
    assert "Not seen by this: splash" in words
    assert "stand clear" in words
    assert "safe" not in words.lower().replace("unsafe", "")


def test_the_answer_is_kept_and_comes_back_the_same_at_once(thrown, monkeypatch):
    answer, day = thrown
    monkeypatch.setattr(freeze, "measure_in", lambda folder: made_up_report)
    monkeypatch.setattr(service, "run_throw", None)  # nothing may be reckoned again
    again = service.throw_day_file(day, flask="F1", side=SIDE, samples_count=3)
    assert service.as_json(again)["flasks"] == service.as_json(answer)["flasks"]


def test_the_plan_takes_it_up_for_the_same_tree_temperature_and_turns_only(thrown):
    answer, day = thrown
    summary = answer.flasks[0].summary
    (kept,) = read_throws(day.parent).values()
    assert kept.pieces == summary.pieces or len(kept.pieces) == len(summary.pieces)
    plan = with_filling(PLAN, day.parent)
    assert plan.flasks[0].fill is not None
    assert plan.flasks[1].fill is None
    document = plan_as_json(plan)
    assert document["flasks"][0]["fill"]["pieces"][0]["piece"] == summary.pieces[0].piece
    hotter = replace(PLAN.flasks[0].flask_temperature_C, value=PLAN.flasks[0].flask_temperature_C.value + 20)
    other = replace(PLAN, flasks=(replace(PLAN.flasks[0], flask_temperature_C=hotter), *PLAN.flasks[1:]))
    stale = with_filling(other, day.parent)
    assert stale.flasks[0].fill is None
    assert "doors.throw-stale" in [one.code for one in stale.findings]


@pytest.mark.parametrize(
    ("asked", "code", "words"),
    [
        ({"flask": "F9"}, "doors.freeze-flask-unknown", "F9"),
        ({"turns": "0"}, "doors.throw-turns", "0"),
        ({"turns": "many"}, "doors.freeze-amount", "many"),
        ({"turns": "9"}, "doors.throw-over-limit", "9"),
        ({"flask_temperature": "540"}, "doors.freeze-amount", "540"),
        ({"flask_temperature": "1540 C"}, "doors.freeze-flask-absurd", "540"),
        ({"head": "vacuum", "vacuum": "200 kPa"}, "doors.throw-vacuum", "200"),
        ({"granted": "0 s"}, "doors.freeze-time", "0 s"),
    ],
)
def test_bad_input_to_a_throw_is_one_clear_finding(day, asked, code, words):
    answer = service.throw_day_file(day, **({"flask": "F1"} | asked))
    assert codes(answer) == [code]
    assert stops(answer.findings)
    assert words in answer.findings[0].what
    assert answer.findings[0].do_next


def test_a_vacuum_is_asked_about_and_not_taken_into_the_plan(day):
    answer = service.throw_day_file(day, flask="F1", head="vacuum", vacuum="80 kPa", side="1.2 mm", samples_count=0)
    (flask,) = service.as_json(answer)["flasks"]
    assert flask["head"] == "vacuum"
    assert flask["turns_turns"] is None
    assert flask["pieces"][0]["head_kPa"] > 50
    assert not (day.parent / THROW_FILE).exists()
    assert "vacuum under the flask" in as_text(answer)


def test_a_stop_is_said_and_not_kept(day):
    asked = iter([False] + [True] * 50)
    answer = service.throw_day_file(day, flask="F1", side="1.2 mm", samples_count=4, cancelled=lambda: next(asked))
    assert "doors.throw-stopped" in codes(answer)
    assert stops(answer.findings)
    assert not (day.parent / THROW_FILE).exists()


def test_a_machine_that_nobody_measured_says_so_with_its_band(day):
    (day.parents[2] / "calibration.toml").unlink()
    answer = service.throw_day_file(day, flask="F1", side="1.2 mm", samples_count=0)
    (finding,) = [one for one in answer.findings if one.code == "doors.throw-not-calibrated"]
    assert "0." in finding.what and "times the force" in finding.what
    assert "calibration.toml" in finding.do_next


def test_the_command_speaks_json_on_refusal(day, capsys):
    assert run(["throw", str(day), "--turns", "9", "--json"]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["findings"][0]["code"] == "doors.throw-over-limit"


def test_flask_temperatures_that_were_reckoned_go_before_practice_and_both_are_shown(thrown, tmp_path):
    answer, _ = thrown
    window = FillWindow(560.0, 640.0, 0.9, 350.0, 700.0, True)
    pieces = tuple(replace(one, window=window) for one in answer.flasks[0].summary.pieces)
    summary = replace(answer.flasks[0].summary, pieces=pieces)
    service.keep_throws(tmp_path, {PLAN.flasks[0].id: summary})
    outcome = plan_with_windows(PLAN.studio, PLAN.day, made_up_report, tmp_path, lambda share_frac, what: None)
    found = [one for one in outcome.plan.findings if one.code == "doors.throw-window-used"]
    regrouped = [one for one in outcome.plan.findings if one.code == "doors.throw-window-regroups"]
    assert found or regrouped
    for one in found:
        assert "560–640" in one.what
        assert "practice" in one.what


def test_a_window_is_said_in_words():
    window = FillWindow(460.0, 560.0, 0.9, 350.0, 700.0, True)
    assert "460 to 560" in window_words(window)
    assert "change the gate" in window_words(replace(window, low_C=None))
    assert "change the gate" in window_words(replace(window, high_C=400.0))
