"""Files kept as they were, each under its hash: once, looked over when read, and found when damaged."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import Connection

from pourwright.books.ledger import refused
from pourwright.books.records.tables import kept_file
from pourwright.core.files import write_whole

_PICTURES = {".jpg": b"\xff\xd8\xff", ".jpeg": b"\xff\xd8\xff", ".png": b"\x89PNG\r\n\x1a\n", ".webp": b"RIFF"}
_ENDING = re.compile(r"\.[a-z0-9]{1,7}")
# A photograph of a phone has a few million bytes; more is a mistake.
_MOST_BYTES = 64 * 1024 * 1024
_LETTERS = 2


@dataclass(frozen=True)
class KeptFile:
    """A file as the books know it."""

    sha256: str
    ending: str
    bytes_count: int

    @property
    def name(self) -> str:
        """Hash and ending: never a name that somebody typed."""
        return self.sha256 + self.ending

    def path_in(self, studio: Path) -> Path:
        """Return where the file lies in a studio's folder: pictures under ``photos``, all else under ``records``."""
        home = "photos" if self.ending in _PICTURES else "records"
        return studio / home / self.sha256[:_LETTERS] / self.name


def keep(connection: Connection, studio: Path, content: bytes, name: str) -> KeptFile:
    """Keep a file: put it under its hash, once, and enter it.

    Parameters
    ----------
    connection : Connection
        Inside a transaction. A file whose entry is taken back stays where it is and harms nobody.
    studio : Path
        The studio's folder.
    content : bytes
        The whole file.
    name : str
        What it was called; only its ending is used.

    Raises
    ------
    LedgerError
        It is empty or far too large, or a picture that is none.
    """
    ending = Path(name).suffix.lower()
    ending = ending if _ENDING.fullmatch(ending) else ""
    if not content or len(content) > _MOST_BYTES:
        raise refused("books.file-size", name, size=len(content), most=_MOST_BYTES)
    if not content.startswith(_PICTURES.get(ending, b"")):
        raise refused("books.file-no-picture", name, ending=ending)
    one = KeptFile(hashlib.sha256(content).hexdigest(), ending, len(content))
    known = connection.execute(sa.select(kept_file).where(kept_file.c.sha256 == one.sha256)).first()
    if known:
        one = KeptFile(known.sha256, known.ending, known.bytes_count)
    if not known or problem_of(studio, one):  # a damaged one is mended by bringing it again
        put_file(studio, one, content)
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    connection.execute(
        dialect.insert(kept_file)
        .values(sha256=one.sha256, ending=one.ending, bytes_count=one.bytes_count)
        .on_conflict_do_nothing(index_elements=["sha256"])
    )
    return one


def put_file(studio: Path, one: KeptFile, content: bytes) -> None:
    """Write a file to its place, whole or not at all."""
    write_whole(one.path_in(studio), content)


def kept_files(connection: Connection) -> tuple[KeptFile, ...]:
    """Return all files that the books know, by their hash."""
    rows = connection.execute(sa.select(kept_file)).all()
    return tuple(sorted((KeptFile(*row) for row in rows), key=lambda one: one.sha256))


def kept_file_of(connection: Connection, sha256: str) -> KeptFile:
    """Return a file by its hash.

    Raises
    ------
    LedgerError
        The books know none.
    """
    row = connection.execute(sa.select(kept_file).where(kept_file.c.sha256 == sha256)).first()
    if row is None:
        raise refused("books.file-unknown", sha256, sha256=sha256)
    return KeptFile(*row)


def problem_of(studio: Path, one: KeptFile) -> str:
    """Return ``missing`` or ``damaged``, or an empty text for a file that is as it was."""
    try:
        content = one.path_in(studio).read_bytes()
    except OSError:
        return "missing"
    return "" if hashlib.sha256(content).hexdigest() == one.sha256 else "damaged"


def read_file(studio: Path, one: KeptFile) -> bytes:
    """Return a kept file, looked over first.

    Raises
    ------
    LedgerError
        It is missing, or not what it was.
    """
    problem = problem_of(studio, one)
    if problem == "missing":
        raise refused("books.file-missing", str(one.path_in(studio)))
    if problem:
        raise refused("books.file-damaged", str(one.path_in(studio)))
    return one.path_in(studio).read_bytes()


def check(connection: Connection, studio: Path) -> tuple[tuple[KeptFile, str], ...]:
    """Return the kept files that are missing or damaged, each with which of the two it is."""
    looked = ((one, problem_of(studio, one)) for one in kept_files(connection))
    return tuple((one, problem) for one, problem in looked if problem)
