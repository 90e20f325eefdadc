"""OFF: counts, corners and polygons as text. States no unit; colours and normals are ignored."""

from __future__ import annotations

import re

from pourwright.shape.pattern.formats.lines import Line, bad_line, counted_faces, points, whole_numbers
from pourwright.shape.pattern.formats.polygons import triangle_corners
from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError, grouped, look

_REMARKS = rb"(?:\s*#[^\n]*\n)*\s*"
_START = re.compile(_REMARKS + rb"(?P<word>(?:ST)?C?N?OFF)\b")
_OTHER = re.compile(_REMARKS + rb"(?P<word>(?:ST)?C?N?(?:(?:4n?|n)OFF\b|OFF\s+BINARY\b))")


def is_off(head: bytes) -> bool:
    """Return whether a file that begins so is OFF of any kind."""
    return bool(_START.match(head) or _OTHER.match(head))


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of an OFF file."""
    other = _OTHER.match(content[:4096])
    if other:
        raise UnusableError("shape.off-kind", first=other["word"].decode("ascii"))
    lines = _lines(content)
    corners_count, faces_count, rest = _counts(lines)
    if len(rest) < corners_count + faces_count:
        raise UnusableError(
            "shape.file-cut-lines", announced=grouped(corners_count + faces_count), found=grouped(len(rest))
        )
    faces_end = corners_count + faces_count
    places = points(rest[:corners_count])
    indices, sizes = counted_faces(rest[corners_count:faces_end])
    corners = triangle_corners(places, indices, sizes, ceilings.triangles_count)
    left = len(rest) - faces_end
    return Soup(corners, (look("shape.file-trailing-lines", count=grouped(left)),) if left else ())


def _lines(content: bytes) -> list[Line]:
    bare = ((number, text.partition(b"#")[0].strip()) for number, text in enumerate(content.splitlines(), start=1))
    return [(number, text) for number, text in bare if text]


def _counts(lines: list[Line]) -> tuple[int, int, list[Line]]:
    """Return the counts of corners and faces, beside the first word or under it, and the lines after them."""
    number, first = lines[0]
    after = first.partition(b"OFF")[2].strip()
    line, rest = ((number, after), lines[1:]) if after else (lines[1] if len(lines) > 1 else lines[0], lines[2:])
    counts = whole_numbers([line], [line[1].split()[:3]]).tolist()
    if len(counts) < 2 or min(counts) < 0:
        raise bad_line(line)
    return counts[0], counts[1], rest
