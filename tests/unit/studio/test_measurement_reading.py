"""The file of measurements: read whole, or refused with everything that is wrong and how to mend it."""

import pytest

from pourwright.studio.measurement_reading import read_measurements

TOP = 'format = 1\nmachine = "ARM-1"\nmeasured_by = "Student A"\nevidence = "book, page 3"\n'


def codes(tmp_path, text):
    path = tmp_path / "arm.toml"
    path.write_text(TOP + text, "utf-8")
    measured, found = read_measurements(path)
    assert all(one.what and one.do_next and "arm.toml" in one.where for one in found)
    return measured, [one.code for one in found]


def test_a_whole_file_is_read(tmp_path):
    measured, found = codes(
        tmp_path,
        'frame_rate = "240 Hz"\npull_radius = "8 in"\n'
        '[[pull]]\nturns = "1 turn"\nwinding = "14.6 N"\n'
        '[[part]]\nname = "flask"\nmass = "2 lb"\nradius = "220 mm"\n'
        '[[spin]]\nturns = "3 turns"\nframes = 268\nover_turns = 5\n'
        '[[spin.coast]]\ntime = "0 s"\nspeed = "255 rpm"\n[[spin.coast]]\ntime = "9 s"\nframes = 70\n',
    )
    assert found == []
    assert measured.pull_radius_mm.value == pytest.approx(203.2)
    assert measured.parts[0].mass_kg.value == pytest.approx(0.9072, rel=1e-4)
    assert [one.frames_count for one in measured.spins[0].coast] == [None, 70]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "studio.measurement-none"),
        ('[[spin]]\nturns = "3 turns"\nopens = "35 deg"\n', "studio.measurement-none"),
        ('[[pull]]\nturns = "1 turn"\nwinding = "14 N"\n', "studio.pull-no-radius"),
        ('pull_radius = "200 mm"\n[[pull]]\nturns = "1 turn"\n', "studio.pull-empty"),
        ('[[spin]]\nturns = "3 turns"\n', "studio.spin-empty"),
        ('[[spin]]\nturns = "3 turns"\nframes = 60\n', "studio.frames-no-rate"),
        ('frame_rate = "240 Hz"\n[[spin]]\nturns = "3 turns"\nframes = 60\npeak = "260 rpm"\n', "studio.speed-twice"),
        ('[[spin]]\nturns = "3 turns"\npeak = "260"\n', "studio.value-unreadable"),
        (
            '[[spin]]\nturns = "3 turns"\npeak = "9 rpm"\n[[spin.coast]]\ntime = "0 s"\nspeed = "9 rpm"\n',
            "studio.coast-alone",
        ),
        (
            '[[spin]]\nturns = "3 turns"\n[[spin.coast]]\ntime = "0 s"\n'
            '[[spin.coast]]\ntime = "1 s"\nspeed = "9 rpm"\n',
            "studio.speed-missing",
        ),
        (
            '[[part]]\nname = "flask"\nmass = "2 kg"\nradius = "220 mm"\nbeyond_hinge = true\n',
            "studio.part-no-hinge",
        ),
        ('[[spinn]]\nturns = "3 turns"\n', "studio.key-unknown"),
    ],
)
def test_a_fault_is_named_with_its_place_and_cure(tmp_path, text, code):
    measured, found = codes(tmp_path, text)
    assert measured is None
    assert code in found


def test_a_file_that_is_not_there_is_one_sentence(tmp_path):
    measured, (found,) = read_measurements(tmp_path / "none.toml")
    assert measured is None
    assert found.code == "studio.file-missing"
