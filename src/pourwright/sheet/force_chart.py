"""A chart of the force at the flask over time, with the moment the metal runs: its start on the left, all on the right.

Everything is told apart by form and darkness, so that it reads in black and white: the range is a pale field, the arm
as stated a thick line, moments are upright lines with their names.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from xml.etree.ElementTree import Element, SubElement, tostring

from pourwright.core.text import say
from pourwright.prepare.throw.results import ForceLine, ThrowCourse

_SVG = "http://www.w3.org/2000/svg"
_BAND, _GRID = "#d6d6d6", "#bdbdbd"
_LEFT_MM, _RIGHT_MM, _TOP_MM, _BELOW_MM = 9.0, 3.0, 11.0, 9.0
_TEXT_MM, _SMALL_MM = 3.2, 2.8
_TICKS_COUNT = 5
# How far the left panel looks past the moment at which the arm is straight.
_EARLY_RATIO = 1.4
_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)
# Names of moments closer than this share of a panel stand one under the other.
_CROWDED_FRAC = 0.45
# Past this share of a panel a name stands before its line.
_LATE_FRAC = 0.7


@dataclass(frozen=True)
class ForceChart:
    """The chart as SVG text, and what it spans [mm]."""

    svg: str
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class _Moment:
    """An upright line: when [s], its name, and whether it is drawn bold."""

    time_s: float
    name: str
    bold: bool


@dataclass(frozen=True)
class _Panel:
    """A part of the drawing with its own axes: place and size on the sheet [mm], ends of its axes."""

    left_mm: float
    wide_mm: float
    high_mm: float
    end_s: float
    top_gee: float

    def x(self, time_s: float) -> float:
        return self.left_mm + self.wide_mm * time_s / self.end_s

    def y(self, pull_gee: float) -> float:
        share = min(max(pull_gee / self.top_gee, 0.0), 1.0)
        return _TOP_MM + self.high_mm * (1 - share)


def force_chart(
    course: ThrowCourse, filled_s: float | None = None, width_mm: float = 176.0, height_mm: float = 66.0
) -> ForceChart:
    """Draw one throw.

    Parameters
    ----------
    course : ThrowCourse
        The throw over time.
    filled_s : float, optional
        When the last of the metal stands still [s], if a filling was worked out.
    width_mm, height_mm : float
        Size of the whole drawing [mm].

    Returns
    -------
    ForceChart
        To be set as a picture on paper, or inline in a page.
    """
    svg = Element(
        "svg",
        {"xmlns": _SVG, "width": f"{width_mm:.1f}mm", "height": f"{height_mm:.1f}mm", "font-family": "Roboto"},
        viewBox=f"0 0 {width_mm:.1f} {height_mm:.1f}",
        role="img",
    )
    SubElement(svg, "title").text = say("sheet.force.title")
    line, moments = course.line, _moments(course, filled_s)
    wide_mm = width_mm / 2 - _LEFT_MM - _RIGHT_MM
    high_mm = height_mm - _TOP_MM - _BELOW_MM
    early_s = _early_s(course)
    early = [one for one in moments if one.time_s <= early_s]
    # What the left panel names is not named again on the right, but where the metal begins to run.
    whole = [one for one in moments if one.time_s > early_s or one in early[:1]]
    for number, (end_s, name, named) in enumerate(
        ((early_s, "sheet.force.early", early), (line.time_s[-1], "sheet.force.whole", whole))
    ):
        panel = _Panel(_LEFT_MM + number * width_mm / 2, wide_mm, high_mm, end_s, _top_gee(line, end_s))
        _draw_panel(svg, panel, line, named, say(name))
    return ForceChart(tostring(svg, "unicode"), width_mm, height_mm)


def _early_s(course: ThrowCourse) -> float:
    """Return where the left panel ends: past the swing of the arm, in tenths of a second."""
    last_s = course.line.time_s[-1]
    straight_s = last_s if course.straight_s is None else course.straight_s.value
    return min(last_s, ceil(10 * _EARLY_RATIO * straight_s) / 10)


def _top_gee(line: ForceLine, end_s: float) -> float:
    inside = [high for time_s, high in zip(line.time_s, line.along_high_gee, strict=True) if time_s <= end_s]
    return max(1.05 * max(inside), 1.0)


def _moments(course: ThrowCourse, filled_s: float | None) -> list[_Moment]:
    asked = (
        (None if course.runs_s is None else course.runs_s.value, "sheet.force.runs", True),
        (filled_s, "sheet.force.filled", True),
        (None if course.straight_s is None else course.straight_s.value, "sheet.force.straight", False),
        (None if course.peak_s is None else course.peak_s.value, "sheet.force.peak", False),
    )
    found = [_Moment(time_s, say(key), bold) for time_s, key, bold in asked if time_s is not None]
    return sorted(found, key=lambda one: one.time_s)


def _draw_panel(svg: Element, panel: _Panel, line: ForceLine, moments: Sequence[_Moment], title: str) -> None:
    _text(svg, panel.left_mm, 3.4, title, _TEXT_MM, bold=True)
    _draw_axes(svg, panel)
    points = [at for at, time_s in enumerate(line.time_s) if time_s <= panel.end_s]
    upper = [(panel.x(line.time_s[at]), panel.y(line.along_high_gee[at])) for at in points]
    lower = [(panel.x(line.time_s[at]), panel.y(line.along_low_gee[at])) for at in points]
    SubElement(svg, "path", d=f"{_path([*upper, *reversed(lower)])} Z", fill=_BAND)
    best = [(panel.x(line.time_s[at]), panel.y(line.along_gee[at])) for at in points]
    SubElement(svg, "path", {"stroke-width": "0.7", "stroke-linejoin": "round"}, d=_path(best), fill="none",
               stroke="black")  # fmt: skip
    _draw_moments(svg, panel, moments)


def _draw_axes(svg: Element, panel: _Panel) -> None:
    bottom = _TOP_MM + panel.high_mm
    right = panel.left_mm + panel.wide_mm
    for pull in _ticks(panel.top_gee):
        _line(svg, (panel.left_mm, panel.y(pull)), (right, panel.y(pull)), 0.15, _GRID)
        _text(svg, panel.left_mm - 1.2, panel.y(pull) + 1.0, f"{pull:g}", _SMALL_MM, anchor="end")
    for time_s in _ticks(panel.end_s):
        _line(svg, (panel.x(time_s), bottom), (panel.x(time_s), bottom + 1.2), 0.25, "black")
        _text(svg, panel.x(time_s), bottom + 4.2, f"{time_s:g}", _SMALL_MM, anchor="middle")
    _line(svg, (panel.left_mm, _TOP_MM), (panel.left_mm, bottom), 0.3, "black")
    _line(svg, (panel.left_mm, bottom), (right, bottom), 0.3, "black")
    _text(svg, panel.left_mm - 1.2, 7.4, say("sheet.force.pull"), _SMALL_MM)
    _text(svg, right, bottom + 7.8, say("sheet.force.time"), _SMALL_MM, anchor="end")


def _draw_moments(svg: Element, panel: _Panel, moments: Sequence[_Moment]) -> None:
    """Draw all lines first, so that none crosses a name."""
    bottom = _TOP_MM + panel.high_mm
    for one in moments:
        x = panel.x(one.time_s)
        _line(svg, (x, _TOP_MM), (x, bottom), 0.6 if one.bold else 0.3, "black", "" if one.bold else "0.8 0.8")
    row, last_x = 0, -1e9
    for one in moments:
        x = panel.x(one.time_s)
        row = row + 1 if x - last_x < _CROWDED_FRAC * panel.wide_mm else 0
        last_x = x
        late = one.time_s > _LATE_FRAC * panel.end_s
        _name(svg, x + (-0.9 if late else 0.9), _TOP_MM + 3.2 + 4.0 * row, one, "end" if late else "start")


def _name(svg: Element, x: float, y: float, one: _Moment, anchor: str) -> None:
    """Write a name on a white ground, so that lines under it do not cross it."""
    under = _text(svg, x, y, one.name, _SMALL_MM, anchor=anchor, bold=one.bold)
    under.attrib |= {"stroke": "white", "stroke-width": "0.9", "stroke-linejoin": "round"}
    _text(svg, x, y, one.name, _SMALL_MM, anchor=anchor, bold=one.bold)


def _ticks(end_ratio: float) -> list[float]:
    """Return round numbers from nought up to an end, five or so."""
    step = end_ratio / _TICKS_COUNT
    size = 10.0 ** floor(log10(step))
    wide = next(one * size for one in _ROUND if one * size >= step * 0.999)
    return [round(number * wide, 6) for number in range(floor(end_ratio / wide + 1e-9) + 1)]


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in points)


def _line(
    svg: Element, start: tuple[float, float], end: tuple[float, float], thick_mm: float, colour: str, dash: str = ""
) -> None:
    (x1, y1), (x2, y2) = start, end
    drawn = SubElement(svg, "path", d=f"M{x1:.2f} {y1:.2f} L{x2:.2f} {y2:.2f}", fill="none", stroke=colour)
    drawn.set("stroke-width", f"{thick_mm:g}")
    if dash:
        drawn.set("stroke-dasharray", dash)


def _text(
    svg: Element, x: float, y: float, words: str, size_mm: float, anchor: str = "start", bold: bool = False
) -> Element:
    drawn = SubElement(svg, "text", {"font-size": f"{size_mm:g}", "text-anchor": anchor}, x=f"{x:.2f}", y=f"{y:.2f}")
    if bold:
        drawn.set("font-weight", "bold")
    drawn.text = words
    return drawn
