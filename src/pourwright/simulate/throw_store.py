"""The cache of filling: cubes by the tree they were cut from, and fields of finished answers by all that made them."""

from __future__ import annotations

import hashlib
import io
import json
from collections.abc import Sequence
from dataclasses import asdict, fields, is_dataclass
from pathlib import Path
from typing import Any, TypeVar
from zipfile import BadZipFile

import numpy as np

from pourwright import __version__
from pourwright.core.files import write_whole
from pourwright.matter.version import tables_sha256
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.throw_conditions import ThrowConditions
from pourwright.simulate.throw_voxels import Voxels, cut_voxels

# Old files are dropped when all together take more room than this.
MOST_BYTES = 500_000_000
_KEY_LENGTH = 24
Kept = TypeVar("Kept")


def tree_sha256(job: FlaskJob, side_mm: float) -> str:
    """Return the hash of what cubes of a side [mm] are cut from."""
    digest = hashlib.sha256()
    digest.update(np.ascontiguousarray(np.round(job.solid.mesh.vertices_mm, 6)).tobytes())
    digest.update(np.ascontiguousarray(job.solid.mesh.faces).tobytes())
    said = {
        "pieces": list(job.solid.pieces),
        "bars": [[one.name, *one.start_mm.tolist(), *one.end_mm.tolist(), one.radius_mm] for one in job.solid.bars],
        "side_mm": round(side_mm, 6),
        "program": __version__,
    }
    digest.update(json.dumps(said, sort_keys=True).encode())
    return digest.hexdigest()


def answer_key(job: FlaskJob, conditions: ThrowConditions, side_mm: float, more: Sequence[object] = ()) -> str:
    """Return the hash of everything that a filling answer depends on.

    Parameters
    ----------
    job : FlaskJob
        The flask.
    conditions : ThrowConditions
        What it is filled under.
    side_mm : float
        Side of the cubes [mm].
    more : sequence of object
        What else, as plain values: the arm, the runs asked for.
    """
    said = {
        "tree": tree_sha256(job, side_mm),
        "flask_mm": [job.radius_mm, job.height_mm, job.wall_mm],
        "conditions": asdict(conditions),
        "tables": tables_sha256(),
        "more": list(more),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def kept_path(cache: Path, key: str, ending: str) -> Path:
    """Return where what belongs to a key is kept in a studio's cache."""
    return cache / "fill" / f"{key[:_KEY_LENGTH]}{ending}"


def voxels_of(job: FlaskJob, side_mm: float, cache: Path | None) -> Voxels:
    """Return the metal of a flask in cubes of a side [mm], from the cache if it was cut before."""
    if cache is None:
        return cut_voxels(job, side_mm)
    path = kept_path(cache, tree_sha256(job, side_mm), ".cubes.npz")
    known = read_arrays(path, Voxels)
    if known is None:
        known = cut_voxels(job, side_mm)
        write_arrays(path, known)
    return known


def write_arrays(path: Path, kept: Any) -> None:
    """Write a dataclass of arrays, numbers and tuples of text into a file of numpy's, whole."""
    if not is_dataclass(kept):
        raise TypeError("only a dataclass can be kept")
    buffer = io.BytesIO()
    arrays: dict[str, Any] = {one.name: np.asarray(getattr(kept, one.name)) for one in fields(kept)}
    np.savez_compressed(buffer, **arrays)
    write_whole(path, buffer.getvalue())


def read_arrays(path: Path, kind: type[Kept]) -> Kept | None:
    """Return what was written earlier; None where there is nothing to be read."""
    names = [one.name for one in fields(kind)]  # type: ignore[arg-type]
    try:
        with np.load(path, allow_pickle=False) as found:
            arrays = {name: found[name] for name in names}
    except (OSError, ValueError, KeyError, EOFError, BadZipFile):
        return None
    path.touch()
    return kind(**{name: _as_was(value) for name, value in arrays.items()})


def _as_was(value: Any) -> Any:
    """Return an array as it went in: a number of no dimension, texts as a tuple."""
    if value.ndim == 0:
        return value.item()
    return tuple(value.tolist()) if value.dtype.kind == "U" else value


def trim_fills(cache: Path, most_bytes_count: int = MOST_BYTES) -> tuple[Path, ...]:
    """Remove the files used longest ago until the rest takes no more room than allowed; return what was removed."""
    kept = sorted((cache / "fill").glob("*.*"), key=lambda one: one.stat().st_mtime, reverse=True)
    room, removed = most_bytes_count, []
    for path in kept:
        room -= path.stat().st_size
        if room < 0:
            path.unlink(missing_ok=True)
            removed.append(path)
    return tuple(removed)
