"""What pictures of a cut through a flask are made of: outline, flask, bands of a field, scale, marks.

The bands differ in lightness, so that a picture is as good in black and white.
"""

from __future__ import annotations

import base64
import struct
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element, ParseError, SubElement, fromstring

import numpy as np
from numpy.typing import NDArray

from pourwright.core.units import show
from pourwright.shape.pattern.report import Mesh

Floats = NDArray[np.float64]

SVG = "http://www.w3.org/2000/svg"
# Our own scale, falling in lightness from straw to plum.
_SCALE = np.array([(248, 240, 219), (232, 202, 146), (211, 153, 96), (165, 100, 88), (112, 64, 84), (66, 36, 62)])
PX_PER_MM = 12
# Beside the flask: room for the scale.
KEY_MM, EDGE_MM = 24.0, 2.0
_NEAREST_COUNT = 6
# No flask of a studio is smaller or larger.
_LEAST_MM, _MOST_MM = 10.0, 500.0
# Hatching of places that are left out of the bands, as lines so far apart.
_HATCH_PX = 6


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


@dataclass(frozen=True, eq=False)
class Sheet:
    """A drawing begun: the flask is on it; in ``cut`` x is across and y up from the mouth, both in millimetres.

    ``key_left_mm`` and ``key_bottom_mm`` are where a scale finds room.
    """

    svg: Element
    cut: Element
    width_mm: float
    height_mm: float
    key_left_mm: float
    key_bottom_mm: float


def begin_cut(radius_mm: float, height_mm: float, wall_mm: float, outline: Sequence[Floats]) -> Sheet:
    """Begin a drawing with a flask of inside radius, height and wall [mm]; the outline is its clip path."""
    inside, outside = 2 * radius_mm, 2 * (radius_mm + wall_mm)
    width, height = outside + KEY_MM + 2 * EDGE_MM, height_mm + 2 * EDGE_MM
    svg = Element(
        "svg",
        {"xmlns": SVG, "width": f"{width:.2f}mm", "height": f"{height:.2f}mm", "font-family": "Roboto"},
        viewBox=f"0 0 {width:.2f} {height:.2f}",
    )
    svg.set("font-size", "2.6")
    SubElement(SubElement(svg, "clipPath", id="metal"), "path", {"clip-rule": "evenodd"}, d=outline_path(outline))
    _draw_flask(svg, inside, wall_mm, height_mm)
    shift = f"translate({EDGE_MM + outside / 2:.3f} {height_mm + EDGE_MM:.3f}) scale(1 -1)"
    cut = SubElement(svg, "g", transform=shift)
    return Sheet(svg, cut, width, height, outside + 2 * EDGE_MM + 1.5, height_mm + EDGE_MM)


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
    whole = root.tag == f"{{{SVG}}}svg" and _LEAST_MM < width_mm < _MOST_MM and _LEAST_MM < height_mm < _MOST_MM
    return StoredCut(svg, width_mm, height_mm) if whole else None


def section_png(picture: SectionPicture | StoredCut, px_per_mm_count: int = PX_PER_MM) -> bytes:
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


def cut_outline(mesh: Mesh, angle_rad: float) -> list[Floats]:
    """Return the closed lines in which metal is cut by a plane through the axis, each (n, 2): across and up [mm]."""
    import manifold3d

    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(mesh.vertices_mm, order="C"), np.array(mesh.faces, dtype=np.uint64, order="C"))
    )
    c, s = cos(angle_rad), sin(angle_rad)
    laid: Any = solid.transform(np.array([[c, s, 0, 0], [0, 0, 1, 0], [s, -c, 0, 0]], dtype=np.float64))
    return [np.asarray(one, dtype=np.float64) for one in laid.slice(0.0).to_polygons()]


def outline_path(outline: Sequence[Floats]) -> str:
    """Return closed lines as an SVG path."""
    return " ".join("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in one) + "Z" for one in outline)


def draw_bands(
    sheet: Sheet,
    outline: Sequence[Floats],
    angle_rad: float,
    centre_mm: Floats,
    time_s: Floats,
    levels_s: Floats,
    left_out: NDArray[np.bool_] | None = None,
) -> None:
    """Draw a field of times in bands inside the outline, the lines between them dark.

    Parameters
    ----------
    sheet : Sheet
        The drawing.
    outline : sequence of array
        As :func:`cut_outline` gives it.
    angle_rad : float
        Of the cut about the axis [rad].
    centre_mm : array, shape (n, 3)
        Places of the field [mm].
    time_s : array, shape (n,)
        Its values [s]; those left out may be anything.
    levels_s : array
        Between the bands, rising [s].
    left_out : array of bool, shape (n,), optional
        Places to be hatched on white instead.
    """
    points = np.vstack(outline)
    low, high = points.min(axis=0), points.max(axis=0)
    png = base64.b64encode(_bands_png(angle_rad, low, high, centre_mm, time_s, levels_s, left_out)).decode("ascii")
    SubElement(
        SubElement(sheet.cut, "g", {"clip-path": "url(#metal)"}), "image",
        x=f"{low[0]:.3f}", y=f"{-high[1]:.3f}", width=f"{high[0] - low[0]:.3f}", height=f"{high[1] - low[1]:.3f}",
        transform="scale(1 -1)", preserveAspectRatio="none", href=f"data:image/png;base64,{png}",
    )  # fmt: skip
    SubElement(sheet.cut, "path", {"stroke-width": "0.22"}, d=outline_path(outline), fill="none", stroke="black")


def _bands_png(
    angle_rad: float,
    low_mm: Floats,
    high_mm: Floats,
    centre_mm: Floats,
    time_s: Floats,
    levels_s: Floats,
    left_out: NDArray[np.bool_] | None,
) -> bytes:
    from scipy.spatial import cKDTree

    across = np.arange(low_mm[0], high_mm[0], 1 / PX_PER_MM) + 0.5 / PX_PER_MM
    up = np.arange(high_mm[1], low_mm[1], -1 / PX_PER_MM) - 0.5 / PX_PER_MM
    s, z = np.meshgrid(across, up)
    points_mm = np.column_stack([(s * cos(angle_rad)).ravel(), (s * sin(angle_rad)).ravel(), z.ravel()])
    hatched = np.zeros(s.shape, dtype=bool)
    if left_out is not None and left_out.any():
        hatched = left_out[cKDTree(centre_mm).query(points_mm)[1]].reshape(s.shape)
        centre_mm, time_s = centre_mm[~left_out], time_s[~left_out]
    if not len(time_s):
        return colour_png(_hatched(np.full((*s.shape, 3), 255, dtype=np.uint8), np.ones(s.shape, dtype=bool)))
    count = min(_NEAREST_COUNT, len(centre_mm))
    away_mm, near = cKDTree(centre_mm).query(points_mm, k=count)
    away_mm, near = (np.reshape(one, (len(points_mm), count)) for one in (away_mm, near))
    weight = 1 / (away_mm + 1e-2) ** 2
    mean_s = (weight * time_s[near]).sum(axis=1) / weight.sum(axis=1)
    band = np.searchsorted(levels_s, mean_s).reshape(s.shape)
    band[hatched] = -1
    colour = np.rint(scale_colours(len(levels_s) + 1)).astype(np.uint8)[band]
    edge = np.zeros(band.shape, dtype=bool)
    edge[:, 1:] |= band[:, 1:] != band[:, :-1]
    edge[1:, :] |= band[1:, :] != band[:-1, :]
    colour[hatched] = 255
    colour[edge] = colour[edge] // 2
    return colour_png(_hatched(colour, hatched))


def _hatched(colour: NDArray[np.uint8], where: NDArray[np.bool_]) -> NDArray[np.uint8]:
    row, column = np.nonzero(where)
    lines = (row + column) % _HATCH_PX < 2
    colour[row[lines], column[lines]] = 0
    return colour


def scale_colours(count: int) -> Floats:
    """Return colours for bands, shape (count, 3), from straw to plum."""
    share = np.arange(count) / max(count - 1, 1)
    stops = np.linspace(0, 1, len(_SCALE))
    return np.column_stack([np.interp(share, stops, _SCALE[:, channel]) for channel in range(3)])


def colour_png(rows: NDArray[np.uint8]) -> bytes:
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
    left, right = EDGE_MM + wall_mm, EDGE_MM + wall_mm + inside_mm
    for x_mm in (EDGE_MM, right):
        draw_box(svg, x_mm, EDGE_MM, wall_mm, height_mm, fill="#777")
    for y_mm in (EDGE_MM, EDGE_MM + height_mm):
        SubElement(
            svg, "line", {"stroke-width": "0.15"}, stroke="#777",
            x1=f"{left:.2f}", x2=f"{right:.2f}", y1=f"{y_mm:.2f}", y2=f"{y_mm:.2f}",
        )  # fmt: skip


def draw_scale(sheet: Sheet, levels_s: Floats, digits: int) -> float:
    """Draw a box a band, the latest on top, with the times between them [s]; return where its top is [mm]."""
    high_mm, wide_mm, left_mm = 6.0, 5.0, sheet.key_left_mm
    colours = np.rint(scale_colours(len(levels_s) + 1)).astype(int).tolist()
    for number, (red, green, blue) in enumerate(colours):
        y_mm = sheet.key_bottom_mm - high_mm * (number + 1)
        box = draw_box(sheet.svg, left_mm, y_mm, wide_mm, high_mm, fill=f"rgb({red},{green},{blue})", stroke="black")
        box.set("stroke-width", "0.15")
        if number < len(levels_s):
            draw_text(sheet.svg, left_mm + wide_mm + 1.0, y_mm + 0.9, show(levels_s[number], "s", digits))
    return sheet.key_bottom_mm - high_mm * len(colours)


def draw_box(parent: Element, x_mm: float, y_mm: float, wide_mm: float, high_mm: float, **look: str) -> Element:
    """Draw a box with its upper left corner at a place [mm]."""
    place = {"x": f"{x_mm:.2f}", "y": f"{y_mm:.2f}", "width": f"{wide_mm:.2f}", "height": f"{high_mm:.2f}"}
    return SubElement(parent, "rect", place, **look)


def draw_ring(parent: Element, x_mm: float, y_mm: float) -> Element:
    """Draw a ring round a place [mm], pale inside so that a number in it can be read."""
    look = {"r": "1.7", "fill": "white", "fill-opacity": "0.9", "stroke": "black", "stroke-width": "0.3"}
    return SubElement(parent, "circle", look, cx=f"{x_mm:.2f}", cy=f"{y_mm:.2f}")


def draw_cross(parent: Element, x_mm: float, y_mm: float, line_mm: float, colour: str) -> None:
    """Draw a cross at a place, its lines so wide [mm]."""
    way = f"M{x_mm - 0.8:.2f} {y_mm - 0.8:.2f}l1.6 1.6m-1.6 0l1.6 -1.6"
    SubElement(parent, "path", {"stroke-width": f"{line_mm}"}, d=way, stroke=colour)


def draw_text(parent: Element, x_mm: float, y_mm: float, words: str) -> Element:
    """Write words from a place on [mm]."""
    text = SubElement(parent, "text", x=f"{x_mm:.2f}", y=f"{y_mm:.2f}")
    text.text = words
    return text


def number_in(ring_parent: Element, x_mm: float, y_mm: float, number: int) -> None:
    """Write a number into a ring whose parent has y upward [mm]."""
    label = draw_text(ring_parent, x_mm, -y_mm + 0.9, str(number))
    label.set("transform", "scale(1 -1)")
    label.set("text-anchor", "middle")
    label.set("font-weight", "bold")
