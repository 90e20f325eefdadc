"""OBJ: corners and polygons as text. States no unit; materials, colours and normals are ignored."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.lines import Line, points, whole_numbers
from pourwright.shape.pattern.formats.polygons import triangle_corners
from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError

# Words that carry shape in ways that are not read: free-form surfaces, and other files called in.
_OTHER_SHAPE = re.compile(rb"^[ \t]*(cstype|surf|curv2?|bzp|bsp|cdc|cdp|call|csh)\b", re.MULTILINE)
_CORNER, _FACE = (b"v ", b"v\t"), (b"f ", b"f\t")
_CONTINUED = re.compile(rb"\\\r?\n")


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of an OBJ file."""
    other = _OTHER_SHAPE.search(content)
    if other:
        raise UnusableError("shape.obj-other-shape", word=other[1].decode("ascii"))
    corners, faces, corners_before = _sorted_lines(content)
    places = points(corners, skip=1)
    indices, sizes = _faces(faces, corners_before)
    return Soup(triangle_corners(places, indices, sizes, ceilings.triangles_count))


def _sorted_lines(content: bytes) -> tuple[list[Line], list[Line], NDArray[np.int64]]:
    """Return lines of corners, lines of faces, and how many corners stood before each face."""
    corners: list[Line] = []
    faces: list[Line] = []
    corners_before: list[int] = []
    for number, text in enumerate(_CONTINUED.sub(b" ", content).splitlines(), start=1):
        word = text.lstrip()[:2]
        if word in _CORNER:
            corners.append((number, text))
        elif word in _FACE:
            faces.append((number, text))
            corners_before.append(len(corners))
    if b"#" in content:
        corners, faces = _bare(corners), _bare(faces)
    return corners, faces, np.array(corners_before, dtype=np.int64)


def _bare(lines: list[Line]) -> list[Line]:
    return [(number, text.partition(b"#")[0]) for number, text in lines]


def _faces(lines: list[Line], corners_before: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    words = [text.split()[1:] for _, text in lines]
    if any(b"/" in text for _, text in lines):
        words = [[one.partition(b"/")[0] for one in some] for some in words]
    sizes = np.array([len(some) for some in words], dtype=np.int64)
    numbers = whole_numbers(lines, words)
    # numbers count from 1, or backwards from the last corner so far; 0 names none
    backwards = np.repeat(corners_before, sizes) + np.minimum(numbers, 0)
    return np.where(numbers > 0, numbers - 1, np.where(numbers < 0, backwards, -1)), sizes
