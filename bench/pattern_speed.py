"""Pattern files: ours beside trimesh's, and the full report by size. Ratios matter; seconds differ between machines."""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from pourwright.prepare.castability.judge import judge_pattern
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.formats import stl
from pourwright.shape.pattern.formats.soup import Ceilings
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.reading import read_pattern
from pourwright.shape.pattern.weld import weld_corners

REPEATS = 3
CEILINGS = Ceilings(2_000_000, 150_000_000, 512_000_000)


def _seconds(work: Callable[[], object]) -> float:
    """Best of a few, after one run that compiles and fills caches."""
    work()
    best = np.inf
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return float(best)


def _peak_mib() -> float:
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


def _row(name: str, seconds: float, other: float | None = None) -> None:
    ratio = f"   trimesh takes {other:8.3f} s: {other / seconds:5.1f} times as long" if other else ""
    print(f"  {name:42s} {seconds:8.3f} s{ratio}")


def _full(path: Path) -> object:
    """Read, measure and judge: the report with all of its findings on castability."""
    return judge_pattern(measure_pattern(path, "mm"), path.name, "silver")


# A ring is the kindest body; these have necks to cut through, fins and several sections.
PIECES = (
    ("dumbbell", lambda: solids.dumbbell(4.0, 1.0, 16.0, 710)),
    ("cube, neck, plate", solids.plate_with_cube),
    ("fin on a cube", solids.cube_with_fin),
)


def main() -> None:
    import trimesh

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ring.stl"
        solids.write_stl(solids.torus(9.5, 1.25, 1000, 500), path)
        content = path.read_bytes()

        def ours() -> object:
            return weld_corners(np.asarray(stl.read(path.read_bytes(), CEILINGS).corners, dtype=np.float64))

        _row("1M triangles: read and weld", _seconds(ours), _seconds(lambda: trimesh.load(path)))
        _row("1M triangles: read in the limited process", _seconds(lambda: read_pattern(path, PatternLimits())))
        mesh = weld_corners(np.asarray(stl.read(content, CEILINGS).corners, dtype=np.float64))
        other = trimesh.Trimesh(mesh.vertices_mm, mesh.faces, process=False)
        _row(
            "1M triangles: volume, area, centre",
            _seconds(lambda: (mass.volume_mm3(mesh), mass.area_mm2(mesh), mass.centre_mm(mesh))),
            _seconds(lambda: trimesh.Trimesh(other.vertices, other.faces, process=False).mass_properties),
        )
        for around, across in ((100, 50), (200, 50), (400, 125), (1000, 500)):
            solids.write_stl(solids.torus(9.5, 1.25, around, across), path)
            _row(f"{2 * around * across:,} triangles: full report, ring", _seconds(lambda: _full(path)))
        for name, piece in PIECES:
            solids.write_stl(piece(), path)
            _row(f"{len(piece().faces):,} triangles: full report, {name}", _seconds(lambda: _full(path)))
    print(f"  peak memory of this process {_peak_mib():,.0f} MiB")


if __name__ == "__main__":
    main()
