"""The ZIP package around a 3MF model: parts unpacked by the piece and never past their limits, relationships read.

Nothing is ever written to disk, so a part's name can lead nowhere; only parts reached by relationships are unpacked.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from pourwright.shape.pattern.formats.soup import UnusableError, grouped

_CHUNK_BYTES = 1 << 20
# More than this many bytes out of one is no drawing; a million bytes are always allowed.
MOST_UNPACKING_RATIO = 200
_ALWAYS_BYTES = 1_000_000
MOST_PARTS = 64
MOST_ENTRIES = 4_096
_MODEL_KIND = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_RELATIONSHIP = f"{_PACKAGE}/relationships Relationship"

Attributes = Mapping[str, str]


@dataclass
class Package:
    """An open package and what may still be unpacked from it."""

    archive: zipfile.ZipFile
    entries: Mapping[str, zipfile.ZipInfo]
    left_bytes_count: int
    opened: set[str] = field(default_factory=set)


def open_package(content: bytes, most_unpacked_bytes: int) -> Package:
    """Read the list of parts; nothing is unpacked yet."""
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except (zipfile.BadZipFile, ValueError, NotImplementedError, EOFError, OSError):
        raise UnusableError("shape.zip-broken") from None
    infos = archive.infolist()
    if len(infos) > MOST_ENTRIES:
        raise UnusableError("shape.zip-crowded", count=grouped(len(infos)), limit=grouped(MOST_ENTRIES))
    entries = {info.filename.lstrip("/").lower(): info for info in infos}
    if len(entries) < len(infos):
        raise UnusableError("shape.zip-twice")
    return Package(archive, entries, most_unpacked_bytes)


def unpack(package: Package, part: str) -> Iterator[bytes]:
    """Yield a part piece by piece, within the limits of one part and of the package."""
    info = package.entries.get(part.lower())
    if info is None:
        raise UnusableError("shape.three-mf-part-missing", part=part[:80])
    package.opened.add(part.lower())
    if len(package.opened) > MOST_PARTS:
        raise UnusableError("shape.zip-crowded", count=str(len(package.opened)), limit=str(MOST_PARTS))
    if info.flag_bits & 0x1:
        raise UnusableError("shape.zip-locked")
    most = max(_ALWAYS_BYTES, MOST_UNPACKING_RATIO * info.compress_size)
    _check_size(info.file_size, most, package, part)
    size = 0
    for piece in _pieces(package.archive, info):
        size += len(piece)
        package.left_bytes_count -= len(piece)
        _check_size(size, most, package, part)
        yield piece


def _check_size(size: int, most: int, package: Package, part: str) -> None:
    if size > most:
        limit = f"{MOST_UNPACKING_RATIO}"
        raise UnusableError("shape.zip-bomb", part=part[:80], limit=limit, allowed=grouped(most / 1e6))
    if package.left_bytes_count < 0:
        raise UnusableError("shape.zip-large", part=part[:80])


def _pieces(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    try:
        with archive.open(info) as source:
            while piece := source.read(_CHUNK_BYTES):
                yield piece
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError):
        raise UnusableError("shape.zip-broken") from None


def read_xml(pieces: Iterable[bytes], part: str, parser: expat.XMLParserType, after_each: Callable[[], None]) -> None:
    """Feed an XML part to a parser that has its handlers; a document type is refused before anything is expanded.

    Parameters
    ----------
    pieces : iterable of bytes
        The part.
    part : str
        Its name, for the refusal.
    parser : xml.parsers.expat.XMLParserType
        See :func:`new_parser`.
    after_each : callable
        Called after each piece, to check how much was gathered.
    """
    try:
        for piece in pieces:
            parser.Parse(piece, False)
            after_each()
        parser.Parse(b"", True)
    except (expat.ExpatError, LookupError, UnicodeError):
        line = grouped(parser.CurrentLineNumber)
        raise UnusableError("shape.three-mf-xml", part=part[:80], line=line) from None


def new_parser() -> expat.XMLParserType:
    """Return a parser with names as ``namespace local`` that refuses a document type, so that no entity is ever met."""
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartDoctypeDeclHandler = _refuse_doctype
    parser.ExternalEntityRefHandler = None
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    return parser


def _refuse_doctype(*_: object) -> None:
    raise UnusableError("shape.three-mf-doctype")


def models_named_by(package: Package, part: str) -> list[str]:
    """Return the model parts that a part's relationships lead to; ``part`` is empty for the package itself."""
    folder, name = posixpath.split(part)
    beside = posixpath.join(folder, "_rels", f"{name}.rels")
    if beside.lower() not in package.entries:
        return []
    found: list[str] = []

    def start(element: str, attributes: Attributes) -> None:
        if element == _RELATIONSHIP and attributes.get("Type") == _MODEL_KIND:
            if attributes.get("TargetMode", "Internal") != "Internal":
                raise UnusableError("shape.three-mf-outside", target=attributes.get("Target", "?")[:80])
            found.append(resolved(folder, attributes.get("Target", "")))

    parser = new_parser()
    parser.StartElementHandler = start
    read_xml(unpack(package, beside), beside, parser, lambda: None)
    return found


def resolved(folder: str, target: str) -> str:
    """Return the name of a part from a target that is absolute or counts from a folder of the package."""
    return posixpath.normpath(posixpath.join("/", folder, target)).lstrip("/")
