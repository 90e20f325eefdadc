"""A cut through the frozen tree to scale: when each place froze, and where the hot spots are.

Pale froze early and dark late. The cut goes through the flask's axis and the worst hot spot.
"""

from __future__ import annotations

from math import atan2, ceil, cos, degrees, log10, sin
from xml.etree.ElementTree import Element, tostring

import numpy as np
from numpy.typing import NDArray

from pourwright.core.text import say
from pourwright.physics.freeze.hot_spots import HotSpot
from pourwright.sheet.cut_parts import (
    SectionPicture,
    Sheet,
    begin_cut,
    cut_outline,
    draw_bands,
    draw_cross,
    draw_ring,
    draw_scale,
    draw_text,
    number_in,
)
from pourwright.simulate.run import Assessment

Floats = NDArray[np.float64]

_BANDS_COUNT = 6
# Hot spots farther from the cut than this are drawn with a broken ring.
_NEAR_MM = 2.5
_SHOWN_SPOTS = 9


def freeze_section(assessment: Assessment, angle_deg: float | None = None) -> SectionPicture:
    """Draw the cut of one flask.

    Parameters
    ----------
    assessment : Assessment
        A finished run and its hot spots.
    angle_deg : float, optional
        Of the cut about the flask's axis [deg]; unless given it goes through the largest hot spot, else the first
        piece.
    """
    job, result = assessment.run.job, assessment.run.result
    angle = _angle_rad(assessment) if angle_deg is None else angle_deg * np.pi / 180
    outline = cut_outline(job.solid.mesh, angle)
    levels_s = _levels_s(assessment)
    sheet = begin_cut(job.radius_mm, job.height_mm, job.wall_mm, outline)
    draw_bands(sheet, outline, angle, 1e3 * result.centre_m, result.freeze_s, levels_s)
    for number, one in enumerate(assessment.found.spots[:_SHOWN_SPOTS], 1):
        _draw_spot(sheet.cut, number, one, angle)
    _draw_key(sheet, levels_s)
    return SectionPicture(tostring(sheet.svg, "unicode"), sheet.width_mm, sheet.height_mm, degrees(angle))


def _angle_rad(assessment: Assessment) -> float:
    """Return the angle of the plane through the axis and what matters most."""
    solid = assessment.run.job.solid
    places = [one.place_m for one in assessment.found.spots if np.hypot(*one.place_m[:2]) > 1e-3]
    if places:
        return atan2(places[0][1], places[0][0])
    middles = [one.vertices_mm.mean(axis=0) for one in solid.pieces.values()]
    away = [one for one in middles if np.hypot(*one[:2]) > 1.0]
    # a lone piece on the axis is cut along its wider side
    if away:
        return atan2(away[0][1], away[0][0])
    first = next(iter(solid.pieces.values())).vertices_mm
    return 0.0 if np.ptp(first[:, 0]) >= np.ptp(first[:, 1]) else np.pi / 2


def _levels_s(assessment: Assessment) -> Floats:
    """Return round times that cut the freezing times into bands [s]: most of them where the pieces freeze."""
    freeze_s, button = assessment.run.result.freeze_s, assessment.regions.feeder
    tree_s = freeze_s[~button] if (~button).any() else freeze_s
    steps = np.quantile(tree_s, np.linspace(0, 1, _BANDS_COUNT)[1:-1])
    latest = np.quantile(freeze_s[button], 0.5) if button.any() else tree_s.max()
    span_s = float(np.ptp(tree_s)) or 1.0
    grain_s = 10.0 ** (ceil(log10(span_s)) - 2)
    return np.unique(np.round(np.array([*steps, max(latest, steps[-1])]) / grain_s) * grain_s)


def _draw_spot(cut: Element, number: int, one: HotSpot, angle: float) -> None:
    """Draw the ring and number of a hot spot, broken if it lies off the cut, and a cross where its neck closed."""
    if one.neck_m is not None:
        x, y, _ = _in_cut(one.neck_m, angle)
        draw_cross(cut, x, y, 0.8, "white")
        draw_cross(cut, x, y, 0.35, "black")
    across, up, off = _in_cut(one.place_m, angle)
    ring = draw_ring(cut, across, up)
    if off > _NEAR_MM:
        ring.set("stroke-dasharray", "0.7 0.5")
    number_in(cut, across, up, number)


def _in_cut(place_m: tuple[float, float, float], angle: float) -> tuple[float, float, float]:
    """Return across, up and distance from the cut of a place [mm]."""
    x, y, z = (1e3 * one for one in place_m)
    return x * cos(angle) + y * sin(angle), z, abs(x * sin(angle) - y * cos(angle))


def _draw_key(sheet: Sheet, levels_s: Floats) -> None:
    """Draw the scale, and above it what the marks mean."""
    svg, left_mm, top_mm = sheet.svg, sheet.key_left_mm, draw_scale(sheet, levels_s, 1)
    draw_text(svg, left_mm, top_mm - 5.0, say("simulate.picture-frozen"))
    draw_text(svg, left_mm, top_mm - 1.8, say("simulate.picture-after"))
    draw_text(svg, left_mm, top_mm - 9.6, say("simulate.picture-only"))
    draw_cross(svg, left_mm + 1.9, top_mm - 15.3, 0.35, "black")
    draw_text(svg, left_mm + 5.0, top_mm - 14.4, say("simulate.picture-neck"))
    draw_ring(svg, left_mm + 1.9, top_mm - 20.0)
    draw_text(svg, left_mm + 5.0, top_mm - 19.1, say("simulate.picture-spot"))
