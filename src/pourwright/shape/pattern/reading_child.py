"""The process that reads a stranger's pattern file: bytes in, checked numbers out.

Run as a module with limits on memory and time (:mod:`pourwright.shape.pattern.reading` starts it). It writes
``corners.npy`` and ``result.json`` into the folder it is given and imports nothing heavier than numpy, except for
STEP files.
"""

from __future__ import annotations

import gc
import hashlib
import json
import sys
from dataclasses import asdict
from pathlib import Path

import numpy as np

from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings, Remark, Soup

CORNERS_FILE = "corners.npy"
RESULT_FILE = "result.json"


def read_into(path: Path, folder: Path, ceilings: Ceilings) -> None:
    """Read one file and leave its triangles and what was noticed in a folder."""
    most = ceilings.file_bytes_count
    try:
        with path.open("rb") as source:
            content = source.read(most + 1)
    except OSError:
        _leave(folder, Soup(None, (Remark("shape.file-unreadable", "stop"),)), "")
        return
    soup = (
        Soup(None, (Remark("shape.file-grew", "stop"),))
        if len(content) > most
        else read_file(content, path.suffix.lower(), ceilings)
    )
    _leave(folder, soup, hashlib.sha256(content).hexdigest())


def _leave(folder: Path, soup: Soup, sha256: str) -> None:
    if soup.corners is not None:
        np.save(folder / CORNERS_FILE, soup.corners, allow_pickle=False)
    result = {"sha256": sha256, "units": soup.units, "remarks": [asdict(one) for one in soup.remarks]}
    (folder / RESULT_FILE).write_text(json.dumps(result), "utf-8")


if __name__ == "__main__":
    gc.disable()  # text files become millions of short-lived words without a cycle among them: a third of the time
    read_into(Path(sys.argv[1]), Path(sys.argv[2]), Ceilings(*(int(one) for one in sys.argv[3:6])))
