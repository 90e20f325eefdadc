"""Pictures of patterns for paper: parallel view, soft greys on white, dark outlines and creases."""

from __future__ import annotations

import math
import struct
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.report import Mesh

FloatArray = NDArray[np.float64]

# Drawn this many times finer than wanted, then averaged: smooth lines without grey fringes in the buffers.
_FINER = 2
_MARGIN_FRAC = 0.04
_TURN_RAD = math.radians(-32.0)
_TILT_RAD = math.radians(24.0)
# Edges that turn more than this stay sharp; a coarse facet of a round body turns less.
_SMOOTH_RATIO = math.cos(math.radians(40.0))
_CREASE_RATIO = math.cos(math.radians(30.0))
# From the upper left, over the viewer's shoulder: right, down, towards the viewer.
_LIGHT = np.array([-0.42, -0.55, 0.72])
_DARKEST_FRAC, _LIGHTEST_FRAC, _INK_FRAC = 0.52, 0.99, 0.04
# Half widths of outline and crease; a tree is printed larger than a piece, so its lines are finer.
_PIECE_LINES_px, _TREE_LINES_px = (4.6, 2.5), (2.3, 1.3)
_JUMP_FRAC = 0.006
_BARS_mm = (10, 5, 2, 1)


@dataclass(frozen=True)
class Picture:
    """A grey PNG and how many millimetres of the thing it spans from edge to edge."""

    png: bytes
    width_mm: float
    height_mm: float


def piece_picture(mesh: Mesh, size_px: int = 600) -> Picture:
    """Draw one pattern in a three-quarter view.

    The shortest side of its box faces the viewer and the longest stands upright, so that a ring shows its hole and a
    pendant its face.

    Parameters
    ----------
    mesh : Mesh
        The pattern, in millimetres.
    size_px : int
        Width and height of the picture [px].

    Returns
    -------
    Picture
        The same bytes for the same mesh.
    """
    points = _three_quarter(_face_on(mesh.vertices_mm))
    low, high = points.min(axis=0), points.max(axis=0)
    across_mm = float((high - low)[:2].max()) * (1.0 + 2.0 * _MARGIN_FRAC)
    middle = (low + high) / 2.0
    corner = middle - np.array([across_mm / 2.0, across_mm / 2.0, 0.0])
    return _draw(points - corner, mesh.faces, (across_mm, across_mm), size_px / across_mm, _PIECE_LINES_px)


def bar_mm(width_mm: float) -> int:
    """Return how long a bar of length under a picture of this width [mm] is: 10 mm, less under a tiny thing."""
    return next((bar for bar in _BARS_mm if bar <= 0.8 * width_mm), _BARS_mm[-1])


def side_picture(mesh: Mesh, width_mm: float, height_mm: float, px_per_mm_ratio: float) -> Picture:
    """Draw a body from the side, to scale.

    Parameters
    ----------
    mesh : Mesh
        Axes: right, away from the viewer, up [mm]; the picture spans ``-width/2 .. width/2`` and ``0 .. height``.
    width_mm, height_mm : float
        What the picture spans [mm].
    px_per_mm_ratio : float
        Pixels to the millimetre.
    """
    right, away, up = mesh.vertices_mm.T
    points = np.column_stack((right + width_mm / 2.0, height_mm - up, -away))
    return _draw(points, mesh.faces, (width_mm, height_mm), px_per_mm_ratio, _TREE_LINES_px)


def _face_on(points: FloatArray) -> FloatArray:
    """Turn the axes to (right, up, towards): shortest side towards the viewer, longest up; never mirrored."""
    towards, right, up = (int(axis) for axis in np.argsort(np.ptp(points, axis=0), kind="stable"))
    turned = points[:, (right, up, towards)]
    if (right, up, towards) not in {(0, 1, 2), (1, 2, 0), (2, 0, 1)}:
        turned = turned * np.array([-1.0, 1.0, 1.0])
    return turned


def _three_quarter(points: FloatArray) -> FloatArray:
    """Turn (right, up, towards) about the upright, tilt it forward, and return (right, down, towards)."""
    right, up, towards = points.T
    across = right * math.cos(_TURN_RAD) + towards * math.sin(_TURN_RAD)
    near = -right * math.sin(_TURN_RAD) + towards * math.cos(_TURN_RAD)
    upright = up * math.cos(_TILT_RAD) - near * math.sin(_TILT_RAD)
    nearer = up * math.sin(_TILT_RAD) + near * math.cos(_TILT_RAD)
    return np.column_stack((across, -upright, nearer))


def _draw(
    points_mm: FloatArray,
    faces: NDArray[np.int64],
    span_mm: tuple[float, float],
    scale: float,
    lines_px: tuple[float, float],
) -> Picture:
    from pourwright.sheet import _kernels

    fine = scale * _FINER
    points_px = np.ascontiguousarray(points_mm * fine)
    shape = (round(span_mm[1] * scale) * _FINER, round(span_mm[0] * scale) * _FINER)
    depth_px = np.full(shape, -np.inf)
    seen = np.zeros((*shape, 3))
    faces = np.ascontiguousarray(faces, dtype=np.int64)
    _kernels.draw_triangles(points_px, faces, _normals(points_px, faces), depth_px, seen)
    ink = np.zeros(shape, dtype=np.uint8)
    _kernels.draw_lines(depth_px, seen, _JUMP_FRAC * max(shape), _CREASE_RATIO, *lines_px, ink)
    return Picture(grey_png(_averaged(_tones(depth_px, seen, ink))), *span_mm)


def _normals(points_px: FloatArray, faces: NDArray[np.int64]) -> FloatArray:
    from pourwright.sheet import _kernels

    first, second, third = (points_px[faces[:, corner]] for corner in range(3))
    crosses = np.cross(second - first, third - first)
    order = np.argsort(faces.ravel(), kind="stable")
    counts = np.bincount(faces.ravel(), minlength=len(points_px))
    starts = np.concatenate(([0], np.cumsum(counts))).astype(np.int64)
    out = np.zeros((len(faces), 3, 3))
    _kernels.corner_normals(faces, crosses, starts, (order // 3).astype(np.int64), _SMOOTH_RATIO, out)
    return out


def _tones(depth_px: FloatArray, seen: FloatArray, ink: NDArray[np.uint8]) -> FloatArray:
    """Return brightness 0..1: white paper, softly lit surface, dark lines."""
    tones = np.ones(depth_px.shape)
    covered = np.isfinite(depth_px)
    normals = seen[covered]
    length = np.linalg.norm(normals, axis=1)
    facing = np.where(normals[:, 2] < 0.0, -1.0, 1.0)  # a face wound the wrong way round is lit like its neighbours
    lit = facing * (normals @ (_LIGHT / np.linalg.norm(_LIGHT))) / np.where(length > 0.0, length, 1.0)
    tones[covered] = _DARKEST_FRAC + (_LIGHTEST_FRAC - _DARKEST_FRAC) * (0.5 + 0.5 * lit) ** 1.3
    tones[ink == 1] = _INK_FRAC
    return tones


def _averaged(tones: FloatArray) -> NDArray[np.uint8]:
    height, width = tones.shape
    blocks = tones.reshape(height // _FINER, _FINER, width // _FINER, _FINER).mean(axis=(1, 3))
    grey: NDArray[np.uint8] = np.rint(blocks * 255.0).astype(np.uint8)
    return grey


def grey_png(grey: NDArray[np.uint8]) -> bytes:
    """Return a grey 8-bit PNG of rows of pixels; ours, so that no date or program name gets in."""
    height, width = grey.shape
    rows = np.zeros((height, width + 1), dtype=np.uint8)
    rows[:, 1:] = grey
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    parts = (b"IHDR", header), (b"IDAT", zlib.compress(rows.tobytes(), 9)), (b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, body) for kind, body in parts)


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
