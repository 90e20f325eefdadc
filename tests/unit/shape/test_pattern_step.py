"""STEP: exact surfaces become triangles in millimetres whose range of volume holds the exact one."""

from __future__ import annotations

import numpy as np
import pytest
from tests import pattern_files as good

from pourwright.core.findings import Level
from pourwright.shape.pattern.measure import measure_pattern

INCH = "( CONVERSION_BASED_UNIT('INCH',#60) LENGTH_UNIT() NAMED_UNIT(#61) )"
INCH_ROWS = (
    b"#60=LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#62);\n#61=DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n"
    b"#62=( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );\n#51="
)


def test_a_rod_in_inches_is_measured_in_millimetres_with_its_chord_in_the_range(tmp_path):
    path = tmp_path / "rod.STEP"
    path.write_bytes(good.step_rod(0.1, 0.5, INCH).replace(b"#51=", INCH_ROWS))
    report = measure_pattern(path, "")
    exact_mm3 = np.pi * 2.54**2 * 12.7
    assert report.volume_mm3 == pytest.approx(exact_mm3, rel=0.002)
    assert report.volume_low_mm3 <= exact_mm3 <= report.volume_high_mm3
    assert report.watertight
    assert report.box_mm == pytest.approx((5.08, 5.08, 12.7), abs=0.01)
    (note,) = report.findings
    assert (note.code, note.level, note.params["chord"]) == ("shape.step-cut-up", Level.NOTE, "0.005")


def test_a_file_without_a_word_on_its_unit_is_asked_about(tmp_path):
    path = tmp_path / "rod.stp"
    path.write_bytes(
        good.step_rod(2.0, 10.0)
        .replace(b"LENGTH_UNIT() ", b"")
        .replace(b"GLOBAL_UNIT_ASSIGNED_CONTEXT((#38,", b"GLOBAL_UNIT_ASSIGNED_CONTEXT((")
    )
    report = measure_pattern(path, "")
    assert "shape.units-missing" in [one.code for one in report.findings]
    assert report.mesh is None
