"""A PostgreSQL server of Debian's, started for the tests alone on a socket and port of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
from contextlib import contextmanager
from pathlib import Path


def _programs():
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
    if not found:
        raise RuntimeError("these tests need Debian's package postgresql")
    return found[-1]


def _free_port():
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return asked.getsockname()[1]


@contextmanager
def postgresql():
    """Run a server in a folder of its own and yield the address of an empty database."""
    folder = Path(tempfile.mkdtemp(prefix="books-server-"))
    programs, data, port = _programs(), folder / "data", _free_port()
    # The server refuses to run as root; Debian's package brings a user for it.
    as_keeper = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    if as_keeper:
        shutil.chown(folder, "postgres")

    def run(*command):
        done = subprocess.run(
            [*as_keeper, *map(str, command)],
            check=False,
            capture_output=True,
            text=True,
            cwd=folder,
            stdin=subprocess.DEVNULL,
        )
        assert done.returncode == 0, done.stdout + done.stderr

    run(programs / "initdb", "-D", data, "-U", "studio", "-A", "trust", "-E", "UTF8", "--no-sync")
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c max_connections=60"
    run(programs / "pg_ctl", "-D", data, "-l", folder / "log", "-w", "-o", options, "start")
    try:
        run(programs / "createdb", "-h", folder, "-p", port, "-U", "studio", "books")
        yield f"postgresql+psycopg://studio@127.0.0.1:{port}/books"
    finally:
        run(programs / "pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder)
