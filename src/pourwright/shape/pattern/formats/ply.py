"""PLY: a header that describes its own layout, then text or binary. States no unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.lines import Line, Words, bad_line, first_bad
from pourwright.shape.pattern.formats.polygons import check_indices, triangle_corners
from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError, check_count, grouped, look

_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4",
    "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4",
    "float32": "f4", "float64": "f8", "int64": "i8", "uint64": "u8",
}  # fmt: skip
_FORMATS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_HEADER_BYTES = 65_536
_FACE_LISTS = ("vertex_indices", "vertex_index")


@dataclass(frozen=True)
class Property:
    """One property of an element: its numpy type, and the type of its count where it is a list."""

    name: str
    kind: str
    counted_by: str = ""


@dataclass(frozen=True)
class Element:
    """One element of the header and how many of it follow."""

    name: str
    count: int
    properties: tuple[Property, ...]


@dataclass(frozen=True)
class Column:
    """Values of one property, one after the other, and how many each element has."""

    values: NDArray[np.generic]
    sizes: NDArray[np.int64]


Table = dict[str, Column]


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of a PLY file: faces with any number of corners, and strips of triangles."""
    order, elements, start, start_line = _header(content)
    if order:
        tables, left = _binary(content[start:], order, elements)
        remarks = (look("shape.file-trailing", count=grouped(left)),) if left else ()
    else:
        tables, left = _text(content[start:], start_line, elements)
        remarks = (look("shape.file-trailing-lines", count=grouped(left)),) if left else ()
    return Soup(_corners(tables, ceilings.triangles_count), remarks)


def _corners(tables: dict[str, Table], most_triangles: int) -> NDArray[np.float64]:
    vertex = tables.get("vertex", {})
    if not {"x", "y", "z"} <= vertex.keys():
        raise UnusableError("shape.ply-header", text="element vertex")
    points = np.column_stack([vertex[axis].values.astype(np.float64) for axis in "xyz"])
    faces, strips = tables.get("face", {}), tables.get("tristrips", {})
    found = [
        triangle_corners(points, _whole(faces[name].values), faces[name].sizes, most_triangles)
        for name in _FACE_LISTS
        if name in faces
    ]
    found += [
        points[_strips(_whole(strips[name].values), len(points), most_triangles)]
        for name in _FACE_LISTS
        if name in strips
    ]
    return np.concatenate(found) if found else np.zeros((0, 3, 3))


def _whole(values: NDArray[np.generic]) -> NDArray[np.int64]:
    """Return corner numbers; a fraction names no corner and becomes a number that none has."""
    whole = values.astype(np.int64)
    return np.where(whole == values, whole, np.iinfo(np.int64).min)


def _strips(numbers: NDArray[np.int64], count: int, most_triangles: int) -> NDArray[np.int64]:
    """Return the triangles of strips: each number with the two before it, every second one turned; -1 begins anew."""
    check_indices(numbers[numbers != -1], count)
    check_count(len(numbers), 3 * most_triangles)
    if len(numbers) < 3:
        return np.zeros((0, 3), np.int64)
    place = np.arange(len(numbers))
    begun = np.maximum.accumulate(np.where(numbers == -1, place + 1, 0))
    faces = np.column_stack([numbers[:-2], numbers[1:-1], numbers[2:]])
    since = place[2:] - begun[2:]  # third corner of a strip: 2
    turned = since % 2 == 1
    faces[turned] = faces[turned][:, [1, 0, 2]]
    a, b, c = faces.T
    whole: NDArray[np.int64] = faces[(since >= 2) & (numbers[2:] != -1) & (a != b) & (b != c) & (c != a)]
    return whole


def _header(content: bytes) -> tuple[str, list[Element], int, int]:
    """Return byte order (empty for text), elements, where the data begin and in which line."""
    end = content.find(b"end_header", 0, _HEADER_BYTES)
    after = content.find(b"\n", end)
    if end < 0 or after < 0:
        raise UnusableError("shape.ply-header", text="end_header")
    lines = content[:end].decode("ascii", "replace").splitlines()
    order = None
    elements: list[Element] = []
    for line in lines[1:]:
        words = line.split()
        if not words or words[0] in {"comment", "obj_info"}:
            continue
        if words[0] == "format" and len(words) > 1 and words[1] in _FORMATS:
            order = _FORMATS[words[1]]
        else:
            _take(words, line, elements)
    if order is None:
        raise UnusableError("shape.ply-header", text="format")
    return order, elements, after + 1, len(lines) + 2


def _take(words: Sequence[str], line: str, elements: list[Element]) -> None:
    """Add an element, or a property to the last one."""
    match words:
        case ["element", name, count] if count.isdecimal() and len(count) < 19:
            elements.append(Element(name, int(count), ()))
        case ["property", "list", size, kind, name] if elements and {size, kind} <= _TYPES.keys():
            _extend(elements, Property(name, _TYPES[kind], _TYPES[size]))
        case ["property", kind, name] if elements and kind in _TYPES:
            _extend(elements, Property(name, _TYPES[kind]))
        case _:
            raise UnusableError("shape.ply-header", text=line.strip()[:60])


def _extend(elements: list[Element], one: Property) -> None:
    last = elements[-1]
    elements[-1] = Element(last.name, last.count, (*last.properties, one))


def _binary(data: bytes, order: str, elements: list[Element]) -> tuple[dict[str, Table], int]:
    tables, at = {}, 0
    for element in elements:
        _check_room(element, len(data) - at)
        if not element.count or not element.properties:
            tables[element.name] = _none(element)
            continue
        even = _even_dtype(data, at, order, element)
        if even is not None:
            rows = np.frombuffer(data, even, count=element.count, offset=at)
            tables[element.name] = _columns(rows, element)
            at += even.itemsize * element.count
        else:
            tables[element.name], at = _uneven(data, at, order, element)
    return tables, len(data) - at


def _none(element: Element) -> Table:
    return {one.name: Column(np.zeros(0), np.zeros(0, np.int64)) for one in element.properties}


def _check_room(element: Element, room: int) -> None:
    least = sum(np.dtype(one.counted_by or one.kind).itemsize for one in element.properties)
    if element.count * least > room:
        found = room // least if least else 0
        raise UnusableError(
            "shape.ply-cut", element=element.name, announced=grouped(element.count), found=grouped(found)
        )


def _even_dtype(data: bytes, at: int, order: str, element: Element) -> np.dtype[np.void] | None:
    """Return the layout of a row if all rows are as long as the first, else None."""
    fields: list[tuple[str, str] | tuple[str, str, tuple[int]]] = []
    offset = at
    for number, one in enumerate(element.properties):
        size = np.dtype(one.kind).itemsize
        if one.counted_by:
            counter = np.dtype(order + one.counted_by)
            if offset + counter.itemsize > len(data):
                return None
            length = int(np.frombuffer(data, counter, 1, offset)[0])
            offset += counter.itemsize
            if length < 0 or length * size * element.count > len(data):
                return None
            fields.append((f"n{number}", order + one.counted_by))
            fields.append((f"v{number}", order + one.kind, (length,)))
            size *= length
        else:
            fields.append((f"v{number}", order + one.kind))
        offset += size
    row = np.dtype(fields)
    if row.itemsize * element.count > len(data) - at:
        return None
    return row if _all_alike(np.frombuffer(data, row, element.count, at), row) else None


def _all_alike(rows: NDArray[np.void], row: np.dtype[np.void]) -> bool:
    counters = [name for name in row.names or () if name.startswith("n")]
    return all(bool((rows[name] == rows[name][0]).all()) for name in counters)


def _columns(rows: NDArray[np.void], element: Element) -> Table:
    table = {}
    for number, one in enumerate(element.properties):
        values = rows[f"v{number}"]
        length = values.shape[1] if one.counted_by and values.ndim > 1 else 1
        table[one.name] = Column(values.reshape(-1), np.full(element.count, length, np.int64))
    return table


def _uneven(data: bytes, at: int, order: str, element: Element) -> tuple[Table, int]:
    """Walk from row to row where lists differ in length."""
    kinds = [(one.name, np.dtype(order + one.kind), one.counted_by and np.dtype(order + one.counted_by))
             for one in element.properties]  # fmt: skip
    parts: dict[str, list[bytes]] = {one.name: [] for one in element.properties}
    sizes: dict[str, list[int]] = {one.name: [] for one in element.properties}
    for row in range(element.count):
        for name, kind, counter in kinds:
            length = 1
            if counter:
                length = _integer(data, at, counter)
                at += counter.itemsize
            end = at + length * kind.itemsize
            if length < 0 or end > len(data):
                announced = grouped(element.count)
                raise UnusableError("shape.ply-cut", element=element.name, announced=announced, found=grouped(row))
            parts[name].append(data[at:end])
            sizes[name].append(length)
            at = end
    table = {
        name: Column(np.frombuffer(b"".join(parts[name]), kind), np.array(sizes[name], np.int64))
        for name, kind, _ in kinds
    }
    return table, at


def _integer(data: bytes, at: int, kind: np.dtype[np.generic]) -> int:
    end = at + kind.itemsize
    if kind.kind == "f":
        return -1  # nobody counts in fractions
    return int.from_bytes(data[at:end], "big" if kind.byteorder == ">" else "little", signed=kind.kind == "i")


def _text(data: bytes, start_line: int, elements: list[Element]) -> tuple[dict[str, Table], int]:
    numbered = enumerate(data.splitlines(), start=start_line)
    lines = [(number, text) for number, text in numbered if text.strip()]
    tables, at = {}, 0
    for element in elements:
        end = at + element.count
        if end > len(lines):
            announced, found = grouped(element.count), grouped(max(len(lines) - at, 0))
            raise UnusableError("shape.ply-cut", element=element.name, announced=announced, found=found)
        tables[element.name] = _text_table(lines[at:end], element)
        at = end
    return tables, len(lines) - at


def _text_table(lines: Sequence[Line], element: Element) -> Table:
    words = [text.split() for _, text in lines]
    if not any(one.counted_by for one in element.properties):
        return _even_text_table(lines, words, element)
    parts: dict[str, list[bytes]] = {one.name: [] for one in element.properties}
    sizes: dict[str, list[int]] = {one.name: [] for one in element.properties}
    for line, row in zip(lines, words, strict=True):
        at = 0
        for one in element.properties:
            length = 1
            if one.counted_by:
                length = _word_count(row, at, line)
                at += 1
            end = at + length
            parts[one.name] += row[at:end]
            sizes[one.name].append(length)
            at = end
        if at != len(row):
            raise bad_line(line)
    return {name: Column(_floats(parts[name], lines), np.array(sizes[name], np.int64)) for name in parts}


def _even_text_table(lines: Sequence[Line], words: Sequence[Words], element: Element) -> Table:
    width = len(element.properties)
    for line, row in zip(lines, words, strict=True):
        if len(row) != width:
            raise bad_line(line)
    values = _floats(list(chain.from_iterable(words)), lines).reshape(-1, width)
    ones = np.ones(len(lines), np.int64)
    return {one.name: Column(values[:, place], ones) for place, one in enumerate(element.properties)}


def _word_count(words: Words, at: int, line: Line) -> int:
    try:
        length = int(words[at])
    except (ValueError, IndexError):
        raise bad_line(line) from None
    if length < 0:
        raise bad_line(line)
    return length


def _floats(words: Words, lines: Sequence[Line]) -> NDArray[np.float64]:
    try:
        return np.fromiter(map(float, words), np.float64)
    except ValueError:
        raise first_bad(lines, [text.split() for _, text in lines], float) from None
