"""Opening the books: SQLite in a file by default, PostgreSQL by address; migrations, checks, backups."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level

# How long one writer waits for another [s].
_PATIENCE_S = 60.0
_BACKUPS = "backups"
# Writers on a server take turns: totals are shared rows, and two that wait for each other would both be turned away.
_TAKE_TURNS = "select pg_advisory_xact_lock(7033926)"
_MIGRATIONS = Path(__file__).with_name("migrations")
# Migrations are numbered: m0001_..., m0002_...
_NEWEST_SCHEMA = max(path.name[1:5] for path in (_MIGRATIONS / "versions").glob("m[0-9]*.py"))
# What rooms above call a connection inside a transaction.
Transaction = Connection


@dataclass(frozen=True)
class Books:
    """Open books. ``path`` is the SQLite file, None on a server."""

    engine: Engine
    path: Path | None

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Yield a connection inside one transaction: all of it is kept, or nothing. There is one writer at a time."""
        with self.engine.connect() as connection, connection.begin():
            if self.path is None:  # SQLite takes its lock where the transaction begins
                connection.exec_driver_sql(_TAKE_TURNS)
            yield connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Yield a connection that sees one state of the books."""
        with self.engine.connect().execution_options(reads_only=True) as connection, connection.begin():
            yield connection

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def open_books(where: Path | str) -> Books:
    """Open books, making or migrating them as needed.

    Parameters
    ----------
    where : Path or str
        A file for SQLite, or the address of a PostgreSQL database (``postgresql+psycopg://...``).

    Raises
    ------
    LedgerError
        The file is damaged (the newest backup that is sound is named), or written by a newer version of the program,
        or the server cannot be reached.
    """
    address = str(where)
    path = None if "://" in address else Path(where)
    if path is not None:
        _check_file(path)
        path.parent.mkdir(parents=True, exist_ok=True)
    engine = _engine(f"sqlite:///{path}" if path is not None else address)
    try:
        _migrate(engine, address)
    except sa.exc.OperationalError as cause:
        engine.dispose()
        raise _stop("books.not-reached", address.rpartition("@")[2], reason=str(cause.orig).strip()) from None
    return Books(engine, path)


def _engine(address: str) -> Engine:
    engine = sa.create_engine(address, connect_args={"timeout": _PATIENCE_S} if address.startswith("sqlite") else {})
    if engine.dialect.name == "sqlite":
        sa.event.listen(engine, "connect", _set_up_sqlite)
        sa.event.listen(engine, "begin", _begin_sqlite)
    else:
        sa.event.listen(engine, "connect", _set_up_server)
    return engine


def _set_up_sqlite(raw: Any, _record: object) -> None:
    raw.isolation_level = None  # we say ourselves when a transaction begins
    for line in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "cache_size=-65536"):
        raw.execute(f"pragma {line}")


def _set_up_server(raw: Any, _record: object) -> None:
    """Let the server not compile queries: ours are short, compiling them takes longer than they do."""
    raw.execute("set jit = off")
    raw.commit()


def _begin_sqlite(connection: Connection) -> None:
    """Take the writer's lock at once, so that two writers wait for each other instead of failing half-way."""
    reads = connection.get_execution_options().get("reads_only")
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")


def _migrate(engine: Engine, address: str) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.runtime.migration import MigrationContext

    with engine.connect().execution_options(reads_only=True) as connection:
        now = MigrationContext.configure(connection).get_current_revision()
    if now == _NEWEST_SCHEMA:
        return
    if now is not None and now > _NEWEST_SCHEMA:
        raise _stop("books.too-new", address.rpartition("@")[2], found=now, known=_NEWEST_SCHEMA)
    with engine.connect() as connection, connection.begin():
        if engine.dialect.name == "postgresql":  # two that open new books at once take turns
            connection.exec_driver_sql("select pg_advisory_xact_lock(7033925)")
        config = Config()
        config.set_main_option("script_location", str(_MIGRATIONS))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def _check_file(path: Path) -> None:
    if not path.exists() or path.stat().st_size == 0:
        return
    problem = damage_of(path)
    if problem:
        backup = newest_sound_backup(path)
        raise _stop("books.damaged" if backup else "books.damaged-no-backup", str(path), reason=problem, backup=backup)


def damage_of(path: Path) -> str:
    """Return what is wrong with a SQLite file, or an empty text; quick, it reads pages but not every index."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as raw:
            answer = str(raw.execute("pragma quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as cause:
        return str(cause)
    return "" if answer == "ok" else answer.splitlines()[0]


def back_up(books: Books) -> Path | None:
    """Copy SQLite books while they are in use, and return the copy; None on a server, whose keeper does it.

    The copy lies in ``backups`` beside the file, named by the moment; it is looked over before it gets its name.

    Raises
    ------
    LedgerError
        The copy turned out damaged.
    """
    if books.path is None:
        return None
    folder = books.path.parent / _BACKUPS
    folder.mkdir(exist_ok=True)
    target = folder / f"{books.path.stem}-{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}.sqlite"
    unfinished = target.with_suffix(".unfinished")
    with closing(sqlite3.connect(books.path)) as source, closing(sqlite3.connect(unfinished)) as copy:
        source.backup(copy, pages=1024)
        copy.execute("pragma journal_mode=DELETE")
    problem = damage_of(unfinished)
    if problem:
        raise _stop("books.backup-damaged", str(unfinished), reason=problem)
    unfinished.rename(target)
    return target


def newest_sound_backup(path: Path) -> Path | None:
    """Return the newest backup of SQLite books that is not damaged itself, or None."""
    found = sorted((path.parent / _BACKUPS).glob(f"{path.stem}-*.sqlite"), reverse=True)
    return next((one for one in found if not damage_of(one)), None)


def restore(path: Path, backup: Path) -> Path:
    """Put a backup in the place of books, and return where the old file was put; nothing is thrown away.

    Raises
    ------
    LedgerError
        The backup is damaged.
    """
    problem = damage_of(backup) or ("" if backup.exists() else "missing")
    if problem:
        raise _stop("books.backup-damaged", str(backup), reason=problem)
    aside = path.with_name(f"{path.stem}-set-aside-{datetime.now(UTC):%Y%m%dT%H%M%S%fZ}.sqlite")
    for ending in ("", "-wal", "-shm"):
        old = path.with_name(path.name + ending)
        if old.exists():
            old.rename(aside.with_name(aside.name + ending))
    with closing(sqlite3.connect(f"file:{backup}?mode=ro", uri=True)) as source, closing(sqlite3.connect(path)) as copy:
        source.backup(copy)
    return aside


def _stop(code: str, where: str, **params: object) -> LedgerError:
    finding = Finding(code, Level.STOP, where, params)
    return LedgerError(finding.what, (finding,))
