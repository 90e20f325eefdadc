"""What checking a pattern file says about how the piece can stand."""

from __future__ import annotations

import pytest
from tests.turned_solids import turned_at_random

from pourwright.doors.service.check import as_json, as_text, check_files
from pourwright.shape.pattern import solids


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    path = tmp_path_factory.mktemp("check") / "askew.stl"
    solids.write_stl(turned_at_random(solids.box(24, 10, 4), 5), path)
    return check_files([path], "mm", "sterling-925")


def test_height_and_width_when_turned_stand_beside_the_weight(answer):
    size, metal, turned = as_text(answer).splitlines()[1:4]
    assert "24.00" not in size
    assert "9.9" in metal  # 960 mm3 of sterling silver
    assert "lowest 4.00\u00a0mm" in turned
    assert "24.00 × 10.00 mm" in turned
    assert "10.77\u00a0mm across, 24.00\u00a0mm high" in turned


def test_the_same_is_in_the_json(answer):
    (piece,) = as_json(answer)["pieces"]
    poses = piece["poses"]
    assert poses["as_drawn"]["down_ratio"] == [0.0, 0.0, -1.0]
    assert poses["as_drawn"]["height_mm"] == pytest.approx(piece["box_mm"][2], abs=1e-4)
    assert poses["lowest"]["height_mm"] == pytest.approx(4.0, abs=0.001)
    assert poses["lowest"]["footprint_mm"] == pytest.approx([24.0, 10.0], abs=0.001)
    assert poses["slimmest"]["across_mm"] == pytest.approx(116**0.5, abs=0.001)
    assert poses["stray_mm"] < 0.01


def test_a_file_without_a_volume_stands_in_no_way(tmp_path):
    (tmp_path / "empty.stl").write_text("solid none\nendsolid none\n")
    answer = check_files([tmp_path / "empty.stl"], "mm", "sterling-925")
    assert as_json(answer)["pieces"][0]["poses"] is None
    assert "lowest" not in as_text(answer)
