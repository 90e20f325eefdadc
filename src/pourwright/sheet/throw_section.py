"""A cut through the tree to scale: when the metal reaches each place, and what it does not reach.

Pale is reached early and dark late; hatched places stay empty at the best values. Rings number the places that decide:
where each piece fills last or stays empty.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, ceil, cos, degrees, log10, sin
from xml.etree.ElementTree import tostring

import numpy as np
from numpy.typing import NDArray

from pourwright.core.text import say
from pourwright.sheet.cut_parts import (
    SectionPicture,
    Sheet,
    begin_cut,
    cut_outline,
    draw_bands,
    draw_box,
    draw_ring,
    draw_scale,
    draw_text,
    number_in,
)
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.throw_fields import FillFields
from pourwright.simulate.throw_summary import PieceFill

Floats = NDArray[np.float64]

_BANDS_COUNT = 6
# Places farther from the cut than this are drawn with a broken ring.
_NEAR_MM = 2.5
_SURE_ORDER = {"fails": 0, "open": 1, "fills": 2}


def throw_section(
    job: FlaskJob, kept: FillFields, pieces: Sequence[PieceFill], angle_deg: float | None = None
) -> SectionPicture:
    """Draw the cut of one flask.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    kept : FillFields
        When the metal came.
    pieces : sequence of PieceFill
        How each piece fills; their numbers in the drawing are their places here.
    angle_deg : float, optional
        Of the cut about the flask's axis [deg]; unless given it goes through the piece that fills least surely.
    """
    angle = _angle_rad(job, pieces) if angle_deg is None else angle_deg * np.pi / 180
    outline = cut_outline(job.solid.mesh, angle)
    levels_s = _levels_s(kept)
    sheet = begin_cut(job.radius_mm, job.height_mm, job.wall_mm, outline)
    draw_bands(sheet, outline, angle, kept.centre_mm, kept.arrival_s, levels_s, ~kept.filled)
    for number, one in enumerate(pieces, 1):
        _draw_place(sheet, number, one, angle)
    _draw_key(sheet, levels_s)
    return SectionPicture(tostring(sheet.svg, "unicode"), sheet.width_mm, sheet.height_mm, degrees(angle))


def _angle_rad(job: FlaskJob, pieces: Sequence[PieceFill]) -> float:
    """Return the angle of the plane through the axis and the last place of the least sure piece."""
    worst = min(pieces, key=lambda one: (_SURE_ORDER[one.state], -(one.misrun_ratio or 0.0)), default=None)
    if worst is not None and np.hypot(*worst.last_place_mm[:2]) > 1.0:
        return atan2(worst.last_place_mm[1], worst.last_place_mm[0])
    first = next(iter(job.solid.pieces.values())).vertices_mm
    return 0.0 if np.ptp(first[:, 0]) >= np.ptp(first[:, 1]) else np.pi / 2


def _levels_s(kept: FillFields) -> Floats:
    """Return round times that cut the arrivals into bands [s]: most of them where the pieces fill."""
    inside = kept.filled & (kept.tank > 0)
    times_s = kept.arrival_s[inside if inside.any() else kept.filled]
    if not len(times_s):
        return np.zeros(1)
    steps = np.quantile(times_s, np.linspace(0, 1, _BANDS_COUNT + 1)[1:-1])
    grain_s = 10.0 ** (ceil(log10(max(float(np.ptp(times_s)), 1e-3))) - 2)
    return np.unique(np.round(steps / grain_s) * grain_s)


def _draw_place(sheet: Sheet, number: int, one: PieceFill, angle: float) -> None:
    x, y, z = one.last_place_mm
    ring = draw_ring(sheet.cut, x * cos(angle) + y * sin(angle), z)
    if abs(x * sin(angle) - y * cos(angle)) > _NEAR_MM:
        ring.set("stroke-dasharray", "0.7 0.5")
    number_in(sheet.cut, x * cos(angle) + y * sin(angle), z, number)


def _draw_key(sheet: Sheet, levels_s: Floats) -> None:
    """Draw the scale, and above it what hatching and rings mean."""
    digits = 3 if levels_s[-1] < 1 else 2
    svg, left_mm, top_mm = sheet.svg, sheet.key_left_mm, draw_scale(sheet, levels_s, digits)
    draw_text(svg, left_mm, top_mm - 5.0, say("simulate.picture-reached"))
    draw_text(svg, left_mm, top_mm - 1.8, say("simulate.picture-after-release"))
    box = draw_box(svg, left_mm, top_mm - 13.5, 5.0, 4.0, fill="white", stroke="black")
    box.set("stroke-width", "0.15")
    for step in range(4):
        draw_text(svg, left_mm + 0.2 + 1.25 * step, top_mm - 10.4, "/")
    draw_text(svg, left_mm + 6.0, top_mm - 10.6, say("simulate.picture-empty"))
    draw_ring(svg, left_mm + 1.9, top_mm - 18.0)
    draw_text(svg, left_mm + 5.0, top_mm - 17.1, say("simulate.picture-last"))
