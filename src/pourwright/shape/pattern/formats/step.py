"""STEP: exact surfaces, cut into triangles by an optional library. The result is in millimetres."""

from __future__ import annotations

import importlib.util
import re

import numpy as np

from pourwright.shape.pattern.formats import glb
from pourwright.shape.pattern.formats.soup import Ceilings, Remark, Soup, UnusableError, grouped

# How far a triangle may stand off the true surface, and how far neighbours may bend; measured on a machined part, the
# volume is then within a ten-thousandth of what fifty times more triangles give.
CHORD_MM = 0.005
BEND_RAD = 0.2
_MM_PER_M = 1000.0
_LENGTH_UNIT = re.compile(rb"LENGTH_UNIT\s*\(")


def read(content: bytes, ceilings: Ceilings) -> Soup:
    """Return the surfaces of a STEP file as triangles.

    A file without a word on its unit is returned without one, in the millimetres that the library takes it for.
    """
    if b"ENDSEC" not in content[-4096:] or b"END-ISO-10303-21" not in content[-4096:]:
        raise UnusableError("shape.step-cut")
    if importlib.util.find_spec("cascadio") is None:
        raise UnusableError("shape.step-extra")
    soup = glb.read(_packed(content), ceilings)
    if soup.corners is None:
        raise UnusableError("shape.step-failed")
    corners = np.asarray(soup.corners, dtype=np.float64) * _MM_PER_M
    said = Remark("shape.step-cut-up", "note", {"chord": f"{CHORD_MM:g}", "triangles": grouped(len(corners))})
    return Soup(corners, (said,), "mm" if _LENGTH_UNIT.search(content) else "")


def _packed(content: bytes) -> bytes:
    import cascadio

    try:
        packed = cascadio.load(content, "step", tol_linear=CHORD_MM, tol_angular=BEND_RAD, use_parallel=False)
    except (RuntimeError, ValueError):
        raise UnusableError("shape.step-failed") from None
    if not packed:
        raise UnusableError("shape.step-failed")
    return bytes(packed)
