"""Reading each pattern format: our readers beside trimesh's and lib3mf's. Ratios matter, not seconds."""

from __future__ import annotations

import gc
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


def _by_trimesh(content: bytes, ending: str) -> object:
    import trimesh

    return trimesh.load(io.BytesIO(content), file_type=ending[1:], force="mesh", process=False)


def _by_lib3mf(content: bytes, _: str) -> object:
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromBuffer(content)
    meshes, found = model.MergeToModel().GetMeshObjects(), []
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        points = [tuple(one.Coordinates) for one in mesh.GetVertices()]
        found.append((np.array(points), np.array([tuple(one.Indices) for one in mesh.GetTriangleIndices()])))
    return found


def _compare(name: str, content: bytes, repeats: int) -> None:
    ending = name[name.rindex(".") :]
    other, their = (_by_lib3mf, "lib3mf") if ending == ".3mf" else (_by_trimesh, "trimesh")
    ours = _seconds(lambda: read_file(content, ending, CEILINGS), repeats)
    theirs = _seconds(lambda: other(content, ending), repeats)
    size = f"{len(content) / 1e6:.1f} MB"
    print(
        f"  {name:10s} {size:>8s} {ours:8.3f} s   {their:7s} takes {theirs:8.3f} s: {theirs / ours:5.2f} times as long"
    )


def main() -> None:
    gc.disable()  # as in the reading process
    ring = solids.torus(9.5, 1.25, 400, 125)
    print(f"  {len(ring.faces):,} triangles")
    for name, write in good.WRITERS.items():
        _compare(name, write(ring.vertices_mm, ring.faces), 3)
    ring = solids.torus(9.5, 1.25, 1000, 500)
    large = good.three_mf(ring.vertices_mm, ring.faces)
    print(f"  3MF of {len(ring.faces):,} triangles {_seconds(lambda: read_file(large, '.3mf', CEILINGS), 1):.3f} s")
    gc.enable()


if __name__ == "__main__":
    main()
