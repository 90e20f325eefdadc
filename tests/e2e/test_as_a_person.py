"""As a person would: a clone with nothing beside it, a bare environment, the real command, the paper looked at."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_WRITTEN = ("plan.json", "run-sheet.pdf", "labels.pdf", "cards.pdf", "run-sheet.html")


def _run(*command, cwd, ok=True, env=None):
    done = subprocess.run(
        [str(one) for one in command],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env=env,
        stdin=subprocess.DEVNULL,
    )
    assert not ok or done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done


@pytest.fixture(scope="module")
def clone(tmp_path_factory):
    """A clone of what is committed, or of the working tree where there is no repository."""
    folder = tmp_path_factory.mktemp("fresh") / "pourwright"
    _run("git", "clone", "--quiet", "--no-local", ROOT, folder, cwd=ROOT)
    return folder


@pytest.fixture(scope="module")
def command(clone, tmp_path_factory):
    """``pip install .`` alone, in an environment of its own."""
    venv = tmp_path_factory.mktemp("bare") / "venv"
    _run(sys.executable, "-m", "venv", venv, cwd=clone)
    _run(venv / "bin/pip", "install", "--quiet", ".", cwd=clone)
    return venv / "bin/pourwright"


@pytest.fixture(scope="module")
def day(command, tmp_path_factory):
    home = tmp_path_factory.mktemp("home")
    _run(command, "demo", "my-studio", cwd=home)
    return max((home / "my-studio").glob("days/*/day.toml"))


def test_the_installed_command_plans_the_demo_day(command, day):
    done = _run(command, "plan", day, cwd=day.parent)
    for name in _WRITTEN:
        assert (day.parent / name).stat().st_size > 1000, name
    assert str(day.parent / "run-sheet.pdf") in done.stdout


def test_the_same_day_planned_twice_is_the_same_bytes(command, day):
    _run(command, "plan", day, cwd=day.parent)
    first = {name: (day.parent / name).read_bytes() for name in _WRITTEN}
    _run(command, "plan", day, cwd=day.parent)
    assert {name: (day.parent / name).read_bytes() for name in _WRITTEN} == first


def test_it_works_without_network_and_without_a_home(command, day, tmp_path):
    if not shutil.which("unshare"):
        pytest.fail("unshare (util-linux) is needed to take the network away")
    environment = {"PATH": os.environ["PATH"], "HOME": str(tmp_path / "nowhere"), "LANG": "C"}
    done = _run("unshare", "-rn", command, "plan", day, "--json", cwd=day.parent, env=environment)
    assert json.loads(done.stdout)["findings"] is not None


def test_every_page_becomes_a_picture_with_ink_on_it(command, day, tmp_path):
    _run(command, "plan", day, cwd=day.parent)
    for name in ("run-sheet", "labels", "cards"):
        _run("pdftoppm", "-r", "50", "-gray", day.parent / f"{name}.pdf", tmp_path / name, cwd=tmp_path)
        pages = sorted(tmp_path.glob(f"{name}*.pgm"))
        assert pages
        for page in pages:
            pixels = page.read_bytes().split(b"\n", 3)[3]
            assert min(pixels) < 64, f"{page.name} is blank"
            assert pixels.count(255) > len(pixels) // 2, f"{page.name} is mostly dark"


def test_a_charge_can_be_explained_down_to_its_sources(command, day):
    _run(command, "plan", day, cwd=day.parent)
    done = _run(command, "explain", "F1.need.floor_g", cwd=day.parent)
    assert "studio.toml" in done.stdout
    assert "Sources" in done.stdout


def test_a_damaged_pattern_stops_the_plan_and_takes_the_old_sheet_away(command, day, tmp_path):
    folder = tmp_path / "studio"
    shutil.copytree(day.parents[2], folder)
    mine = folder / "days" / day.parent.name / "day.toml"
    _run(command, "plan", mine, cwd=folder)
    pattern = sorted((mine.parent / "patterns").glob("*.stl"))[0]
    pattern.write_bytes(pattern.read_bytes()[:2000])
    done = _run(command, "plan", mine, cwd=folder, ok=False)
    assert done.returncode == 1
    assert pattern.name in done.stdout
    assert "Traceback" not in done.stdout + done.stderr
    assert not (mine.parent / "run-sheet.pdf").exists()


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["--help"], 0),
        (["plan"], 2),
        (["plan", "nowhere/day.toml", "--json"], 1),
        (["check", "none.stl", "--units", "mm", "--json"], 1),
    ],
)
def test_exit_codes(command, tmp_path, arguments, code):
    done = _run(command, *arguments, cwd=tmp_path, ok=False)
    assert done.returncode == code
    assert "Traceback" not in done.stdout + done.stderr
    if "--json" in arguments:
        json.loads(done.stdout)


def test_verify_is_green_where_it_is_installed(command, tmp_path):
    _run(command, "verify", cwd=tmp_path)
