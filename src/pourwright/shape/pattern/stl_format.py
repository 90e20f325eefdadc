"""STL files: the binary layout, and bytes turned into triangle corners. Imports nothing heavier than numpy."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

HEADER_BYTES = 80
START_BYTES = 84  # header and facet count
FACET = np.dtype([("normal", "<f4", (3,)), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])

FARTHEST_COORDINATE = 1.0e6

# How other files begin that get the ending .stl by mistake.
_BEGINNINGS = {
    b"PK\x03\x04": "ZIP/3MF", b"\x1f\x8b": "gzip", b"ply": "PLY", b"OFF": "OFF", b"glTF": "glTF", b"ISO-10303": "STEP",
    b"%PDF": "PDF", b"\x89PNG": "PNG", b"\xff\xd8\xff": "JPEG", b"<!doctype": "HTML", b"<html": "HTML", b"<?xml": "XML",
    b"# ": "OBJ", b"v ": "OBJ", b"mtllib": "OBJ", b"{": "JSON",
}  # fmt: skip

_VERTEX_LINE = re.compile(rb"\bvertex\s([^\r\n]*)", re.IGNORECASE)
_VERTEX_WORDS = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)", re.IGNORECASE)
_FACET_WORD = re.compile(rb"(?<!end)facet\s", re.IGNORECASE)


@dataclass(frozen=True)
class Remark:
    """What is wrong or odd in a file: the code of a finding, its level and the blanks of its sentences."""

    code: str
    level: str
    params: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Soup:
    """Triangle corners as they stand in the file, shape (n, 3, 3), in the file's own numbers, and what was noticed."""

    corners: NDArray[np.generic] | None
    remarks: tuple[Remark, ...] = ()


def parse(content: bytes, most_triangles: int) -> Soup:
    """Return the triangles of an STL file, binary or text.

    The size decides first: a file of exactly 84 bytes and 50 for each facet it announces is binary, even when
    its header begins with the word that text files begin with.
    """
    if not content:
        return _refused("shape.file-empty")
    announced = int.from_bytes(content[HEADER_BYTES:START_BYTES], "little") if len(content) >= START_BYTES else 0
    fits = len(content) >= START_BYTES and len(content) == START_BYTES + FACET.itemsize * announced
    if not fits and _is_text(content):
        return _checked(_parse_text(content), most_triangles)
    if not fits and (other := _other_format(content)):
        return _refused("shape.stl-other", looks=other)
    if len(content) < START_BYTES:
        return _refused("shape.stl-cut", announced="?", found="0")
    return _checked(_parse_binary(content, announced, most_triangles), most_triangles)


def _refused(code: str, **params: str) -> Soup:
    return Soup(None, (Remark(code, "stop", params),))


def _is_text(content: bytes) -> bool:
    head = content[:2048].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    return head.startswith(b"solid") and b"\x00" not in head and (b"facet" in head or b"endsolid" in content[-2048:])


def _other_format(content: bytes) -> str:
    head = content[:512].lstrip(b"\xef\xbb\xbf \t\r\n")
    for beginning, name in _BEGINNINGS.items():
        if head[: len(beginning)].lower() == beginning.lower():
            return name
    printable = sum(byte in b"\t\r\n" or 32 <= byte < 127 for byte in head)
    return "text" if head and printable > 0.95 * len(head) else ""


def _parse_binary(content: bytes, announced: int, most_triangles: int) -> Soup:
    rest = len(content) - START_BYTES - FACET.itemsize * announced
    room = (len(content) - START_BYTES) // FACET.itemsize
    if rest < 0:
        return _refused("shape.stl-cut", announced=f"{announced:,}", found=f"{room:,}")
    if rest >= FACET.itemsize:
        return _refused("shape.stl-count", announced=f"{announced:,}", found=f"{room:,}")
    if announced > most_triangles:
        return _too_many(announced, most_triangles)
    facets = np.frombuffer(content, dtype=FACET, count=announced, offset=START_BYTES)
    remarks = (Remark("shape.stl-trailing", "look", {"count": str(rest)}),) if rest else ()
    return Soup(np.ascontiguousarray(facets["corners"]), remarks)


def _parse_text(content: bytes) -> Soup:
    facets = len(_FACET_WORD.findall(content))
    lines = _VERTEX_LINE.findall(content)
    numbers = _numbers(b" ".join(lines))
    if len(numbers) != 3 * len(lines):
        lines = [b" ".join(words) for words in _VERTEX_WORDS.findall(content)]
        numbers = _numbers(b" ".join(lines))
    if len(numbers) != 3 * len(lines):
        return _bad_number(lines)
    if len(lines) != 3 * facets:
        return _refused("shape.stl-text-cut", facets=f"{facets:,}", corners=f"{len(lines):,}")
    ended = b"endsolid" in content[-2048:].lower()
    return Soup(numbers.reshape(-1, 3, 3), () if ended else (Remark("shape.stl-no-end", "look"),))


def _numbers(text: bytes) -> NDArray[np.float64]:
    words = text.split()
    try:
        return np.array(words, dtype=np.bytes_).astype(np.float64) if words else np.zeros(0)
    except ValueError:
        return np.zeros(1)  # never three numbers a corner: the caller looks for the bad one


def _bad_number(lines: list[bytes]) -> Soup:
    for number, line in enumerate(lines):
        shown = line.decode("ascii", "replace").strip()[:60]
        if b"," in line:
            return _refused("shape.stl-comma", corner=f"{number + 1:,}", text=shown)
        if len(line.split()) != 3 or len(_numbers(line)) != 3:
            return _refused("shape.stl-text-broken", corner=f"{number + 1:,}", text=shown)
    return _refused("shape.stl-text-broken", corner="?", text="?")


def _too_many(count: int, most_triangles: int) -> Soup:
    return _refused("shape.too-many-triangles", count=f"{count:,}", limit=f"{most_triangles:,}")


def _checked(soup: Soup, most_triangles: int) -> Soup:
    corners = soup.corners
    if corners is None:
        return soup
    if len(corners) == 0:
        return _refused("shape.stl-no-triangles")
    if len(corners) > most_triangles:
        return _too_many(len(corners), most_triangles)
    finite = np.isfinite(corners).all(axis=(1, 2))
    if not finite.all():
        return _refused(
            "shape.stl-not-finite", count=f"{int((~finite).sum()):,}", first=f"{int(finite.argmin()) + 1:,}"
        )
    farthest = float(np.abs(corners).max())
    if farthest >= FARTHEST_COORDINATE:
        return _refused("shape.stl-far", value=f"{farthest:.3g}", limit=f"{FARTHEST_COORDINATE:,.0f}")
    return soup
