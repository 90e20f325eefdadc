"""Taking a piece in: whose it is, its pattern by hash and weight, and the consent as it was shown."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import know_owner, new_mark, refused
from pourwright.books.records.entering import enter, known
from pourwright.books.records.files import keep
from pourwright.books.records.pieces import move
from pourwright.books.records.tables import intake, record
from pourwright.core.text import say

# The consent's own version; a test ties it to the words, so that nobody changes them without it.
CONSENT_VERSION = "1"
_CONSENT = ("one-chance", "may-fail", "metal-returns", "photos")
# What happens when the one chance fails; the words stand in the catalogue.
_RECAST = {
    "none": "books.recast-none",
    "studio-fault": "books.recast-studio-fault",
    "new-pattern": "books.recast-new-pattern",
}
RECAST_TERMS = tuple(_RECAST)
_SENTENCES = {
    "one-chance": "books.consent-one-chance",
    "may-fail": "books.consent-may-fail",
    "metal-returns": "books.consent-metal-returns",
    "photos": "books.consent-photos",
}
_PIECE = re.compile(r"\d{4}-\d{2}-\d{2}-P\d{2,}")


@dataclass(frozen=True)
class Consent:
    """What was agreed: the version and the words as they were shown, the terms of a recast, and who agreed."""

    version: str
    recast: str
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """The words as one text, as they are kept."""
        return "\n".join(self.lines) + "\n"


@dataclass(frozen=True)
class NewPiece:
    """What is known of a piece when it is taken in; ``pattern_mg`` is None when nobody weighed it."""

    piece: str
    owner: str
    title: str = ""
    material: str = ""
    pattern_mg: int | None = None
    pattern_name: str = ""
    pattern: bytes = b""


@dataclass(frozen=True)
class Intake:
    """A piece as it was taken in."""

    piece: str
    owner: str
    title: str
    material: str
    pattern_mg: int | None
    pattern_sha256: str
    recast: str
    agreed_by: str
    consent_version: str
    consent_sha256: str
    happened_at: datetime
    made_by: str
    mark: str


def consent(recast: str) -> Consent:
    """Return the words to be shown before a piece is taken in.

    Raises
    ------
    LedgerError
        There are no such terms of a recast.
    """
    if recast not in _RECAST:
        raise refused("books.recast-unknown", recast, recast=recast, terms=", ".join(RECAST_TERMS))
    return Consent(CONSENT_VERSION, recast, (*(say(_SENTENCES[one]) for one in _CONSENT), say(_RECAST[recast])))


def take_piece_in(
    connection: Connection,
    studio: Path,
    new: NewPiece,
    shown: Consent,
    agreed_by: str,
    made_by: str,
    happened_at: datetime | None = None,
    mark: str = "",
) -> str:
    """Take a piece in with the consent of whoever brings it, and return the mark.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    studio : Path
        Where files are kept.
    new : NewPiece
        The piece.
    shown : Consent
        The words as they were shown.
    agreed_by : str
        Who agreed to them.
    made_by, happened_at, mark
        As for :func:`pourwright.books.records.entering.enter`.

    Raises
    ------
    LedgerError
        Nobody agreed; the id is not a day and a number, or taken; a pattern weighs nothing.
    """
    mark = mark or new_mark()
    if known(connection, mark):
        return mark
    _check(connection, new, agreed_by)
    know_owner(connection, new.owner)
    text = keep(connection, studio, shown.text.encode(), "consent.txt")
    pattern = keep(connection, studio, new.pattern, new.pattern_name) if new.pattern_name else None
    row = {
        "piece": new.piece,
        "owner_id": new.owner,
        "title": new.title,
        "material": new.material,
        "pattern_mg": new.pattern_mg,
        "pattern_sha256": pattern.sha256 if pattern else None,
        "recast": shown.recast,
        "agreed_by": agreed_by,
        "consent_version": shown.version,
        "consent_sha256": text.sha256,
    }
    enter(connection, "intake", new.piece, made_by, intake, row, happened_at, mark=mark)
    move(connection, new.piece, "received", made_by, happened_at=happened_at, mark=f"{mark}:received")
    return mark


def _check(connection: Connection, new: NewPiece, agreed_by: str) -> None:
    if not agreed_by.strip():
        raise refused("books.intake-no-consent", new.piece, piece=new.piece)
    if not _PIECE.fullmatch(new.piece):
        raise refused("books.intake-id", new.piece, piece=new.piece)
    if new.pattern_mg is not None and new.pattern_mg <= 0:
        raise refused("books.intake-weightless", new.piece, piece=new.piece)
    if connection.execute(sa.select(intake.c.piece).where(intake.c.piece == new.piece)).first():
        raise refused("books.intake-known", new.piece, piece=new.piece)


def intake_of(connection: Connection, piece: str) -> Intake:
    """Return what was written when a piece was taken in.

    Raises
    ------
    LedgerError
        Nobody took it in.
    """
    found = intakes(connection, (piece,))
    if not found:
        raise refused("books.piece-unknown", piece, piece=piece)
    return found[0]


def intakes(connection: Connection, pieces: tuple[str, ...] = ()) -> tuple[Intake, ...]:
    """Return pieces as they were taken in, by id; all if none is named."""
    wanted = (
        sa.select(
            intake.c.piece,
            intake.c.owner_id,
            intake.c.title,
            intake.c.material,
            intake.c.pattern_mg,
            sa.func.coalesce(intake.c.pattern_sha256, ""),
            intake.c.recast,
            intake.c.agreed_by,
            intake.c.consent_version,
            intake.c.consent_sha256,
            record.c.happened_at,
            record.c.made_by,
            record.c.mark,
        )
        .join(record, record.c.id == intake.c.record_id)
        .order_by(intake.c.piece)
    )
    rows = connection.execute(wanted.where(intake.c.piece.in_(pieces)) if pieces else wanted)
    return tuple(Intake(*tuple(row)) for row in rows)
