"""STL: the binary layout and its text sister. States no unit."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError, check_count, grouped, look

HEADER_BYTES = 80
START_BYTES = 84  # header and facet count
FACET = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

_VERTEX_LINE = re.compile(rb"\bvertex\s([^\r\n]*)", re.IGNORECASE)
_VERTEX_WORDS = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)
_FACET_WORD = re.compile(rb"(?<!end)facet\s", re.IGNORECASE)


def is_whole_binary(content: bytes) -> bool:
    """Return whether the size is exactly that of the facets announced: 84 bytes and 50 for each."""
    return len(content) >= START_BYTES and len(content) == START_BYTES + FACET.itemsize * _announced(content)


def is_text(content: bytes) -> bool:
    """Return whether the content reads like an STL text."""
    head = content[:2048].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    return head.startswith(b"solid") and b"\x00" not in head and (b"facet" in head or b"endsolid" in content[-2048:])


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of an STL file, binary or text.

    The size decides first: a file of exactly 84 bytes and 50 for each facet it announces is binary, even when
    its header begins with the word that text files begin with.
    """
    if not is_whole_binary(content) and is_text(content):
        return _read_text(content)
    if len(content) < START_BYTES:
        raise UnusableError("shape.file-cut", announced="?", found="0")
    return _read_binary(content, ceilings.triangles_count)


def _announced(content: bytes) -> int:
    return int.from_bytes(content[HEADER_BYTES:START_BYTES], "little")


def _read_binary(content: bytes, most_triangles: int) -> Soup:
    announced = _announced(content)
    rest = len(content) - START_BYTES - FACET.itemsize * announced
    room = (len(content) - START_BYTES) // FACET.itemsize
    if rest < 0:
        raise UnusableError("shape.file-cut", announced=grouped(announced), found=grouped(room))
    if rest >= FACET.itemsize:
        raise UnusableError("shape.stl-count", announced=grouped(announced), found=grouped(room))
    check_count(announced, most_triangles)
    facets = np.frombuffer(content, dtype=FACET, count=announced, offset=START_BYTES)
    return Soup(
        np.ascontiguousarray(facets["corners"]), (look("shape.file-trailing", count=str(rest)),) if rest else ()
    )


def _read_text(content: bytes) -> Soup:
    facets = len(_FACET_WORD.findall(content))
    lines = _VERTEX_LINE.findall(content)
    numbers = _numbers(b" ".join(lines))
    if len(numbers) != 3 * len(lines):
        lines = [b" ".join(words) for words in _VERTEX_WORDS.findall(content)]
        numbers = _numbers(b" ".join(lines))
    if len(numbers) != 3 * len(lines):
        raise _bad_number(lines)
    if len(lines) != 3 * facets:
        raise UnusableError("shape.stl-text-cut", facets=grouped(facets), corners=grouped(len(lines)))
    ended = b"endsolid" in content[-2048:].lower()
    return Soup(numbers.reshape(-1, 3, 3), () if ended else (look("shape.stl-no-end"),))


def _numbers(text: bytes) -> NDArray[np.float64]:
    try:
        return np.fromiter(map(float, text.split()), np.float64)
    except ValueError:
        return np.zeros(1)  # never three numbers a corner: the caller looks for the bad one


def _bad_number(lines: list[bytes]) -> UnusableError:
    for number, line in enumerate(lines):
        shown = line.decode("ascii", "replace").strip()[:60]
        if b"," in line:
            return UnusableError("shape.stl-comma", corner=grouped(number + 1), text=shown)
        if len(line.split()) != 3 or len(_numbers(line)) != 3:
            return UnusableError("shape.stl-text-broken", corner=grouped(number + 1), text=shown)
    return UnusableError("shape.stl-text-broken", corner="?", text="?")
