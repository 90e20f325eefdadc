"""What is kept of a filling comes back as it was, and a key changes with all that it rests on."""

from dataclasses import replace

import numpy as np
from tests.unit.simulate.made_up_throw import conditions
from tests.unit.simulate.test_throw_cavity import two_pieces

from pourwright.core.interval import Interval
from pourwright.simulate.resolution import Pace
from pourwright.simulate.throw_side import cubes_count, fill_side
from pourwright.simulate.throw_store import answer_key, read_arrays, trim_fills, voxels_of, write_arrays
from pourwright.simulate.throw_voxels import Voxels

FLASK = two_pieces()


def test_cubes_are_cut_once_and_read_back_the_same(tmp_path):
    cut = voxels_of(FLASK, 1.0, tmp_path)
    (path,) = (tmp_path / "fill").iterdir()
    again = voxels_of(FLASK, 1.0, tmp_path)
    assert again.names == cut.names
    assert again.side_mm == cut.side_mm
    for name in ("cell", "centre_mm", "volume_mm3", "part"):
        assert np.array_equal(getattr(again, name), getattr(cut, name))
    path.write_bytes(path.read_bytes()[:100])
    assert read_arrays(path, Voxels) is None
    assert len(voxels_of(FLASK, 1.0, tmp_path).cell) == len(cut.cell)


def test_a_key_changes_with_the_ranges_the_cubes_and_the_rest():
    said = conditions()
    other = replace(said, open_s=Interval(20.0, 31.0, 60.0, "s"))
    keys = [answer_key(FLASK, said, 1.0), answer_key(FLASK, other, 1.0), answer_key(FLASK, said, 0.9),
            answer_key(FLASK, said, 1.0, ["more"])]  # fmt: skip
    assert len(set(keys)) == 4
    assert keys[0] == answer_key(FLASK, conditions(), 1.0)


def test_the_cache_keeps_to_its_size(tmp_path):
    voxels = voxels_of(FLASK, 1.0, None)
    for number in range(3):
        write_arrays(tmp_path / "fill" / f"{number}.npz", voxels)
    size = (tmp_path / "fill" / "0.npz").stat().st_size
    assert len(trim_fills(tmp_path, int(2.5 * size))) == 1


def test_less_time_makes_larger_cubes_with_a_word_on_it():
    plenty, short = (fill_side(FLASK, granted_s, Pace(100.0, 1.0), None) for granted_s in (60.0, 0.2))
    assert plenty.side_mm < short.side_mm
    assert not plenty.findings
    assert short.findings[0].code in ("simulate.coarser-time", "simulate.wall-under-cell")
    assert cubes_count(FLASK, plenty.side_mm) > cubes_count(FLASK, short.side_mm)
