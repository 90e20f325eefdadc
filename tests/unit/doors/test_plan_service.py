"""What the plan command asks of a pattern file."""

from dataclasses import replace

import pytest
from tests.demo_day import demo_studio_and_day

from pourwright.core.figure import given
from pourwright.doors.service.measuring import measure_in
from pourwright.shape.pattern.solids import box, write_stl


@pytest.mark.parametrize(
    ("longest", "asked"), [(None, True), ("120.0", False), ("118.0", False), ("60.0", True), ("119.5", False)]
)
def test_a_piece_longer_than_usual_is_asked_about_until_its_length_is_written_down(tmp_path, longest, asked):
    write_stl(box(120.0, 6.0, 2.0), tmp_path / "bar.stl")
    _, day = demo_studio_and_day()
    length = given(float(longest), "mm", "day.toml") if longest else None
    order = replace(day.pieces[0], file="bar.stl", units="mm", longest_mm=length)
    report = measure_in(tmp_path)(order)
    assert ("shape.size-large" in [one.code for one in report.findings]) is asked
