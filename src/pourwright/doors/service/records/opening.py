"""What every command on records needs: the studio's folder, its clock, moments as typed."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from pourwright.books import store
from pourwright.core.findings import Finding, Level, stops
from pourwright.doors.service.books.opening import BookAnswer, refused, studio_of, with_books
from pourwright.doors.service.variables import STUDIO_VARIABLE

_STUDIO_FILE = "studio.toml"
Work = Callable[["Room"], BookAnswer]


class Room:
    """Open books with a transaction, the studio's folder where files lie, and the studio's clock."""

    def __init__(self, connection: store.Transaction, studio: Path) -> None:
        self.connection = connection
        self.studio = studio
        self.zone = zone_of(studio)

    def shown(self, moment: datetime) -> str:
        """Return a moment by the studio's clock."""
        return f"{moment.astimezone(ZoneInfo(self.zone)):%Y-%m-%d %H:%M}"


def zone_of(studio: Path) -> str:
    """Return the zone of the studio's clock, UTC where no studio file says otherwise."""
    for folder in (studio, Path(os.environ.get(STUDIO_VARIABLE) or ".")):
        try:
            zone = str(tomllib.loads((folder / _STUDIO_FILE).read_text("utf-8")).get("zone", "UTC"))
            ZoneInfo(zone)
        except (OSError, ValueError, LookupError):
            continue
        return zone
    return "UTC"


def writing(told: str, work: Work, found: tuple[Finding, ...] = (), must_exist: bool = True) -> BookAnswer:
    """Do a piece of work in one transaction, unless what was typed stops it."""
    if stops(found):
        return BookAnswer({}, "", found)

    def open_and_work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            return work(Room(connection, studio_of(books)))

    return _with(with_books(told, open_and_work, must_exist), found)


def reading(told: str, work: Work, found: tuple[Finding, ...] = ()) -> BookAnswer:
    """Look at one state of the books, unless what was typed stops it."""
    if stops(found):
        return BookAnswer({}, "", found)

    def open_and_work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            return work(Room(connection, studio_of(books)))

    return _with(with_books(told, open_and_work), found)


def _with(answer: BookAnswer, found: tuple[Finding, ...]) -> BookAnswer:
    return BookAnswer(answer.document, answer.text, (*found, *answer.findings)) if found else answer


def moment(text: str, zone: str, where: str = "--at") -> datetime | None:
    """Return a moment as typed by the studio's clock, in UTC; None for an empty text.

    Parameters
    ----------
    text : str
        Such as ``2026-12-05 10:04``, or with its offset ``2026-12-05T10:04+01:00``.
    zone : str
        Of the studio's clock.
    where : str
        For the message.

    Raises
    ------
    LedgerError
        It is no moment, or one that the clock showed twice or never because it was set that night.
    """
    if not text.strip():
        return None
    try:
        read = datetime.fromisoformat(text.strip())
    except ValueError:
        raise refused("doors.record-moment", where, text=text) from None
    if read.tzinfo is not None:
        return read.astimezone(UTC)
    here = read.replace(tzinfo=ZoneInfo(zone))
    if here.utcoffset() != here.replace(fold=1).utcoffset():
        raise refused("doors.record-moment-unclear", where, text=text, zone=zone)
    return here.astimezone(UTC)


def file_content(path: Path, found: list[Finding]) -> bytes:
    """Return a file's content; one that cannot be read goes to ``found``."""
    try:
        return path.read_bytes()
    except OSError as problem:
        reason = str(problem.strerror or problem)
        found.append(Finding("doors.record-file", Level.STOP, str(path), {"reason": reason}))
        return b""
