"""The service of ``machine spin``: sounds of each kind, a video, and every refusal in one sentence."""

import sys

import numpy as np
import pytest
from scipy.io import wavfile
from tests.made_up_measurements import measurements_text
from tests.made_up_spin import PEAK_RAD_S, passes, sound, speed_rad_s, write_wav

from pourwright.doors.service.machine_fit import fit_machine_file
from pourwright.doors.service.machine_spin import as_json, as_text, follow_spin

PEAK_RPM = PEAK_RAD_S * 60 / (2 * np.pi)


@pytest.fixture(scope="module")
def spin():
    return sound(np.random.default_rng(4), seconds=12.0)


def refusal(answer):
    assert answer.rhythm is None
    (found,) = answer.findings
    assert found.what
    assert found.do_next
    assert set(as_json(answer)) == {"speeds", "peak_rpm", "peak_sigma_rpm", "beat_power_ratio", "findings"}
    assert as_text(answer) == ""
    return found.code


@pytest.mark.parametrize("kind", ["int16", "int32", "float32"])
def test_a_sound_of_each_kind_gives_the_peak(tmp_path, spin, kind):
    answer = follow_spin(write_wav(tmp_path / "s.wav", spin, kind=kind))
    assert as_json(answer)["peak_rpm"] == pytest.approx(PEAK_RPM, rel=0.015)


def test_24_bit_and_two_channels_are_read(tmp_path, spin):
    import wave

    whole = np.clip(np.repeat(spin, 2) * (2**23 - 1), -(2**23), 2**23 - 1).astype("<i4")
    path = tmp_path / "s24.wav"
    with wave.open(str(path), "wb") as out:
        out.setparams((2, 3, 8000, 0, "NONE", ""))
        out.writeframes(whole.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    assert as_json(follow_spin(path))["peak_rpm"] == pytest.approx(PEAK_RPM, rel=0.015)


def test_the_rows_can_be_pasted_into_the_file_of_measurements(tmp_path, spin):
    text = as_text(follow_spin(write_wav(tmp_path / "s.wav", spin)))
    rows = text[text.index("peak = ") :]
    path = tmp_path / "arm.toml"
    path.write_text(measurements_text(spins=False) + '\n[[spin]]\nturns = "3 turns"\n' + rows + "\n", "utf-8")
    fitted = fit_machine_file(path)
    assert [one.code for one in fitted.findings] == []
    assert fitted.fit.is_measured("dry_Nm")


def film(path, seconds=8, rate=120.0):
    cv2 = pytest.importorskip("cv2")
    out = cv2.VideoWriter(str(path), cv2.VideoWriter_fourcc(*"MJPG"), 30.0, (64, 48))
    rng = np.random.default_rng(6)
    for near in passes(np.arange(int(seconds * rate)) / rate):
        picture = rng.integers(0, 60, (48, 64, 3)).astype(np.uint8)
        picture[10:20, 20:30] = 60 + int(180 * near)
        out.write(picture)
    out.release()
    return path


def test_a_slow_motion_video_gives_the_speed_of_a_taped_mark(tmp_path):
    found = follow_spin(film(tmp_path / "s.avi"), frame_rate="120 Hz", region="20,10,10,10").rhythm
    true = speed_rad_s(found.time_s)
    assert np.median(np.abs(found.speed_rad_s / true - 1)) < 0.02
    assert np.mean(np.abs(found.speed_rad_s - true) < 1.645 * found.sigma_rad_s) > 0.8


def test_a_region_outside_the_picture_is_refused(tmp_path):
    assert refusal(follow_spin(film(tmp_path / "s.avi", seconds=1), region="60,40,30,30")) == "doors.spin-option"


@pytest.mark.parametrize("typed", [{"region": "1,2,3"}, {"region": "a,b,c,d"}, {"frame_rate": "240"}])
def test_an_option_that_cannot_be_read_is_refused(tmp_path, typed):
    assert refusal(follow_spin(tmp_path / "s.avi", **typed)) == "doors.spin-option"


def test_silence_is_refused(tmp_path):
    assert refusal(follow_spin(write_wav(tmp_path / "s.wav", np.zeros(80000)))) == "doors.spin-silent"


def test_too_short_is_refused(tmp_path, spin):
    assert refusal(follow_spin(write_wav(tmp_path / "s.wav", spin[:16000]))) == "doors.spin-short"


def test_cut_off_tops_are_refused(tmp_path, spin):
    assert refusal(follow_spin(write_wav(tmp_path / "s.wav", spin * 30))) == "doors.spin-clipped"


def test_a_room_without_an_arm_is_refused(tmp_path):
    noise = 0.1 * np.random.default_rng(7).normal(size=80000)
    assert refusal(follow_spin(write_wav(tmp_path / "s.wav", noise))) == "doors.spin-no-rhythm"


def test_a_file_that_is_not_there_is_refused(tmp_path):
    assert refusal(follow_spin(tmp_path / "none.wav")) == "doors.spin-missing"


@pytest.mark.parametrize("content", [b"", b"hello, this is text", b"RIFF1234WAVEjunk"])
def test_a_wrong_file_is_refused(tmp_path, content):
    pytest.importorskip("cv2")
    path = tmp_path / "s.wav"
    path.write_bytes(content)
    assert refusal(follow_spin(path)) == "doors.spin-not-sound"


def test_a_broken_sound_is_refused(tmp_path):
    path = tmp_path / "s.wav"
    wavfile.write(path, 8000, np.zeros(0, np.int16))
    assert refusal(follow_spin(path)) == "doors.spin-not-sound"


def test_a_video_without_its_part_of_the_program_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "cv2", None)
    (tmp_path / "s.mp4").write_bytes(b"\0\0\0\x18ftypmp42")
    assert refusal(follow_spin(tmp_path / "s.mp4")) == "doors.spin-no-video"
