"""As a person would: a flask of the demo day thrown by the real command, by arm and by vacuum, planned and printed."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

COMMAND = Path(sys.executable).with_name("pourwright")


def _run(*arguments, code=0):
    done = subprocess.run(
        [str(COMMAND), *map(str, arguments)], capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )
    assert done.returncode == code, done.stdout[-2000:] + done.stderr[-2000:]
    assert "Traceback" not in done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def day(tmp_path_factory):
    home = tmp_path_factory.mktemp("home") / "my-studio"
    _run("demo", home)
    return max(home.glob("days/*/day.toml"))


@pytest.fixture(scope="module")
def thrown(day):
    return json.loads(_run("throw", day, "--flask", "F1", "--samples", "4", "--side", "0.6 mm", "--json"))


def test_a_thrown_flask_is_printed_with_its_pieces_and_its_chart(day, thrown):
    (flask,) = thrown["flasks"]
    assert all(0 <= one["fill_probability_frac"] <= 1 for one in flask["pieces"])
    assert all(one["last_arrival_s"] > 0 for one in flask["pieces"])
    assert (day.parent / "throw-F1.svg").stat().st_size > 1000
    _run("plan", day)
    done = subprocess.run(["pdftotext", day.parent / "run-sheet.pdf", "-"], capture_output=True, text=True, check=True)
    assert "How surely each piece fills" in done.stdout
    assert "Force on the metal at the flask over time" in done.stdout


def test_a_vacuum_has_the_larger_head_and_leaves_the_plans_answer_alone(day, thrown):
    kept = (day.parent / "throw.json").read_bytes()
    asked = ("--flask", "F1", "--samples", "0", "--side", "0.6 mm", "--json")
    vacuum, weight = (
        json.loads(_run("throw", day, *asked, "--head", head))["flasks"][0]["pieces"] for head in ("vacuum", "gravity")
    )
    for hard, easy in zip(vacuum, weight, strict=True):
        assert hard["head_kPa"] > 10 * easy["head_kPa"]
        assert hard["filled_frac"] >= easy["filled_frac"] - 1e-6
    assert (day.parent / "throw.json").read_bytes() == kept


def test_more_turns_than_the_machine_bears_are_refused_in_a_sentence(day):
    document = json.loads(_run("throw", day, "--turns", "9", "--json", code=1))
    assert "limit" in document["findings"][0]["what"]
    assert "gate" in document["findings"][0]["do_next"]
