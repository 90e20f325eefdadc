"""Which format a file is in: by its ending and by its content, which must agree."""

from __future__ import annotations

import re
from collections.abc import Mapping

from pourwright.shape.pattern.formats import glb, obj, off, ply, step, stl, three_mf
from pourwright.shape.pattern.formats.soup import Ceilings, Reader, Soup, UnusableError, attempt

READERS: Mapping[str, Reader] = {
    "STL": stl.read,
    "3MF": three_mf.read,
    "OBJ": obj.read,
    "PLY": ply.read,
    "OFF": off.read,
    "GLB": glb.read,
    "STEP": step.read,
}
ENDINGS: Mapping[str, str] = {
    ".stl": "STL", ".3mf": "3MF", ".obj": "OBJ", ".ply": "PLY", ".off": "OFF", ".glb": "GLB", ".step": "STEP",
    ".stp": "STEP",
}  # fmt: skip

# How files begin; the first that fits counts.
_BEGINNINGS = {
    b"PK\x03\x04": "3MF", b"PK\x05\x06": "ZIP", b"ply": "PLY", b"glTF": "GLB", b"ISO-10303-21": "STEP",
    b"\x1f\x8b": "gzip", b"7z\xbc\xaf": "7z", b"Rar!": "RAR", b"%PDF": "PDF", b"\x89PNG": "PNG",
    b"\xff\xd8\xff": "JPEG", b"GIF8": "GIF", b"\xd0\xcf\x11\xe0": "OLE", b"SQLite": "SQLite",
    b"<!doctype html": "HTML", b"<html": "HTML", b"<": "XML", b"{": "JSON",
}  # fmt: skip
_OBJ_LINE = re.compile(rb"^[ \t]*(v[ \t]+\S|f[ \t]+[-0-9]|mtllib\b|vn[ \t])", re.MULTILINE)
_HEAD_BYTES = 4096


def read_file(content: bytes, ending: str, ceilings: Ceilings) -> Soup:
    """Return what a file holds, read as what its ending says, if its content looks like that too.

    Parameters
    ----------
    content : bytes
        All of the file.
    ending : str
        One of :data:`ENDINGS`.
    ceilings : Ceilings
        How much it may hold.
    """
    named = ENDINGS[ending]

    def reader(whole: bytes, within: Ceilings) -> Soup:
        seen = looks_like(whole)
        if seen != named and not (named == "STL" and not seen):
            code = "shape.file-other-kind" if seen in READERS else "shape.file-no-pattern"
            right = next((one for one, kind in ENDINGS.items() if kind == seen), "")
            raise UnusableError(code, kind=named, looks=seen or "?", ending=right)
        return READERS[named](whole, within)

    return attempt(reader, content, ceilings)


def looks_like(content: bytes) -> str:
    """Return the format that the content itself shows, another name if it is none of ours, or an empty text.

    Only its size marks a binary STL file; one that is cut off or has bytes too many shows nothing.
    """
    if stl.is_whole_binary(content):
        return "STL"
    head = content[:_HEAD_BYTES].lstrip(b"\xef\xbb\xbf \t\r\n")
    for beginning, kind in _BEGINNINGS.items():
        if head[: len(beginning)].lower() == beginning.lower():
            return kind
    if off.is_off(head):
        return "OFF"
    if stl.is_text(content):
        return "STL"
    if _printable(head):
        return "OBJ" if _OBJ_LINE.search(content[:1_000_000]) else "text"
    return ""


def _printable(head: bytes) -> bool:
    plain = sum(byte in b"\t\r\n" or byte >= 32 for byte in head)
    return bool(head) and b"\x00" not in head and plain > 0.95 * len(head)
