"""Runs work that may go wrong badly, such as reading a stranger's file, in a limited child process."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass

_MIB = 1024 * 1024

Report = Callable[[float, str], None]


def tell_nobody(share_frac: float, what: str) -> None:
    """Take a report of the share done and of what is being done, and keep it to itself."""


def keep_line(line: str) -> None:
    """Take a line for people, and keep it to itself."""


@dataclass(frozen=True)
class Limits:
    """What a child process may use.

    Parameters
    ----------
    memory_mib_count : int
        Address space in MiB.
    cpu_s : float
        Processor time [s].
    wall_s : float
        Time by the clock [s].
    """

    memory_mib_count: int = 4096
    cpu_s: float = 60.0
    wall_s: float = 120.0


@dataclass(frozen=True)
class ChildResult:
    """How a child process ended: ``done``, ``failed``, ``out of time`` or ``out of memory``."""

    outcome: str
    stderr_tail: str


def run_module(module: str, arguments: Sequence[str], limits: Limits) -> ChildResult:
    """Run ``python -m module arguments`` under limits and wait for it.

    Parameters
    ----------
    module : str
        A module of ours with a main guard; it reports by the files it writes.
    arguments : sequence of str
        Command line.
    limits : Limits
        Enforced by the operating system where it can (POSIX), the clock everywhere.

    Returns
    -------
    ChildResult
        Never raises for what the child does.
    """
    environment = dict(os.environ, OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1", PYTHONNOUSERSITE="1")
    command = [sys.executable, "-m", module, *arguments]
    try:
        done = subprocess.run(
            command,
            env=environment,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=limits.wall_s,
            preexec_fn=_limiter(limits),
            check=False,
        )
    except subprocess.TimeoutExpired:
        return ChildResult("out of time", "")
    tail = done.stderr.decode("utf-8", "replace")[-4000:]
    return ChildResult(_outcome(done.returncode, tail), tail)


def _outcome(return_code: int, tail: str) -> str:
    if return_code == 0:
        return "done"
    if "MemoryError" in tail or "Unable to allocate" in tail:
        return "out of memory"
    return "out of time" if return_code == -24 else "failed"  # 24 is SIGXCPU


def _limiter(limits: Limits) -> Callable[[], None] | None:
    try:
        import resource
    except ImportError:  # not a POSIX system: only the clock limits the child
        return None

    def limit() -> None:
        memory = limits.memory_mib_count * _MIB
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
        cpu = int(limits.cpu_s)
        resource.setrlimit(resource.RLIMIT_CPU, (cpu, cpu + 5))

    return limit
