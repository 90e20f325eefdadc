"""Case: files of our own generator, read by us and by libraries of other people.

lib3mf is the 3MF consortium's own reader; trimesh reads the other formats. Both take the file, none of our code.
Tolerance: the count of triangles is equal; volumes agree to one part in a million, single precision in the other
library.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests import pattern_files as good
from tests.outside_readers import by_trimesh, signed_volume, three_mf_by_its_consortium

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings

RING = solids.torus(9.5, 1.25, 48, 24)
POINTS, FACES = RING.vertices_mm, RING.faces
CUBE = solids.box(2.0, 3.0, 4.0)
CEILINGS = Ceilings(10**6, 10**8, 10**8)
UNITS = {"mm": "MilliMeter", "cm": "CentiMeter", "inch": "Inch", "micron": "MicroMeter", "foot": "Foot", "m": "Meter"}


def _ours(content: bytes, name: str) -> tuple[np.ndarray, str]:
    soup = read_file(content, Path(name).suffix, CEILINGS)
    assert soup.corners is not None
    return np.asarray(soup.corners, dtype=float), soup.units


def _models() -> dict[str, bytes]:
    ring = good.object_xml(1, good.mesh_xml(POINTS, FACES))
    cube = good.object_xml(2, good.mesh_xml(CUBE.vertices_mm, CUBE.faces))
    both = good.object_xml(
        3, good.components_xml('objectid="1"', 'objectid="2" transform="0 2 0 -1 0 0 0 0 1 30 0 5"', 'objectid="2"')
    )
    twice = ['objectid="3"', 'objectid="3" transform="0.5 0 0 0 0.5 0 0 0 0.5 0 0 40"']
    plain = {unit: good.three_mf(POINTS, FACES, unit) for unit in ("micron", "millimeter", "inch", "foot", "meter")}
    return {**plain, "components": good.package(good.model_xml(ring + cube + both, twice))}


@pytest.mark.parametrize("name", _models())
def test_3mf_is_read_as_the_consortium_reads_it(tmp_path, name):
    content = _models()[name]
    path = tmp_path / "a.3mf"
    path.write_bytes(content)
    corners, unit = _ours(content, "a.3mf")
    count, volume, their_unit = three_mf_by_its_consortium(path)
    assert len(corners) == count
    assert signed_volume(corners) == pytest.approx(volume, rel=1e-6)
    assert UNITS[unit] == their_unit


@pytest.mark.parametrize("name", [one for one in good.WRITERS if not one.endswith("3mf")])
def test_other_formats_are_read_as_trimesh_reads_them(tmp_path, name):
    content = good.WRITERS[name](POINTS, FACES)
    (tmp_path / name).write_bytes(content)
    corners, _ = _ours(content, name)
    count, volume = by_trimesh(tmp_path / name)
    assert len(corners) == count
    assert signed_volume(corners) == pytest.approx(volume, rel=1e-6)
