"""Files that lie, are broken or mean harm are refused for the right reason, in a sentence, in little memory."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import pytest
from tests import hostile_files, pattern_files

from pourwright.core.findings import Finding, Level
from pourwright.core.work import Limits
from pourwright.shape.pattern.formats import step
from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern

CEILINGS = Ceilings(2_000_000, 150_000_000, 512_000_000)
HOSTILE = hostile_files.hostile()
# The library for STEP takes seconds to load and is tested with good files too.
WITHOUT_LIBRARY = [name for name in HOSTILE if name != "no-solid.stp"]


@pytest.mark.parametrize("name", WITHOUT_LIBRARY)
def test_a_hostile_file_is_refused_for_its_reason_in_a_sentence(name):
    content, code = HOSTILE[name]
    soup = read_file(content, Path(name).suffix, CEILINGS)
    assert soup.corners is None
    (remark,) = soup.remarks
    assert (remark.code, remark.level) == (code, "stop")
    finding = Finding(remark.code, Level.STOP, name, {"file": name, **remark.params})
    for sentence in (finding.what, finding.do_next):
        assert sentence.endswith((".", "?"))
        assert "{" not in sentence.replace('{"', "")
    assert name in finding.what


@pytest.mark.parametrize("sign", ["4e9", "2e9", "1e9", "1e17", "1e30", "entit", "deep", "cycle", "crowd", "endless"])
def test_a_small_file_that_announces_much_needs_little_memory(sign):
    names = [name for name in HOSTILE if sign in name]
    assert names
    tracemalloc.start()
    for name in names:
        read_file(HOSTILE[name][0], Path(name).suffix, CEILINGS)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak_bytes < 20e6


@pytest.mark.parametrize("name", ["bomb.3mf", "bomb-that-lies.3mf", "bomb-in-relationships.3mf"])
def test_a_file_that_unpacks_to_a_gigabyte_is_refused_in_a_tenth_of_that(name):
    tracemalloc.start()
    read_file(HOSTILE[name][0], ".3mf", CEILINGS)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak_bytes < 100e6


@pytest.mark.parametrize("name", ["components-1e9.3mf", "faces-4e9.ply", "deep.glb", "bomb.3mf"])
def test_the_reading_process_ends_by_itself_in_small_room(tmp_path, name):
    (tmp_path / name).write_bytes(HOSTILE[name][0])
    limits = PatternLimits(child=Limits(memory_mib_count=1024, cpu_s=10, wall_s=30))
    report = measure_pattern(tmp_path / name, "mm", limits)
    assert report.mesh is None
    assert [one.code for one in report.findings] == [HOSTILE[name][1]]


@pytest.mark.parametrize("name", hostile_files.harmless())
def test_what_a_file_points_to_outside_itself_is_neither_read_nor_written(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    soup = read_file(hostile_files.harmless()[name], Path(name).suffix, CEILINGS)
    assert soup.remarks == ()
    assert len(soup.corners) == len(hostile_files.FACES)
    assert list(tmp_path.iterdir()) == []


def test_without_the_library_for_step_the_way_to_it_is_said(monkeypatch):
    monkeypatch.setattr(step.importlib.util, "find_spec", lambda name: None)
    soup = read_file(pattern_files.step_rod(2.0, 10.0), ".stp", CEILINGS)
    (remark,) = soup.remarks
    finding = Finding(remark.code, Level.STOP, "rod.stp", {"file": "rod.stp", **remark.params})
    assert 'pip install "pourwright[step]"' in finding.do_next
