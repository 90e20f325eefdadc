"""The drawer as a person keeps it from the command line: taken over once, charged from, and shut after an odd melt."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

COMMAND = Path(sys.executable).with_name("pourwright")


@pytest.fixture
def run(tmp_path):
    folder = tmp_path / "studio"
    subprocess.run([COMMAND, "demo", str(folder)], check=True, capture_output=True)

    def run(*words, code=0, text=False):
        asked = [str(one) for one in words] + ([] if text else ["--json"])
        env = os.environ | {"POURWRIGHT_STUDIO": str(folder)}
        done = subprocess.run([COMMAND, *asked], capture_output=True, text=True, env=env, check=False, cwd=folder)
        assert done.returncode == code, done.stdout + done.stderr
        return done.stdout if text else json.loads(done.stdout)

    run.folder = folder
    return run


def codes(answer):
    return [one["code"] for one in answer["findings"]]


def test_from_the_studio_file_into_the_books_and_through_an_odd_melt(run):
    wanted = ("charge", "--alloy", "sterling-925", "--mass", "60 g")
    before = run(*wanted)
    assert before["from"].endswith("studio.toml")
    assert before["aim_low_permille"] >= 925.0
    assert len(run("stock", "open", "--by", "Teacher")["lots"]) == 6
    after = run(*wanted, "--crucible", "CR-SILVER")
    assert after["weigh_to_aim"] == before["weigh_to_aim"]
    assert after["from"].endswith("books.sqlite")
    uses = [word for one in after["weigh_to_aim"] for word in ("--use", f"{one['lot']}:{one['mass_g']} g")]
    pour = ("book", "pour", "2026-12-05-F1", *uses, "--crucible", "CR-SILVER", "--casting", "P01:Mira:30 g", "--button",
            "29.6 g", "--by", "Ada")  # fmt: skip
    button = run(*pour)["button_lot"]
    passport = run("stock", "passport", "P01")
    assert sum(one["mass_g"] for one in passport["lots"]) == pytest.approx(30.0, abs=0.01)
    assert passport["meets_frac"] == 1.0
    odd = run("stock", "odd-melt", "2026-12-05-F1", "--why", "black slag", "--by", "Ada")
    assert odd["shut"] == ["crucible:CR-SILVER", f"lot:{button}"]
    assert "prepare.crucible-shut" in codes(run(*wanted, "--crucible", "CR-SILVER", code=1))
    day = max(run.folder.glob("days/*/day.toml"))
    red = run("plan", day, code=1)
    assert "prepare.crucible-shut" in codes(red)
    assert not (day.parent / "run-sheet.pdf").exists()
    run("stock", "release", "crucible:CR-SILVER", "--why", "a new one", "--by", "Teacher")
    assert run("stock", "stops", text=True).count("black slag") == 1
