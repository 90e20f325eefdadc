"""A hostile file ends as a finding that names the file and the mend, never as an exception."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.core.findings import Level
from pourwright.core.work import Limits
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.reading import read_pattern

RING = solids.torus(9.5, 1.25, 24)


def _write(folder, name, content):
    path = folder / name
    path.write_bytes(content)
    return path


def _ring_bytes(folder):
    solids.write_stl(RING, folder / "whole.stl")
    return (folder / "whole.stl").read_bytes()


USUAL = PatternLimits()


def _refusal(path, limits=USUAL):
    report = measure_pattern(path, "mm", limits)
    assert report.mesh is None
    assert report.volume_mm3 == 0
    (finding,) = report.findings
    assert finding.level is Level.STOP
    assert path.name in finding.what
    assert finding.do_next
    return finding.code


def test_a_whole_file_is_read_with_its_fingerprint(tmp_path):
    content = _ring_bytes(tmp_path)
    read = read_pattern(_write(tmp_path, "Ring.STL", content), PatternLimits())
    assert read.corners.shape == (len(RING.faces), 3, 3)
    assert len(read.sha256) == 64
    assert np.allclose(read.corners, RING.vertices_mm[RING.faces], atol=1e-6)


def test_hostile_files_are_refused(tmp_path):
    content = _ring_bytes(tmp_path)
    broken = bytearray(content)
    broken[100:104] = np.float32(np.nan).tobytes()
    cases = {
        "shape.file-cut": content[: len(content) * 2 // 3],
        "shape.file-empty": b"",
        "shape.file-not-finite": bytes(broken),
        "shape.file-no-pattern": b"<html>" + b"lorem ipsum " * 40,
    }
    for number, (code, bad) in enumerate(cases.items()):
        assert _refusal(_write(tmp_path, f"bad{number}.stl", bad)) == code
    huge = content[:80] + b"\xff\xff\xff\xff" + content[84:]
    assert _refusal(_write(tmp_path, "huge.stl", huge)) == "shape.file-cut"


def test_what_is_no_pattern_file_is_refused_before_it_is_opened(tmp_path):
    assert _refusal(tmp_path / "gone.stl") == "shape.file-missing"
    (tmp_path / "folder.stl").mkdir()
    assert _refusal(tmp_path / "folder.stl") == "shape.file-not-a-file"
    assert _refusal(_write(tmp_path, "ring.dwg", b"AC1015")) == "shape.file-ending"
    assert _refusal(_write(tmp_path, "ring", b"solid")) == "shape.file-ending"
    assert _refusal(tmp_path / ("long" * 100 + ".stl")) in {"shape.file-unreadable", "shape.file-missing"}


def test_too_large_a_file_is_refused_unless_asked_for(tmp_path):
    path = _write(tmp_path, "ring.stl", _ring_bytes(tmp_path))
    assert _refusal(path, PatternLimits(file_bytes_count=1000)) == "shape.file-too-large"
    assert _refusal(path, PatternLimits(triangles_count=100)) == "shape.too-many-triangles"
    assert read_pattern(path, PatternLimits(triangles_count=100), large=True).corners is not None


@pytest.mark.parametrize(
    ("child", "code"),
    [(Limits(wall_s=0.001), "shape.reading-out-of-time"), (Limits(memory_mib_count=16), None)],
)
def test_a_reader_out_of_time_or_memory_is_a_finding(tmp_path, child, code):
    path = _write(tmp_path, "ring.stl", _ring_bytes(tmp_path))
    found = _refusal(path, PatternLimits(child=child))
    assert found == code or (code is None and found in {"shape.reading-out-of-memory", "shape.reading-failed"})
