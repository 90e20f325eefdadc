"""The cache of freezing runs: finished runs by the hash of their inputs, and states of runs cut off."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pourwright.core.errors import DataError
from pourwright.physics.freeze.fields_file import Lattice, read_fields, read_state, write_fields, write_state
from pourwright.physics.freeze.results import FreezeResult, FreezeState

# Old runs are dropped when all runs together take more room than this.
MOST_BYTES = 2_000_000_000
_KEY_LENGTH = 24


@dataclass(frozen=True)
class RunStore:
    """Where one run is kept: its fields, and its state while it is not done."""

    fields: Path
    state: Path

    def load(self) -> tuple[FreezeResult, Lattice] | None:
        """Return the finished run, or None."""
        try:
            result, lattice, _ = read_fields(self.fields)
        except DataError:
            return None
        self.fields.touch()
        return (result, lattice) if result.finished else None

    def keep(self, result: FreezeResult, lattice: Lattice, about: dict[str, Any]) -> None:
        """Keep a run, and drop its state if it is done."""
        write_fields(self.fields, result, lattice, about)
        if result.finished:
            shutil.rmtree(self.state, ignore_errors=True)

    def load_state(self) -> FreezeState | None:
        """Return the state of a run cut off, or None."""
        return read_state(self.state)

    def keep_state(self, state: FreezeState) -> None:
        """Keep the state of a run that goes on."""
        write_state(self.state, state)


def run_store(cache: Path, key: str) -> RunStore:
    """Return where the run with a key is kept in a studio's cache."""
    folder, name = cache / "freeze", key[:_KEY_LENGTH]
    return RunStore(folder / f"{name}.zarr", folder / f"{name}.state.zarr")


def trim(cache: Path, most_bytes_count: int = MOST_BYTES) -> tuple[Path, ...]:
    """Remove the runs used longest ago until the rest takes no more room than allowed; return what was removed."""
    runs = sorted((cache / "freeze").glob("*.zarr"), key=lambda one: one.stat().st_mtime, reverse=True)
    room, removed = most_bytes_count, []
    for run in runs:
        room -= sum(one.stat().st_size for one in run.rglob("*") if one.is_file())
        if room < 0:
            shutil.rmtree(run, ignore_errors=True)
            removed.append(run)
    return tuple(removed)
