"""The service of ``machine fit``: a proposal that nobody has accepted, checks in words, and refusals."""

import tomllib

import pytest
from tests.made_up_measurements import measurements_text

from pourwright.core.text import say
from pourwright.doors.service.machine_fit import as_json, fit_machine_file
from pourwright.doors.service.machine_fit_text import as_text
from pourwright.studio.calibration_reading import MEASURABLE, read_calibration
from pourwright.studio.place import Place
from pourwright.studio.toml_source import load_toml


@pytest.fixture
def fitted(tmp_path):
    def fit(text, name="arm.toml", out=None):
        path = tmp_path / name
        path.write_text(text, "utf-8")
        return fit_machine_file(path, out)

    return fit


def codes(answer):
    return [one.code for one in answer.findings]


def test_the_proposal_can_be_read_as_calibration_and_waits_for_a_signature(fitted):
    answer = fitted(measurements_text())
    source = load_toml(answer.proposal)
    place = Place(source)
    assert read_calibration({"machine": [{"id": "ARM-1"}]}, place) == {}
    assert {one.code for one in place.found} == {"studio.calibration-waiting"}
    rows = source.content["quantity"]
    assert {one["quantity"] for one in rows} <= set(MEASURABLE)
    assert len(rows) == len(place.found) == 9
    assert all(one["fitted_by"] == "Student A" and "accepted_by" not in one for one in rows)


def test_what_was_not_measured_is_not_proposed(fitted):
    answer = fitted(measurements_text(parts=False, spins=False))
    proposed = {one["quantity"] for one in tomllib.loads(answer.proposal.read_text("utf-8"))["quantity"]}
    assert {"spring.torque_start", "spring.torque_rate", "spring.friction"} <= proposed
    assert not {"spring.inertia", "arm.friction_dry", "arm.friction_air"} & proposed


def test_the_text_says_peak_next_reading_and_safety(fitted):
    text = as_text(fitted(measurements_text(spins=False)))
    for key in ("doors.fit-peaks", "doors.fit-next", "doors.fit-safety"):
        assert say(key) in text
    assert text.index("an empty spin on video") < text.index("the pull scale at each half turn")


def test_a_frame_rate_of_the_playback_fits_no_arm(fitted):
    """At 30 Hz instead of 240 the arm seems eight times as slow: no inertia of those weights does that."""
    answer = fitted(measurements_text().replace('"240 Hz"', '"30 Hz"'))
    assert codes(answer) == ["doors.fit-lost"]
    assert answer.proposal is None


def test_a_tape_read_in_the_wrong_place_is_noticed_by_the_energy(fitted):
    """A hook at 200 mm written as 240 mm makes the spring a fifth too strong for the speeds and weights."""
    answer = fitted(measurements_text().replace('pull_radius = "200 mm"', 'pull_radius = "240 mm"'))
    assert {"doors.fit-apart", "doors.fit-energy"} <= set(codes(answer))


def test_a_wrong_hinge_is_noticed_by_the_angle(fitted):
    assert codes(fitted(measurements_text())) == []
    assert "doors.fit-hinge" in codes(fitted(measurements_text().replace('"100 mm"', '"60 mm"')))


def test_calibration_itself_is_never_written(fitted, tmp_path):
    answer = fitted(measurements_text(), out=tmp_path / "calibration.toml")
    assert codes(answer) == ["doors.fit-installs"]
    assert not (tmp_path / "calibration.toml").exists()


def test_a_signed_proposal_is_left_as_it_is(fitted):
    first = fitted(measurements_text()).proposal
    signed = first.read_text("utf-8") + 'accepted_by = "Teacher"\n'
    first.write_text(signed, "utf-8")
    assert codes(fitted(measurements_text())) == ["doors.fit-signed"]
    assert first.read_text("utf-8") == signed


def test_a_folder_that_is_not_there_is_one_sentence(fitted, tmp_path):
    answer = fitted(measurements_text(), out=tmp_path / "none" / "p.toml")
    assert codes(answer) == ["doors.fit-unwritten"]


def test_the_document_has_the_same_keys_on_refusal(fitted):
    good, bad = (as_json(fitted(text)) for text in (measurements_text(), "format = 1\n"))
    assert set(good) == set(bad)
    assert bad["parameters"] == []
    assert good["one_curve"] is True
