"""A cut through the frozen tree to scale: when each place froze, and where the hot spots are.

Pale froze early and dark late; the bands differ in lightness, so the picture is as good in black and white. The cut
goes through the flask's axis and the worst hot spot.
"""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, ceil, cos, degrees, log10, sin
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, ParseError, SubElement, fromstring, tostring

import numpy as np
from numpy.typing import NDArray

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.freeze.hot_spots import HotSpot
from pourwright.shape.pattern.report import Mesh
from pourwright.simulate.run import Assessment

Floats = NDArray[np.float64]

_SVG = "http://www.w3.org/2000/svg"
# Our own scale, falling in lightness from straw to plum.
_SCALE = np.array([(248, 240, 219), (232, 202, 146), (211, 153, 96), (165, 100, 88), (112, 64, 84), (66, 36, 62)])
_BANDS_COUNT = 6
_PX_PER_MM = 12
# Beside the flask: room for the scale.
_KEY_MM, _EDGE_MM = 24.0, 2.0
# Hot spots farther from the cut than this are drawn with a broken ring.
_NEAR_MM = 2.5
_NEAREST_COUNT = 6
_SHOWN_SPOTS = 9
# No flask of a studio is smaller or larger.
_LEAST_MM, _MOST_MM = 10.0, 500.0


@dataclass(frozen=True)
class SectionPicture:
    """A picture to scale: SVG text, and what it spans [mm]. ``angle_deg`` is that of the cut about the axis."""

    svg: str
    width_mm: float
    height_mm: float
    angle_deg: float


@dataclass(frozen=True)
class StoredCut:
    """A picture of ours that was written earlier: SVG text, and what it spans [mm]."""

    svg: str
    width_mm: float
    height_mm: float


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
    job = assessment.run.job
    angle = _angle_rad(assessment) if angle_deg is None else angle_deg * np.pi / 180
    outline = _outline(job.solid.mesh, angle)
    levels_s = _levels_s(assessment)
    inside, outside = 2 * job.radius_mm, 2 * (job.radius_mm + job.wall_mm)
    width, height = outside + _KEY_MM + 2 * _EDGE_MM, job.height_mm + 2 * _EDGE_MM
    svg = Element(
        "svg",
        {"xmlns": _SVG, "width": f"{width:.2f}mm", "height": f"{height:.2f}mm", "font-family": "Roboto"},
        viewBox=f"0 0 {width:.2f} {height:.2f}",
    )
    svg.set("font-size", "2.6")
    SubElement(SubElement(svg, "clipPath", id="metal"), "path", {"clip-rule": "evenodd"}, d=_path(outline))
    _draw_flask(svg, inside, job.wall_mm, job.height_mm)
    shift = f"translate({_EDGE_MM + outside / 2:.3f} {job.height_mm + _EDGE_MM:.3f}) scale(1 -1)"
    cut = SubElement(svg, "g", transform=shift)
    _draw_bands(cut, assessment, angle, outline, levels_s)
    SubElement(cut, "path", {"stroke-width": "0.22"}, d=_path(outline), fill="none", stroke="black")
    for number, one in enumerate(assessment.found.spots[:_SHOWN_SPOTS], 1):
        _draw_spot(cut, number, one, angle)
    _draw_key(svg, levels_s, outside + 2 * _EDGE_MM + 1.5, job.height_mm + _EDGE_MM)
    return SectionPicture(tostring(svg, "unicode"), width, height, degrees(angle))


def read_cut(path: Path) -> StoredCut | None:
    """Return a picture written earlier, or None where there is none or what lies there is no picture of ours."""
    try:
        svg = path.read_text("utf-8")
        if "<!" in svg:
            return None
        root = fromstring(svg)  # noqa: S314 - without declarations there are no entities to swell
        width_mm, height_mm = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    except (OSError, ValueError, KeyError, ParseError):
        return None
    whole = root.tag == f"{{{_SVG}}}svg" and _LEAST_MM < width_mm < _MOST_MM and _LEAST_MM < height_mm < _MOST_MM
    return StoredCut(svg, width_mm, height_mm) if whole else None


def section_png(picture: SectionPicture | StoredCut, px_per_mm_count: int = _PX_PER_MM) -> bytes:
    """Return the picture as a PNG with so many pixels to the millimetre; the same bytes for the same picture."""
    import tempfile

    import font_roboto
    import typst

    with tempfile.TemporaryDirectory(prefix="pourwright-") as scratch:
        desk = Path(scratch)
        (desk / "section.svg").write_text(picture.svg, "utf-8")
        (desk / "section.typ").write_text(
            f'#set page(width: auto, height: auto, margin: 0pt)\n#image("section.svg", width: {picture.width_mm}mm)\n',
            "utf-8",
        )
        made = typst.compile(
            str(desk / "section.typ"),
            root=str(desk),
            font_paths=[str(Path(font_roboto.__file__).parent / "files")],
            ignore_system_fonts=True,
            format="png",
            ppi=25.4 * px_per_mm_count,
        )
    return bytes(made)


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


def _outline(mesh: Mesh, angle: float) -> list[Floats]:
    """Return the closed lines in which the metal is cut, each (n, 2): across and up [mm]."""
    import manifold3d

    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(mesh.vertices_mm, order="C"), np.array(mesh.faces, dtype=np.uint64, order="C"))
    )
    c, s = cos(angle), sin(angle)
    laid: Any = solid.transform(np.array([[c, s, 0, 0], [0, 0, 1, 0], [s, -c, 0, 0]], dtype=np.float64))
    return [np.asarray(one, dtype=np.float64) for one in laid.slice(0.0).to_polygons()]


def _span(outline: Sequence[Floats]) -> tuple[Floats, Floats]:
    points = np.vstack(outline)
    return points.min(axis=0), points.max(axis=0)


def _path(outline: Sequence[Floats]) -> str:
    return " ".join("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in one) + "Z" for one in outline)


def _levels_s(assessment: Assessment) -> Floats:
    """Return round times that cut the freezing times into bands [s]: most of them where the pieces freeze."""
    freeze_s, button = assessment.run.result.freeze_s, assessment.regions.feeder
    tree_s = freeze_s[~button] if (~button).any() else freeze_s
    steps = np.quantile(tree_s, np.linspace(0, 1, _BANDS_COUNT)[1:-1])
    latest = np.quantile(freeze_s[button], 0.5) if button.any() else tree_s.max()
    span_s = float(np.ptp(tree_s)) or 1.0
    grain_s = 10.0 ** (ceil(log10(span_s)) - 2)
    return np.unique(np.round(np.array([*steps, max(latest, steps[-1])]) / grain_s) * grain_s)


def _map_png(assessment: Assessment, angle: float, low: Floats, high: Floats, levels_s: Floats) -> bytes:
    """Return the bands of freezing time over the box round the cut, the lines between them dark."""
    from scipy.spatial import cKDTree

    result = assessment.run.result
    across = np.arange(low[0], high[0], 1 / _PX_PER_MM) + 0.5 / _PX_PER_MM
    up = np.arange(high[1], low[1], -1 / _PX_PER_MM) - 0.5 / _PX_PER_MM
    s, z = np.meshgrid(across, up)
    points_m = 1e-3 * np.column_stack([(s * cos(angle)).ravel(), (s * sin(angle)).ravel(), z.ravel()])
    count = min(_NEAREST_COUNT, len(result.centre_m))
    away_m, near = cKDTree(result.centre_m).query(points_m, k=count)
    away_m, near = (np.reshape(one, (len(points_m), count)) for one in (away_m, near))
    weight = 1 / (away_m + 1e-5) ** 2
    time_s = (weight * result.freeze_s[near]).sum(axis=1) / weight.sum(axis=1)
    band = np.searchsorted(levels_s, time_s).reshape(s.shape)
    colour = np.rint(_scale_at(np.arange(len(levels_s) + 1) / max(len(levels_s), 1))).astype(np.uint8)[band]
    edge = np.zeros(band.shape, dtype=bool)
    edge[:, 1:] |= band[:, 1:] != band[:, :-1]
    edge[1:, :] |= band[1:, :] != band[:-1, :]
    colour[edge] = colour[edge] // 2
    return _colour_png(colour)


def _scale_at(share: Floats) -> Floats:
    stops = np.linspace(0, 1, len(_SCALE))
    return np.column_stack([np.interp(share, stops, _SCALE[:, channel]) for channel in range(3)])


def _colour_png(rows: NDArray[np.uint8]) -> bytes:
    """Return a colour PNG of rows of pixels, shape (height, width, 3); no date or program name gets in."""
    height, width, _ = rows.shape
    lines = np.zeros((height, 1 + 3 * width), dtype=np.uint8)
    lines[:, 1:] = rows.reshape(height, 3 * width)
    parts = [
        (b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(lines.tobytes(), 9)),
        (b"IEND", b""),
    ]
    chunks = (
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body)) for kind, body in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def _draw_flask(svg: Element, inside_mm: float, wall_mm: float, height_mm: float) -> None:
    """Draw the two cut walls of the flask, and its ends as thin lines."""
    left, right = _EDGE_MM + wall_mm, _EDGE_MM + wall_mm + inside_mm
    for x_mm in (_EDGE_MM, right):
        _box(svg, x_mm, _EDGE_MM, wall_mm, height_mm, fill="#777")
    for y_mm in (_EDGE_MM, _EDGE_MM + height_mm):
        SubElement(
            svg, "line", {"stroke-width": "0.15"}, stroke="#777",
            x1=f"{left:.2f}", x2=f"{right:.2f}", y1=f"{y_mm:.2f}", y2=f"{y_mm:.2f}",
        )  # fmt: skip


def _draw_bands(
    cut: Element, assessment: Assessment, angle: float, outline: Sequence[Floats], levels_s: Floats
) -> None:
    low, high = _span(outline)
    png = base64.b64encode(_map_png(assessment, angle, low, high, levels_s)).decode("ascii")
    SubElement(
        SubElement(cut, "g", {"clip-path": "url(#metal)"}), "image",
        x=f"{low[0]:.3f}", y=f"{-high[1]:.3f}", width=f"{high[0] - low[0]:.3f}", height=f"{high[1] - low[1]:.3f}",
        transform="scale(1 -1)", preserveAspectRatio="none", href=f"data:image/png;base64,{png}",
    )  # fmt: skip


def _draw_spot(cut: Element, number: int, one: HotSpot, angle: float) -> None:
    """Draw the ring and number of a hot spot, broken if it lies off the cut, and a cross where its neck closed."""
    if one.neck_m is not None:
        x, y, _ = _in_cut(one.neck_m, angle)
        _cross(cut, x, y, 0.8, "white")
        _cross(cut, x, y, 0.35, "black")
    across, up, off = _in_cut(one.place_m, angle)
    ring = _ring(cut, across, up)
    if off > _NEAR_MM:
        ring.set("stroke-dasharray", "0.7 0.5")
    label = _text(cut, across, -up + 0.9, str(number))
    label.set("transform", "scale(1 -1)")
    label.set("text-anchor", "middle")
    label.set("font-weight", "bold")


def _in_cut(place_m: tuple[float, float, float], angle: float) -> tuple[float, float, float]:
    """Return across, up and distance from the cut of a place [mm]."""
    x, y, z = (1e3 * one for one in place_m)
    return x * cos(angle) + y * sin(angle), z, abs(x * sin(angle) - y * cos(angle))


def _draw_key(svg: Element, levels_s: Floats, left_mm: float, bottom_mm: float) -> None:
    """Draw the scale: a box a band, the latest on top, with the times between them; above it what the marks mean."""
    high_mm, wide_mm = 6.0, 5.0
    colours = np.rint(_scale_at(np.arange(len(levels_s) + 1) / max(len(levels_s), 1))).astype(int).tolist()
    for number, (red, green, blue) in enumerate(colours):
        y_mm = bottom_mm - high_mm * (number + 1)
        box = _box(svg, left_mm, y_mm, wide_mm, high_mm, fill=f"rgb({red},{green},{blue})", stroke="black")
        box.set("stroke-width", "0.15")
        if number < len(levels_s):
            _text(svg, left_mm + wide_mm + 1.0, y_mm + 0.9, show(levels_s[number], "s", 1))
    top_mm = bottom_mm - high_mm * len(colours)
    _text(svg, left_mm, top_mm - 5.0, say("simulate.picture-frozen"))
    _text(svg, left_mm, top_mm - 1.8, say("simulate.picture-after"))
    _text(svg, left_mm, top_mm - 9.6, say("simulate.picture-only"))
    _cross(svg, left_mm + 1.9, top_mm - 15.3, 0.35, "black")
    _text(svg, left_mm + 5.0, top_mm - 14.4, say("simulate.picture-neck"))
    _ring(svg, left_mm + 1.9, top_mm - 20.0)
    _text(svg, left_mm + 5.0, top_mm - 19.1, say("simulate.picture-spot"))


def _box(parent: Element, x_mm: float, y_mm: float, wide_mm: float, high_mm: float, **look: str) -> Element:
    place = {"x": f"{x_mm:.2f}", "y": f"{y_mm:.2f}", "width": f"{wide_mm:.2f}", "height": f"{high_mm:.2f}"}
    return SubElement(parent, "rect", place, **look)


def _ring(parent: Element, x_mm: float, y_mm: float) -> Element:
    look = {"r": "1.7", "fill": "white", "fill-opacity": "0.9", "stroke": "black", "stroke-width": "0.3"}
    return SubElement(parent, "circle", look, cx=f"{x_mm:.2f}", cy=f"{y_mm:.2f}")


def _cross(parent: Element, x_mm: float, y_mm: float, line_mm: float, colour: str) -> None:
    way = f"M{x_mm - 0.8:.2f} {y_mm - 0.8:.2f}l1.6 1.6m-1.6 0l1.6 -1.6"
    SubElement(parent, "path", {"stroke-width": f"{line_mm}"}, d=way, stroke=colour)


def _text(parent: Element, x_mm: float, y_mm: float, words: str) -> Element:
    text = SubElement(parent, "text", x=f"{x_mm:.2f}", y=f"{y_mm:.2f}")
    text.text = words
    return text
