"""Reading each pattern format: our readers beside trimesh's. Ratios matter; seconds differ between machines."""

from __future__ import annotations

import io
import time
from collections.abc import Callable

import numpy as np
from tests import pattern_files as good

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings

CEILINGS = Ceilings(2_000_000, 150_000_000, 512_000_000)


def _seconds(work: Callable[[], object], repeats: int) -> float:
    best = np.inf
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return float(best)


def _compare(name: str, content: bytes, repeats: int) -> None:
    import trimesh

    ending = name[name.rindex(".") :]
    ours = _seconds(lambda: read_file(content, ending, CEILINGS), repeats)
    theirs = _seconds(
        lambda: trimesh.load(io.BytesIO(content), file_type=ending[1:], force="mesh", process=False), repeats
    )
    size = f"{len(content) / 1e6:.1f} MB"
    print(f"  {name:14s} {size:>9s} {ours:8.3f} s   trimesh takes {theirs:8.3f} s: {theirs / ours:5.2f} times as long")


def main() -> None:
    ring = solids.torus(9.5, 1.25, 400, 125)
    print(f"  {len(ring.faces):,} triangles")
    for name, write in good.WRITERS.items():
        _compare(name, write(ring.vertices_mm, ring.faces), 3)
    ring = solids.torus(9.5, 1.25, 1000, 500)
    print(f"  {len(ring.faces):,} triangles")
    _compare("large.3mf", good.three_mf(ring.vertices_mm, ring.faces), 1)


if __name__ == "__main__":
    main()
