"""3MF: a ZIP package of XML parts that states its unit. Objects may be built of other objects, many times over."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from pourwright.shape.pattern.formats.polygons import check_indices
from pourwright.shape.pattern.formats.soup import (
    Ceilings,
    OwnNumbers,
    Remark,
    Soup,
    UnusableError,
    check_count,
    grouped,
    look,
)
from pourwright.shape.pattern.formats.three_mf_model import Body, Key, ModelPart, Placed, read_part
from pourwright.shape.pattern.formats.three_mf_package import Package, models_named_by, open_package, unpack

MOST_DEPTH = 8
MOST_INSTANCES = 10_000
_SOLID_KINDS = ("model", "solidsupport")

Find = Callable[[Key], Body]


@dataclass(frozen=True)
class Extent:
    """What an object would be once its components are put in place: meshes, their triangles, components within."""

    instances_count: int
    triangles_count: int
    depth_count: int


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the triangles of all that a 3MF file builds, put in place, and the unit it states."""
    package = open_package(content, ceilings.unpacked_bytes_count)
    named = models_named_by(package, "")
    if not named:
        raise UnusableError("shape.three-mf-no-model")
    root = read_part(named[0], unpack(package, named[0]), ceilings.triangles_count)
    parts = {root.name: root}
    allowed = {root.name, *models_named_by(package, root.name)}

    def find(key: Key) -> Body:
        name, number = key
        if name not in parts:
            if name not in allowed:
                raise UnusableError("shape.three-mf-part-missing", part=name[:80])
            parts[name] = _other_part(name, package, root, ceilings.triangles_count)
        if number not in parts[name].bodies:
            raise UnusableError("shape.three-mf-object-missing", object=number[:30], part=name[:80])
        return parts[name].bodies[number]

    built, remarks = _built(root, find)
    _check_extents(built, find, ceilings.triangles_count)
    corners = [one for item in built for one in _corners(item, np.eye(4, 3), find)]
    return Soup(np.concatenate(corners), remarks, root.units)


def _other_part(name: str, package: Package, root: ModelPart, most_triangles: int) -> ModelPart:
    part = read_part(name, unpack(package, name), most_triangles)
    if part.units != root.units:
        raise UnusableError("shape.three-mf-units-mixed", units=root.units, other=part.units)
    return part


def _built(root: ModelPart, find: Find) -> tuple[list[Placed], tuple[Remark, ...]]:
    """Return what is to be built and is solid; support structures are left out with a remark."""
    if not root.items:
        raise UnusableError("shape.three-mf-nothing-built")
    kinds = [find(item.key).kind for item in root.items]
    for kind in kinds:
        if kind not in (*_SOLID_KINDS, "support"):
            raise UnusableError("shape.three-mf-kind", kind=kind[:30])
    built = [item for item, kind in zip(root.items, kinds, strict=True) if kind in _SOLID_KINDS]
    if not built:
        raise UnusableError("shape.three-mf-nothing-built")
    left_out = len(kinds) - len(built)
    return built, (look("shape.three-mf-supports", count=str(left_out)),) if left_out else ()


def _check_extents(built: list[Placed], find: Find, most_triangles: int) -> None:
    """Count before anything is put in place: a small file can name billions of triangles."""
    known: dict[Key, Extent] = {}
    extents = [_extent(item.key, find, known, ()) for item in built]
    instances = sum(one.instances_count for one in extents)
    if instances > MOST_INSTANCES:
        raise UnusableError("shape.three-mf-instances", count=grouped(instances), limit=grouped(MOST_INSTANCES))
    check_count(sum(one.triangles_count for one in extents), most_triangles)


def _extent(key: Key, find: Find, known: dict[Key, Extent], above: tuple[Key, ...]) -> Extent:
    if key in above:
        raise UnusableError("shape.three-mf-cycle", object=key[1][:30])
    _check_depth(len(above) + 1)
    if key not in known:
        known[key] = _counted(key, find, known, (*above, key))
    _check_depth(len(above) + known[key].depth_count)
    return known[key]


def _check_depth(depth: int) -> None:
    if depth > MOST_DEPTH:
        raise UnusableError("shape.three-mf-deep", limit=str(MOST_DEPTH))


def _counted(key: Key, find: Find, known: dict[Key, Extent], above: tuple[Key, ...]) -> Extent:
    body = find(key)
    if body.other_shape:
        raise UnusableError("shape.file-extension", name=body.other_shape)
    if not body.faces and not body.components:
        raise UnusableError("shape.three-mf-empty-object", object=key[1][:30])
    inner = [_extent(one.key, find, known, above) for one in body.components]
    return Extent(
        int(bool(body.faces)) + sum(one.instances_count for one in inner),
        len(body.faces) // 3 + sum(one.triangles_count for one in inner),
        1 + max((one.depth_count for one in inner), default=0),
    )


def _corners(item: Placed, outer: OwnNumbers, find: Find) -> Iterator[OwnNumbers]:
    """Yield the triangles of an object in its place, component by component."""
    matrix = _joined(item.matrix, outer)
    body = find(item.key)
    if body.faces:
        points = np.asarray(body.points, dtype=np.float64).reshape(-1, 3)
        faces = np.asarray(body.faces, dtype=np.int64)
        check_indices(faces, len(points))
        corners = (points @ matrix[:3] + matrix[3])[faces.reshape(-1, 3)]
        yield corners[:, ::-1] if np.linalg.det(matrix[:3]) < 0 else corners
    for component in body.components:
        yield from _corners(component, matrix, find)


def _joined(inner: OwnNumbers, outer: OwnNumbers) -> OwnNumbers:
    joined: OwnNumbers = inner @ outer[:3]
    joined[3] += outer[3]
    return joined
