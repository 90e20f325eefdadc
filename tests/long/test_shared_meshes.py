"""Case: meshes by other people, whole, broken and hostile, measured before by other programs.

Runs only where ``POURWRIGHT_MESHES`` names a folder with a ``manifest.toml`` (for each file, as other programs found
it: triangles, watertight, signed_volume and union_volume in the file's unit). Each file ends in a report or in a
finding that stops; no volume is wrong by more than 0.5 % without a word; no process takes more than 2 GiB.

Where the manifest's number is that of a broken mesh, another independent number stands in ``_MENDED`` with its reason.
A surface that crosses itself is counted here along vertical lines, with nothing of ours but the file's triangles.
"""

from __future__ import annotations

import functools
import json
import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from tests.outside_readers import three_mf_by_its_consortium

from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings

FOLDER = Path(os.environ.get("POURWRIGHT_MESHES", "no-meshes-here"))
ROOT = Path(__file__).resolve().parents[2]
MOST_MIB = 2048
TOLERANCE = 0.005
MM3 = {"mm": 1.0, "inch": 25.4**3}
_STATES_UNITS = (".3mf", ".step", ".stp", ".glb")

# Files that must be refused, by the first code said; every other file must give a volume.
_REFUSED = {
    "OutOfMemory.off": "shape.file-cut-lines",  # announces 353 535 235 358 corners
    "crash.ply": "shape.ply-header",  # the header is overwritten with other bytes
    "mustfail_dtd.3mf": "shape.three-mf-doctype",
    "variable_voronoi.3mf": "shape.file-extension",  # its shape is a lattice of beams
    "d_torus_truncated.stl": "shape.file-cut",
    "Spider_ascii.stl": "shape.mesh-open",  # 18 open shells
    "airplane.obj": "shape.mesh-open",
    "soup.stl": "shape.mesh-open",
    "sphereWithHole.stl": "shape.mesh-open",  # the hole is over half a per cent of its surface
    "d_torus_hole60.stl": "shape.mesh-open",
}
# Broken meshes whose manifest volume is not that of the body: another file of the set, or a number, and why.
_MENDED = {
    "d_torus_duplicate_faces.stl": "torus.STL",  # the same ring, some faces twice
    "d_torus_inverted.stl": "torus.STL",  # inside out
    "d_torus_jittered_corners.stl": "torus.STL",  # corners moved by two millionths
    "featuretype.STEP": "featuretype.3MF",  # the same part, which the manifest measured from its 3MF file, in inches
    "multibody.stl": 0.0074232,  # two bodies, one inside out; by trimesh after turning each shell outward
    "cycloidal.ply": 1.834392734751306,  # overlapping shells: the manifest's union, by manifold3d
    "conveyor_hole.stl": 350.66e6,  # open by one triangle: closed by trimesh, whose fill has one way to do it
    "conveyor_nearby_bad.stl": 350.66e6,  # the same conveyor with one corner moved
}
_CROSSING = ("openscad-nonmanifold-crash.obj", "self_intersectA.obj")


def _rows() -> dict[str, dict]:
    manifest = FOLDER / "manifest.toml"
    if not manifest.exists():
        return {}
    rows = tomllib.loads(manifest.read_text("utf-8"))["mesh"]
    return {row["file"]: row for row in rows if (FOLDER / row["file"]).exists()}


ROWS = _rows()


@functools.cache
def _measured(name: str) -> tuple[dict, float]:
    """Return what came out and the largest memory of the process and its child in MiB."""
    units = "" if name.lower().endswith(_STATES_UNITS) else "mm"
    command = [sys.executable, "-m", "tests.long.measure_one", str(FOLDER / name), units]
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    out, said = process.stdout.read(), process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, said
    assert "Traceback" not in said
    return json.loads(out), usage.ru_maxrss / 1024


@pytest.mark.parametrize("name", ROWS)
def test_every_mesh_ends_in_a_report_or_a_clear_refusal_within_2_gib(name):
    found, memory_mib = _measured(name)
    assert memory_mib <= MOST_MIB
    stopped = [one["code"] for one in found["findings"] if one["level"] == "stop"]
    if name in _REFUSED:
        assert not found["measured"]
        assert stopped == [_REFUSED[name]]
        assert found["volume"] == 0
        assert name in found["findings"][0]["what"]
    else:
        assert found["measured"], stopped
        assert found["low"] <= found["volume"] <= found["high"]
        if "triangles" in ROWS[name]:
            assert found["triangles"] == ROWS[name]["triangles"]


@pytest.mark.parametrize("name", [one for one in ROWS if one not in _REFUSED and one not in _CROSSING])
def test_no_volume_is_silently_wrong_by_half_a_per_cent(name):
    found, _ = _measured(name)
    assert found["volume"] == pytest.approx(_known_mm3(name, found["units"]), rel=TOLERANCE)


def _known_mm3(name: str, units: str) -> float:
    mended = _MENDED.get(name, name)
    if isinstance(mended, float):
        return mended
    row = ROWS[mended]
    stated = row.get("units", "mm")
    factor = MM3[{"millimeter": "mm"}.get(stated, stated)] if "units" in row else MM3[units]
    return abs(row.get("union_volume", row["signed_volume"])) * factor


@pytest.mark.parametrize("name", [one for one in _CROSSING if one in ROWS])
def test_a_surface_that_crosses_itself_is_said_and_its_range_holds_the_true_volume(name):
    found, _ = _measured(name)
    assert "shape.crossing" in [one["code"] for one in found["findings"]]
    counted = _by_lines(_corners(name), lines=100)
    assert found["low"] <= counted <= found["high"]
    assert abs(found["volume"] - counted) < abs(ROWS[name]["signed_volume"] - counted) / 5


def _corners(name: str) -> np.ndarray:
    path = FOLDER / name
    soup = read_file(path.read_bytes(), path.suffix.lower(), Ceilings(10**7, 10**9, 10**9))
    return np.asarray(soup.corners, dtype=float)


def _by_lines(corners: np.ndarray, lines: int) -> float:
    """Sum the lengths of vertical lines, one at random in each cell of a raster, that lie inside the surface.

    Inside is where more of the surface has been entered than left. Both sums share the raster's error, so that of
    the plain signed volume, which is known exactly, is taken off again.
    """
    random = np.random.default_rng(3)
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    step = (high - low)[:2] / lines
    inside, signed = 0.0, 0.0
    for column in range(lines):
        left = low[0] + step[0] * column
        over = (corners[:, :, 0].min(axis=1) <= left + step[0]) & (corners[:, :, 0].max(axis=1) >= left)
        near = corners[over]
        for row in range(lines):
            point = np.array([left + step[0] * random.random(), low[1] + step[1] * (row + random.random())])
            one, other = _one_line(near, point)
            inside, signed = inside + one, signed + other
    exact = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    return float(inside / signed * exact)


def _one_line(corners: np.ndarray, point: np.ndarray) -> tuple[float, float]:
    a, b, c = (corners[:, one, :2] - point for one in range(3))
    weights = np.column_stack([_cross(b, c), _cross(c, a), _cross(a, b)])
    doubled = weights.sum(axis=1)
    hit = (doubled != 0) & (weights * np.sign(doubled)[:, None] >= 0).all(axis=1)
    if not hit.any():
        return 0.0, 0.0
    heights = (weights[hit] * corners[hit, :, 2]).sum(axis=1) / doubled[hit]
    order = np.argsort(heights)
    winding = np.cumsum(-np.sign(doubled[hit])[order])[:-1]
    lengths = np.diff(heights[order])
    return float(lengths[winding > 0].sum()), float((lengths * winding).sum())


def _cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


@pytest.mark.parametrize("name", [one for one in ROWS if one.lower().endswith(".3mf") and one not in _REFUSED])
def test_3mf_of_other_people_is_read_as_the_consortium_reads_it(name):
    path = FOLDER / name
    soup = read_file(path.read_bytes(), ".3mf", Ceilings(10**7, 10**9, 10**9))
    count, volume, unit = three_mf_by_its_consortium(path)
    corners = np.asarray(soup.corners, dtype=float)
    ours = np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    assert len(corners) == count
    assert ours == pytest.approx(volume, rel=1e-5)
    assert soup.units == {"MilliMeter": "mm", "Inch": "inch"}[unit]


def test_a_folder_of_mixed_formats_is_checked_in_one_go_without_a_traceback():
    files = [str(FOLDER / name) for name in ROWS]
    if not files:
        return
    command = [sys.executable, "-m", "pourwright", "check", *files, "--units", "mm", "--json"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "Traceback" not in done.stdout + done.stderr
    pieces = json.loads(done.stdout)["pieces"]
    assert [one["file"] for one in pieces] == [Path(one).name for one in files]
    assert all(one["volume_mm3"] or one["findings"] for one in pieces)


def test_the_set_is_there_or_was_not_asked_for():
    """A folder that is named but holds no manifest would pass every test above by testing nothing."""
    assert ROWS or "POURWRIGHT_MESHES" not in os.environ
    assert shutil.which("pourwright") or (ROOT / "src").is_dir()
