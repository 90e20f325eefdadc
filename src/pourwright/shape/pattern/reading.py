"""A pattern file read in a limited process, so that a broken or hostile one cannot hurt."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pourwright.core import work
from pourwright.core.findings import Finding, Level
from pourwright.shape.pattern.formats.kinds import ENDINGS
from pourwright.shape.pattern.formats.soup import Ceilings, grouped
from pourwright.shape.pattern.limits import (
    LARGE_FILE_BYTES_COUNT,
    LARGE_TRIANGLES_COUNT,
    LARGE_UNPACKED_BYTES_COUNT,
    PatternLimits,
)
from pourwright.shape.pattern.reading_child import CORNERS_FILE, RESULT_FILE

_CHILD = "pourwright.shape.pattern.reading_child"
_ENDINGS = {
    "out of time": "shape.reading-out-of-time",
    "out of memory": "shape.reading-out-of-memory",
    "failed": "shape.reading-failed",
}


@dataclass(frozen=True)
class ReadFile:
    """What came out of a file: triangle corners in the file's own numbers, shape (n, 3, 3), or None.

    ``units`` is what the file itself says its numbers mean, empty where it says nothing.
    """

    file: str
    sha256: str
    corners: NDArray[np.generic] | None
    findings: tuple[Finding, ...]
    units: str = ""


def read_pattern(path: Path, limits: PatternLimits, large: bool = False) -> ReadFile:
    """Read a pattern file of any known format.

    Parameters
    ----------
    path : Path
        What the user named, existing or not.
    limits : PatternLimits
        Size, and what the reading process may use.
    large : bool
        Whether the user asked for a large file.

    Returns
    -------
    ReadFile
        Without corners if the file cannot be used; a finding says why. Nothing is raised for a bad file.
    """
    ceilings = _ceilings(limits, large)
    refusal = _refusal(path, ceilings.file_bytes_count)
    if refusal:
        return ReadFile(path.name, "", None, (refusal,))
    with tempfile.TemporaryDirectory(prefix="pourwright-") as folder:
        counts = (ceilings.triangles_count, ceilings.file_bytes_count, ceilings.unpacked_bytes_count)
        arguments = [str(path.resolve()), folder, *(str(one) for one in counts)]
        ended = work.run_module(_CHILD, arguments, limits.child)
        return _collect(path, Path(folder), ended, limits.child)


def _ceilings(limits: PatternLimits, large: bool) -> Ceilings:
    if large:
        return Ceilings(LARGE_TRIANGLES_COUNT, LARGE_FILE_BYTES_COUNT, LARGE_UNPACKED_BYTES_COUNT)
    return Ceilings(limits.triangles_count, limits.file_bytes_count, limits.unpacked_bytes_count)


def _refusal(path: Path, most_bytes: int) -> Finding | None:
    try:
        if not path.exists():
            return _stop(path, "shape.file-missing", folder=str(path.parent))
        if not path.is_file():
            return _stop(path, "shape.file-not-a-file")
        if path.suffix.lower() not in ENDINGS:
            return _stop(path, "shape.file-ending", suffix=path.suffix or "\u2013", known=", ".join(ENDINGS))
        size = path.stat().st_size
    except OSError:
        return _stop(path, "shape.file-unreadable")
    if size > most_bytes:
        return _stop(path, "shape.file-too-large", size=grouped(size / 1e6), limit=grouped(most_bytes / 1e6))
    return None


def _stop(path: Path, code: str, **params: str) -> Finding:
    return Finding(code, Level.STOP, path.name, {"file": path.name, **params})


def _collect(path: Path, folder: Path, ended: work.ChildResult, child: work.Limits) -> ReadFile:
    code = _ENDINGS.get(ended.outcome)
    if code:
        finding = _stop(path, code, seconds=f"{child.wall_s:.0f}", memory=grouped(child.memory_mib_count))
        return ReadFile(path.name, "", None, (finding,))
    result = json.loads((folder / RESULT_FILE).read_text("utf-8"))
    findings = tuple(
        Finding(one["code"], Level(one["level"]), path.name, {"file": path.name, **one["params"]})
        for one in result["remarks"]
    )
    saved = folder / CORNERS_FILE
    corners = np.load(saved, allow_pickle=False) if saved.exists() else None
    return ReadFile(path.name, result["sha256"], corners, findings, result["units"])
