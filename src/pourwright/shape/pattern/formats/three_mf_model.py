"""One model part of a 3MF package: its unit, its objects and what is to be built. Read as a stream, in little memory.

Colours, materials and properties are passed over. What carries shape in a way that is not read here is kept by name
with its object, so that it is refused when the object is built.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable, MutableSequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.soup import OwnNumbers, UnusableError, check_count, grouped
from pourwright.shape.pattern.formats.three_mf_package import Attributes, new_parser, read_xml, resolved

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_VERTEX, _TRIANGLE = f"{_CORE} vertex", f"{_CORE} triangle"
_FAMILY = re.compile(r"3dmanufacturing/([a-z]+)/")
_HARMLESS_FAMILIES = ("core", "material", "production", "trianglesets")
# Extensions whose elements or attributes on an object change its shape.
_SHAPE_FAMILIES = {
    "beamlattice": "beam lattice",
    "slice": "slices",
    "volumetric": "volumetric",
    "implicit": "implicit functions",
    "booleanoperations": "boolean operations",
    "displacement": "displacement",
}
_UNITS = {"micron": "micron", "millimeter": "mm", "centimeter": "cm", "inch": "inch", "foot": "foot", "meter": "m"}

Key = tuple[str, str]  # model part and object id


@dataclass(frozen=True)
class Placed:
    """An object put somewhere: by the build, or as a component of another.

    ``matrix`` has shape (4, 3): three rows that turn a point written as a row, and one that moves it.
    """

    key: Key
    matrix: OwnNumbers


@dataclass
class Body:
    """One object: a mesh, or components. ``other_shape`` names what it holds that is not read."""

    kind: str
    points: MutableSequence[float] = field(default_factory=lambda: array("d"))
    faces: MutableSequence[int] = field(default_factory=lambda: array("q"))
    components: list[Placed] = field(default_factory=list)
    other_shape: str = ""


@dataclass
class ModelPart:
    """What one part holds."""

    name: str
    units: str = "mm"
    bodies: dict[str, Body] = field(default_factory=dict)
    items: list[Placed] = field(default_factory=list)


def read_part(name: str, pieces: Iterable[bytes], most_triangles: int) -> ModelPart:
    """Read one model part.

    Raises
    ------
    UnusableError
        It is not sound XML, states an unknown unit, requires an unknown extension, or holds a number that is none.
    """
    reader = _PartReader(ModelPart(name))
    parser = reader.parser
    read_xml(pieces, name, parser, lambda: reader.check_count(most_triangles))
    if not reader.begun:
        raise UnusableError("shape.three-mf-no-model")
    return reader.part


class _PartReader:
    """Handlers of the XML stream and what they have gathered so far."""

    def __init__(self, part: ModelPart) -> None:
        self.part = part
        self.begun = False
        self.body = Body("")
        self.triangles_count = 0
        self.prefixes: dict[str, str] = {}
        self.parser = new_parser()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.StartNamespaceDeclHandler = self._prefix
        self._steps = {
            f"{_CORE} model": self._model,
            f"{_CORE} object": self._object,
            f"{_CORE} component": self._component,
            f"{_CORE} item": self._item,
        }

    def check_count(self, most_triangles: int) -> None:
        check_count(self.triangles_count + len(self.body.faces) // 3, most_triangles)

    def _prefix(self, prefix: str | None, uri: str) -> None:
        self.prefixes[prefix or ""] = uri

    def _start(self, name: str, attributes: Attributes) -> None:
        try:
            if name == _VERTEX:
                self.body.points.extend((float(attributes["x"]), float(attributes["y"]), float(attributes["z"])))
            elif name == _TRIANGLE:
                self.body.faces.extend((int(attributes["v1"]), int(attributes["v2"]), int(attributes["v3"])))
            elif name in self._steps:
                self._steps[name](attributes)
            else:
                self._other(name)
        except (KeyError, ValueError, OverflowError):
            raise self._bad(attributes) from None

    def _end(self, name: str) -> None:
        if name == f"{_CORE} object":
            self.triangles_count += len(self.body.faces) // 3
            self.body = Body("")

    def _bad(self, attributes: Attributes) -> UnusableError:
        text = " ".join(f'{key.rpartition(" ")[2]}="{value}"' for key, value in attributes.items())[:60]
        code = "shape.file-comma" if "," in text else "shape.file-line"
        return UnusableError(code, line=grouped(self.parser.CurrentLineNumber), text=text)

    def _model(self, attributes: Attributes) -> None:
        self.begun = True
        unit = attributes.get("unit", "millimeter")
        if unit not in _UNITS:
            raise UnusableError("shape.three-mf-unit", unit=unit[:30], known=", ".join(_UNITS))
        self.part.units = _UNITS[unit]
        for prefix in attributes.get("requiredextensions", "").split():
            uri = self.prefixes.get(prefix, prefix)
            if _family(uri) not in (*_HARMLESS_FAMILIES, *_SHAPE_FAMILIES):
                raise UnusableError("shape.file-extension", name=uri[:100])

    def _object(self, attributes: Attributes) -> None:
        self.body = Body(attributes.get("type", "model"))
        if attributes["id"] in self.part.bodies:
            raise UnusableError("shape.three-mf-object-twice", object=attributes["id"][:30])
        self.part.bodies[attributes["id"]] = self.body
        for name in attributes:
            if " " in name:
                self._other(name)

    def _component(self, attributes: Attributes) -> None:
        self.body.components.append(self._placed(attributes))

    def _item(self, attributes: Attributes) -> None:
        self.part.items.append(self._placed(attributes))

    def _placed(self, attributes: Attributes) -> Placed:
        path = next((value for name, value in attributes.items() if name.endswith(" path")), "")
        part = resolved("", path) if path else self.part.name
        return Placed((part, attributes["objectid"]), _matrix(attributes.get("transform", "")))

    def _other(self, name: str) -> None:
        """Note a foreign element or attribute inside an object that would change its shape."""
        family = _family(name)
        if family in _SHAPE_FAMILIES:
            self.body.other_shape = self.body.other_shape or _SHAPE_FAMILIES[family]


def _family(uri: str) -> str:
    found = _FAMILY.search(uri)
    return found[1] if found else ""


def _matrix(text: str) -> NDArray[np.float64]:
    """Return a transform as three rows that turn and one that moves, shape (4, 3)."""
    if not text:
        return np.eye(4, 3)
    matrix = np.array([float(one) for one in text.split()]).reshape(4, 3)
    size = np.linalg.norm(matrix[:3])
    if not np.isfinite(matrix).all() or abs(np.linalg.det(matrix[:3])) <= 1e-12 * size**3:
        raise UnusableError("shape.three-mf-flat", text=text[:80])
    return matrix
