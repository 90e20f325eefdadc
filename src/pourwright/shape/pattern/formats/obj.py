"""OBJ: corners and polygons as text. States no unit; materials, colours and normals are ignored."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.lines import Line, as_indices, bad_line, points
from pourwright.shape.pattern.formats.polygons import triangle_corners
from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError

# Words that carry shape in ways that are not read: free-form surfaces, and other files called in.
_OTHER_SHAPE = re.compile(rb"^[ \t]*(cstype|surf|curv2?|bzp|bsp|cdc|cdp|call|csh)\b", re.MULTILINE)
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


def _sorted_lines(content: bytes) -> tuple[list[Line], list[Line], list[int]]:
    """Return lines of corners, lines of faces, and how many corners stood before each face."""
    corners: list[Line] = []
    faces: list[Line] = []
    corners_before: list[int] = []
    for number, text in enumerate(_CONTINUED.sub(b" ", content).splitlines(), start=1):
        line = text.lstrip()
        if line[:2] in {b"v ", b"v\t"}:
            corners.append((number, _bare(line)))
        elif line[:2] in {b"f ", b"f\t"}:
            faces.append((number, _bare(line)))
            corners_before.append(len(corners))
    return corners, faces, corners_before


def _bare(line: bytes) -> bytes:
    return line.partition(b"#")[0]


def _faces(lines: list[Line], corners_before: list[int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    flat: list[int] = []
    sizes: list[int] = []
    for line, before in zip(lines, corners_before, strict=True):
        words = line[1].split()[1:]
        try:
            numbers = [int(word.partition(b"/")[0]) for word in words]
        except ValueError:
            raise bad_line(line) from None
        # numbers count from 1, or backwards from the last corner so far; 0 names none
        flat += [one - 1 if one > 0 else (before + one if one else -1) for one in numbers]
        sizes.append(len(numbers))
    return as_indices(flat), np.array(sizes, dtype=np.int64)
