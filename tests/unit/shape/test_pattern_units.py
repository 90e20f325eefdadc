"""Whose word holds on a pattern's unit: the file's, the user's, or nobody's yet."""

from __future__ import annotations

import numpy as np
import pytest
from tests import pattern_files as good

from pourwright.core.findings import Level
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.sizes import settled_units

RING = solids.torus(9.5, 1.25, 24, 12)
LIMITS = PatternLimits()


def settled(longest, said, stated, default=False):
    units, found = settled_units(np.array([longest, 1.0, 1.0]), said, stated, LIMITS, "ring.3mf", default)
    return units, [(one.code, one.level) for one in found]


def test_a_file_that_states_nothing_leaves_it_to_the_user():
    assert settled(20, "mm", "") == ("mm", [])
    assert settled(20, "", "") == ("", [])


def test_a_stated_unit_is_taken_and_the_factor_shown():
    assert settled(20, "", "mm") == ("mm", [])
    assert settled(20, "mm", "mm") == ("mm", [])
    assert settled(0.8, "", "inch") == ("inch", [("shape.units-stated", Level.NOTE)])
    assert settled(21_500, "", "micron")[0] == "micron"


def test_two_words_that_could_both_be_true_are_asked_about():
    assert settled(4.0, "mm", "inch") == ("mm", [("shape.units-differ", Level.ASK)])
    assert settled(300, "cm", "inch") == ("cm", [("shape.units-differ", Level.ASK)])


def test_the_user_is_believed_where_the_file_gives_a_size_nobody_casts():
    assert settled(21.5, "mm", "m") == ("mm", [("shape.units-overruled", Level.LOOK)])
    assert settled(21.5, "mm", "micron") == ("mm", [("shape.units-overruled", Level.LOOK)])


def test_a_unit_meant_for_silent_files_gives_way_to_one_that_is_stated():
    assert settled(0.8, "mm", "inch", default=True) == ("inch", [("shape.units-stated", Level.NOTE)])
    assert settled(5.0, "mm", "inch", default=True)[0] == "inch"
    assert settled(21.5, "mm", "m", default=True) == ("mm", [("shape.units-overruled", Level.LOOK)])


def test_an_unknown_word_of_the_user_is_left_to_be_asked_about():
    assert settled(20, "furlong", "mm") == ("furlong", [])


@pytest.mark.parametrize(
    ("name", "content", "factor"),
    [
        ("ring.3mf", good.three_mf(RING.vertices_mm / 25.4, RING.faces, "inch"), 25.4),
        ("ring.glb", good.glb(RING.vertices_mm / 1000, RING.faces), 1000.0),
    ],
)
def test_a_ring_in_inches_or_metres_is_measured_in_millimetres(tmp_path, name, content, factor):
    (tmp_path / name).write_bytes(content)
    report = measure_pattern(tmp_path / name, "")
    assert report.volume_mm3 == pytest.approx(mass.volume_mm3(RING), rel=1e-6)
    (note,) = [one for one in report.findings if one.code == "shape.units-stated"]
    assert note.params["factor"] == f"{factor:g}"


def test_a_ring_that_says_nothing_is_asked_about(tmp_path):
    (tmp_path / "ring.obj").write_bytes(good.obj(RING.vertices_mm, RING.faces))
    report = measure_pattern(tmp_path / "ring.obj", "")
    assert [one.code for one in report.findings] == ["shape.units-missing"]
    assert report.mesh is None
