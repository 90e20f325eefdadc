"""GLB, binary glTF 2.0: a tree of nodes over packed arrays. Its standard counts in metres."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.polygons import check_indices
from pourwright.shape.pattern.formats.soup import Ceilings, Soup, UnusableError, check_count, grouped, look

_JSON_CHUNK, _DATA_CHUNK = 0x4E4F534A, 0x004E4942
_COMPONENTS = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_TRIANGLES, _STRIP, _FAN = 4, 5, 6
# Extensions that a file may require without its shape depending on more than what is read here.
_HARMLESS = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "KHR_lights_", "KHR_xmp", "KHR_mesh_quantization")
# ... and those that change the shape of a node that carries them, required or not.
_SHAPING = ("EXT_mesh_gpu_instancing",)

Json = Mapping[str, Any]


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of a GLB file, every node of its scene put in place."""
    start, rest = _announced(content)
    try:
        return _scene(start, content, ceilings, rest)
    except (KeyError, IndexError, TypeError, ValueError, AttributeError, OverflowError, RecursionError, struct.error):
        raise UnusableError("shape.glb-broken") from None  # any value of the JSON part may be of any kind


def _announced(content: bytes) -> tuple[int, int]:
    """Return where the chunks end and how many bytes follow."""
    if len(content) < 12:
        raise UnusableError("shape.file-cut-bytes", announced="12", found=str(len(content)))
    version, length = struct.unpack_from("<II", content, 4)
    if version != 2:
        raise UnusableError("shape.glb-version", version=str(version))
    if length > len(content):
        raise UnusableError("shape.file-cut-bytes", announced=grouped(length), found=grouped(len(content)))
    return length, len(content) - length


def _scene(end: int, content: bytes, ceilings: Ceilings, rest: int) -> Soup:
    model, data = _chunks(content, end)
    _check_extensions(model)
    placed = list(_placed(model))
    primitives = [(one, matrix) for mesh, matrix in placed for one in model["meshes"][mesh]["primitives"]]
    filled = [(one, matrix) for one, matrix in primitives if one.get("mode", _TRIANGLES) >= _TRIANGLES]
    check_count(sum(_most(model, one) for one, _ in filled), ceilings.triangles_count)
    corners = [_moved(_triangles(model, data, one), matrix) for one, matrix in filled]
    remarks = [look("shape.file-trailing", count=grouped(rest))] if rest else []
    if len(filled) < len(primitives):
        remarks.append(look("shape.glb-lines", count=str(len(primitives) - len(filled))))
    return Soup(np.concatenate(corners) if corners else np.zeros((0, 3, 3)), tuple(remarks), "m")


def _chunks(content: bytes, end: int) -> tuple[Json, bytes]:
    model, data, at = None, b"", 12
    while at + 8 <= end:
        length, kind = struct.unpack_from("<II", content, at)
        chunk = content[at + 8 : at + 8 + length]
        if at + 8 + length > end:
            raise UnusableError("shape.file-cut-bytes", announced=grouped(at + 8 + length), found=grouped(end))
        if kind == _JSON_CHUNK and model is None:
            model = json.loads(chunk)
        elif kind == _DATA_CHUNK and not data:
            data = chunk
        at += 8 + length
    if not isinstance(model, Mapping):
        raise UnusableError("shape.glb-broken")
    return model, data


def _check_extensions(model: Json) -> None:
    for name in model.get("extensionsRequired", ()):
        if not str(name).startswith(_HARMLESS):
            raise UnusableError("shape.file-extension", name=str(name)[:60])


def _placed(model: Json) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """Yield each mesh of the scene with the matrix of its place; a node may stand in one place only."""
    nodes = model.get("nodes", [])
    scenes = model.get("scenes", [])
    roots = scenes[model.get("scene", 0)].get("nodes", []) if scenes else range(len(nodes))
    seen: set[int] = set()
    waiting = [(int(root), np.eye(4)) for root in roots]
    while waiting:
        number, outer = waiting.pop()
        if number in seen:
            if scenes:
                raise UnusableError("shape.glb-node-twice", node=str(number))
            continue
        seen.add(number)
        node = nodes[number]
        matrix = outer @ _matrix(node)
        _check_node(node, model)
        if "mesh" in node:
            yield int(node["mesh"]), matrix
        waiting += [(int(child), matrix) for child in node.get("children", ())]


def _check_node(node: Json, model: Json) -> None:
    weights = node.get("weights", model["meshes"][node["mesh"]].get("weights", ()) if "mesh" in node else ())
    named = [name for name in _SHAPING if name in node.get("extensions", {})]
    named += ["skin"] if "skin" in node else []
    named += ["morph targets"] if any(weights) else []
    if named:
        raise UnusableError("shape.file-extension", name=named[0])


def _matrix(node: Json) -> NDArray[np.float64]:
    if "matrix" in node:
        return np.array(node["matrix"], dtype=np.float64).reshape(4, 4).T
    matrix = np.eye(4)
    turn = _turn(node.get("rotation", (0.0, 0.0, 0.0, 1.0)))
    matrix[:3, :3] = turn * np.array(node.get("scale", (1.0, 1.0, 1.0)), dtype=np.float64)
    matrix[:3, 3] = node.get("translation", (0.0, 0.0, 0.0))
    return matrix


def _turn(quaternion: Sequence[float]) -> NDArray[np.float64]:
    """Return the matrix of a unit quaternion x, y, z, w."""
    x, y, z, w = (float(one) for one in quaternion)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def _moved(corners: NDArray[np.float64], matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Put triangles in place; a mirror turns them, so that outside stays outside."""
    turn = matrix[:3, :3]
    moved: NDArray[np.float64] = corners @ turn.T + matrix[:3, 3]
    return moved[:, ::-1] if np.linalg.det(turn) < 0 else moved


def _most(model: Json, primitive: Json) -> int:
    accessor = model["accessors"][primitive.get("indices", primitive["attributes"]["POSITION"])]
    count = int(accessor["count"])
    return count // 3 if primitive.get("mode", _TRIANGLES) == _TRIANGLES else max(count - 2, 0)


def _triangles(model: Json, data: bytes, primitive: Json) -> NDArray[np.float64]:
    points = _values(model, data, primitive["attributes"]["POSITION"], "VEC3").astype(np.float64)
    if "indices" in primitive:
        numbers = _values(model, data, primitive["indices"], "SCALAR").reshape(-1).astype(np.int64)
    else:
        numbers = np.arange(len(points))
    check_indices(numbers, len(points))
    faces = _faces(numbers, int(primitive.get("mode", _TRIANGLES)))
    corners: NDArray[np.float64] = points[faces]
    return corners


def _faces(numbers: NDArray[np.int64], mode: int) -> NDArray[np.int64]:
    if mode == _TRIANGLES:
        if len(numbers) % 3:
            raise UnusableError("shape.glb-broken")
        return numbers.reshape(-1, 3)
    if mode == _FAN:
        return np.column_stack([np.full(max(len(numbers) - 2, 0), numbers[0]), numbers[1:-1], numbers[2:]])
    if mode != _STRIP:
        raise UnusableError("shape.glb-broken")
    faces = np.column_stack([numbers[:-2], numbers[1:-1], numbers[2:]])
    faces[1::2] = faces[1::2][:, [1, 0, 2]]
    return faces


def _values(model: Json, data: bytes, number: int, kind: str) -> NDArray[np.generic]:
    """Return the array of an accessor, shape (count, 3) or (count, 1)."""
    accessor = model["accessors"][number]
    if "sparse" in accessor or "bufferView" not in accessor:
        raise UnusableError("shape.file-extension", name="sparse accessor")
    view = model["bufferViews"][accessor["bufferView"]]
    if accessor["type"] != kind or view.get("buffer", 0) != 0 or "uri" in model["buffers"][0]:
        raise UnusableError("shape.glb-elsewhere")
    item = np.dtype(_COMPONENTS[accessor["componentType"]])
    width, count = (3 if kind == "VEC3" else 1), int(accessor["count"])
    step = int(view.get("byteStride", width * item.itemsize))
    first = int(view.get("byteOffset", 0)) + int(accessor.get("byteOffset", 0))
    end = first + step * (count - 1) + width * item.itemsize
    if first < 0 or count < 1 or step < width * item.itemsize or end > len(data):
        raise UnusableError("shape.file-cut-bytes", announced=grouped(end), found=grouped(len(data)))
    values = np.ndarray((count, width), item, data, first, (step, item.itemsize))
    return _scaled(values) if accessor.get("normalized") else values


def _scaled(values: NDArray[Any]) -> NDArray[np.float64]:
    """Undo the packing of fractions into whole numbers."""
    limit = np.iinfo(values.dtype).max
    return np.maximum(values.astype(np.float64) / limit, -1.0)
