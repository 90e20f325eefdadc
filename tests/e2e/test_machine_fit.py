"""As a person would: measure the arm, fit it, sign the proposal, and plan with a machine that counts as measured."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
from tests.made_up_measurements import measurements_text
from tests.made_up_spin import sound, write_wav

COMMAND = Path(sys.executable).with_name("pourwright")


def _run(*arguments, code=0):
    done = subprocess.run(
        [str(COMMAND), *map(str, arguments)], capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )
    assert done.returncode == code, done.stdout[-2000:] + done.stderr[-2000:]
    assert "Traceback" not in done.stdout + done.stderr
    return done.stdout


def _planned(day):
    plan = json.loads(_run("plan", day, "--json"))
    peak = next(one for name, one in plan["figures"].items() if name.endswith("throw.course.peak_s"))
    return plan["flasks"][0]["throw"]["calibrated"], peak["high"] - peak["low"]


def test_a_fitted_machine_is_calibrated_once_somebody_signed_and_its_range_is_narrower(tmp_path):
    home = tmp_path / "studio"
    _run("demo", home)
    day, calibration = max(home.glob("days/*/day.toml")), home / "calibration.toml"
    entries = calibration.read_text("utf-8").split("[[quantity]]")
    calibration.write_text("[[quantity]]".join(one for one in entries if '"spring.' not in one), "utf-8")
    unmeasured, wide_s = _planned(day)
    measurements = home / "arm-measurements.toml"
    measurements.write_text(measurements_text(), "utf-8")
    document = json.loads(_run("machine", "fit", measurements, "--json"))
    proposal = Path(document["proposal"]).read_text("utf-8")
    assert "accepted_by =" not in re.sub(r"(?m)^#.*$", "", proposal)
    signed = proposal.split("format = 1")[1].replace(
        'fitted_by = "Student A"', 'fitted_by = "Student A"\naccepted_by = "Teacher"\naccepted_on = 2026-11-20'
    )
    calibration.write_text(calibration.read_text("utf-8") + signed, "utf-8")
    measured, narrow_s = _planned(day)
    assert (unmeasured, measured) == (False, True)
    assert narrow_s < 0.5 * wide_s


def test_an_unsigned_proposal_changes_nothing_and_a_broken_file_is_refused_with_its_place(tmp_path):
    path = tmp_path / "arm.toml"
    path.write_text(measurements_text().replace('frame_rate = "240 Hz"\n', ""), "utf-8")
    document = json.loads(_run("machine", "fit", path, "--json", code=1))
    assert {one["code"] for one in document["findings"]} == {"studio.frames-no-rate"}
    assert document["proposal"] is None
    assert list(tmp_path.iterdir()) == [path]
    _run("machine", "fit", code=2)


def test_an_empty_spin_is_heard_and_its_rows_are_printed(tmp_path):
    spin = write_wav(tmp_path / "spin.wav", sound(np.random.default_rng(4), seconds=12.0))
    assert "[[spin.coast]]" in _run("machine", "spin", spin)
    assert json.loads(_run("machine", "spin", spin, "--json"))["peak_rpm"] > 240
    (tmp_path / "film.mp4").write_bytes(b"no film")
    done = subprocess.run(
        [COMMAND, "machine", "spin", tmp_path / "film.mp4", "--json"], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (1, "")
    assert len(json.loads(done.stdout)["findings"]) == 1
