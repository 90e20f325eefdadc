"""The chart of force over time: its lines are where its numbers are, and every name stands in the catalogue."""

import re
from dataclasses import replace
from xml.etree.ElementTree import fromstring

import pytest
from tests.unit.prepare.test_throw_steady import _is, _setup

from pourwright.core.text import say
from pourwright.sheet.force_chart import force_chart

_COURSE = _setup().course
_NS = "{http://www.w3.org/2000/svg}"


def _drawn(course=_COURSE, filled_s=None):
    chart = force_chart(course, filled_s)
    return chart, fromstring(chart.svg)


def _words(root):
    return [one.text for one in root.iter(f"{_NS}text")]


def _uprights(root):
    """Return x of every upright line over the whole height, with its thickness."""
    found = []
    for one in root.iter(f"{_NS}path"):
        x1, y1, x2, y2 = (float(number) for number in re.findall(r"-?[\d.]+", one.attrib["d"])[:4])
        if x1 == x2 and y2 - y1 > 40 and one.attrib["d"].count("L") == 1:
            found.append((x1, float(one.attrib["stroke-width"])))
    return found


def test_the_moment_the_metal_runs_is_marked_at_its_time_in_both_panels():
    chart, root = _drawn()
    axes = sorted(x for x, thick in _uprights(root) if thick == 0.3)[:1]
    bold = sorted(x for x, thick in _uprights(root) if thick == 0.6)
    assert len(bold) == 2
    panel_mm = chart.width_mm / 2 - 12
    early_s = 0.1 * -(-10 * 1.4 * _COURSE.straight_s.value // 1)
    assert bold[0] - axes[0] == pytest.approx(panel_mm * _COURSE.runs_s.value / early_s, abs=0.02)
    assert bold[1] - axes[0] - chart.width_mm / 2 == pytest.approx(
        panel_mm * _COURSE.runs_s.value / _COURSE.line.time_s[-1], abs=0.02
    )


def test_all_moments_have_their_names_and_the_axes_their_units():
    words = _words(_drawn(filled_s=0.25)[1])
    for key in ("runs", "filled", "straight", "peak", "pull", "time", "early", "whole"):
        assert say(f"sheet.force.{key}") in words, key
    assert say("sheet.force.filled") not in _words(_drawn()[1])


def test_the_line_lies_in_its_field_and_in_the_panel():
    chart, root = _drawn()
    field, best = [one for one in root.iter(f"{_NS}path") if one.attrib["d"].count("L") > 20][:2]
    numbers = [float(one) for one in re.findall(r"-?[\d.]+", best.attrib["d"])]
    xs, ys = numbers[::2], numbers[1::2]
    assert xs == sorted(xs)
    assert all(11.0 <= y <= chart.height_mm - 9.0 + 1e-6 for y in ys)
    around = [float(one) for one in re.findall(r"-?[\d.]+", field.attrib["d"])]
    count = len(xs)
    upper, lower = around[1 : 2 * count : 2], around[2 * count + 1 :: 2][::-1]
    assert all(high - 0.011 <= y <= low + 0.011 for high, y, low in zip(upper, ys, lower, strict=True))


def test_a_throw_in_which_the_metal_never_runs_is_drawn_without_that_moment():
    course = replace(_COURSE, runs_s=None, straight_s=None)
    words = _words(_drawn(course)[1])
    assert say("sheet.force.runs") not in words and say("sheet.force.straight") not in words
    assert say("sheet.force.peak") in words


def test_a_throw_without_any_moment_is_still_drawn():
    course = replace(_COURSE, runs_s=None, straight_s=None, peak_s=None)
    assert say("sheet.force.whole") in _words(_drawn(course)[1])


def test_the_same_throw_gives_the_same_bytes():
    assert force_chart(_COURSE).svg == force_chart(_setup(_is(0.600, "kg")).course).svg


def test_the_chart_needs_no_colour():
    for colour in re.findall(r"#([0-9a-f]{6})", _drawn(filled_s=0.3)[0].svg):
        assert len({colour[0:2], colour[2:4], colour[4:6]}) == 1
