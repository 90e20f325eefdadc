"""Case: meshes by other people, measured before by other programs.

Runs only where ``POURWRIGHT_MESHES`` names a folder with STL files and a ``manifest.toml`` (triangles, watertight,
signed_volume and union_volume of each file, from other programs). Tolerance 0.5 %: no volume may be silently wrong by
more than that; a file that is refused gives no volume at all.
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest

from pourwright.core.findings import Level, stops
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern

FOLDER = Path(os.environ.get("POURWRIGHT_MESHES", "no-meshes-here"))
ANY_SIZE = PatternLimits(longest_mm=1e9, shortest_mm=0.0)


def _rows():
    manifest = FOLDER / "manifest.toml"
    if not manifest.exists():
        return []
    rows = tomllib.loads(manifest.read_text("utf-8"))["mesh"]
    return [row for row in rows if row["file"].lower().endswith(".stl") and (FOLDER / row["file"]).exists()]


ROWS = _rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["file"] for row in ROWS])
def test_a_mesh_of_the_set_is_measured_right_or_refused(row):
    report = measure_pattern(FOLDER / row["file"], "mm", ANY_SIZE)
    if report.mesh is None:
        assert stops(report.findings)
        assert report.volume_mm3 == 0
        return
    assert report.triangles_count == row["triangles"]
    known = abs(row.get("union_volume", row["signed_volume"]))
    said = {one.code for one in report.findings}
    if row.get("watertight") and row["bodies"] == report.shells_count and not said & {"shape.turned"}:
        assert report.volume_mm3 == pytest.approx(known, rel=0.005)
    assert report.volume_low_mm3 <= report.volume_mm3 <= report.volume_high_mm3


def test_sound_meshes_of_the_set_are_not_stopped():
    for row in ROWS:
        if row.get("watertight") and "broken" not in row["tags"]:
            report = measure_pattern(FOLDER / row["file"], "mm", ANY_SIZE)
            assert not [one.code for one in report.findings if one.level is Level.STOP], row["file"]
