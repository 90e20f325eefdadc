"""Metal sent to be assayed, and what came back: a result narrows a composition and is never edited."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import Leg, held_mg, know_account, post, refused
from pourwright.books.lots import REFUSED_METALS, TRACE_FRAC
from pourwright.books.masses import UNKNOWN, portions_mg, split_mg, to_ppm
from pourwright.books.stock_tables import assay, assay_result
from pourwright.books.stops import shut
from pourwright.books.tables import account, lot, lot_element

# Where metal of another composition goes to and comes from when a result moves it: gross in is gross out.
REASSIGNED = "outside:assay"
_NUMBER_WIDTH = 4


@dataclass(frozen=True)
class Result:
    """What an assay says.

    Parameters
    ----------
    element : str
        The noble metal.
    low_frac, high_frac : float
        Its share, with the doubt of the method.
    reported_on : date
        On the certificate.
    others_frac : mapping of str to float
        Shares of other elements, if the report gives them; what is left over is shared as before, or is copper where
        nothing was known.
    method, struck : str
        How it was assayed, and which marks were struck on a piece.
    certificate, sha256 : str
        Name of the certificate's file, and its hash.
    """

    element: str
    low_frac: float
    high_frac: float
    reported_on: date
    others_frac: Mapping[str, float] = field(default_factory=dict)
    method: str = ""
    struck: str = ""
    certificate: str = ""
    sha256: str = ""


@dataclass(frozen=True)
class Assay:
    """A submission with its result, if it came back; ``subject`` is ``lot:...`` or ``piece:...``."""

    id: str
    subject: str
    office: str
    sample_mg: int
    sent_at: datetime
    sent_by: str
    note: str
    result: Result | None = None


@dataclass(frozen=True)
class Entered:
    """What a result did: its movement, whether it lies outside the range held before, and poison that it found."""

    mark: str
    outside_range: bool
    poison: tuple[str, ...]


def send(
    connection: Connection,
    subject: str,
    office: str,
    sent_by: str,
    sample_mg: int = 0,
    note: str = "",
    made_at: datetime | None = None,
) -> str:
    """Send a lot or a piece to be assayed, and return the number of the submission.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    subject : str
        ``lot:`` or ``piece:`` and the id.
    office, sent_by, note : str
        Where to, by whom, and what should be remembered.
    sample_mg : int
        What is taken off for good; it goes out of the books with this.
    made_at : datetime, optional
        When; now unless given.

    Raises
    ------
    LedgerError
        There is no such lot or piece, it is out already, or it holds less than the sample.
    """
    known = connection.execute(sa.select(account.c.kind).where(account.c.name == subject)).scalar()
    if known not in ("lot", "piece"):
        raise refused("books.assay-subject", subject, subject=subject)
    out = next((one for one in assays(connection, subject) if one.result is None), None)
    if out:
        raise refused("books.assay-out", subject, subject=subject, assay=out.id, office=out.office)
    moment = made_at or datetime.now(UTC)
    identity = _next_id(connection)
    if sample_mg:
        _take_sample(connection, subject, office, sample_mg, sent_by, identity, moment)
    values = {"id": identity, "subject": subject, "office": office, "sample_mg": sample_mg}
    connection.execute(assay.insert().values(**values, sent_at=moment, sent_by=sent_by, note=note))
    return identity


def _take_sample(
    connection: Connection, subject: str, office: str, sample_mg: int, made_by: str, identity: str, moment: datetime
) -> None:
    there = held_mg(connection, subject)
    gross_mg = sum(there.values())
    if not 0 < sample_mg <= gross_mg:
        raise refused("books.assay-sample", subject, subject=subject)
    outside = f"outside:{office}"
    know_account(connection, "outside", outside)
    part = portions_mg([sample_mg, gross_mg - sample_mg], there)[0]
    less = {name: -mass for name, mass in part.items()}
    post(connection, "assay sample", [Leg(subject, less), Leg(outside, part)], made_by, identity, made_at=moment)


def _next_id(connection: Connection) -> str:
    if connection.dialect.name == "postgresql":  # SQLite has one writer at a time anyway
        connection.exec_driver_sql("select pg_advisory_xact_lock(7033927)")
    ids = connection.execute(sa.select(assay.c.id)).scalars()
    return f"A-{max((int(one[2:]) for one in ids), default=0) + 1:0{_NUMBER_WIDTH}d}"


def enter_result(
    connection: Connection, assay_id: str, result: Result, entered_by: str, made_at: datetime | None = None
) -> Entered:
    """Enter what an assay found: the lot's range becomes that of the assay, and its elements follow.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    assay_id : str
        As :func:`send` returned it.
    result : Result
        As on the certificate.
    entered_by : str
        Who enters it.
    made_at : datetime, optional
        When; now unless given.

    Raises
    ------
    LedgerError
        No such submission, it has a result, or its shares cannot be.
    """
    sent = next((one for one in assays(connection) if one.id == assay_id), None)
    if sent is None:
        raise refused("books.assay-unknown", assay_id, assay=assay_id)
    if sent.result is not None:
        raise refused("books.assay-known", assay_id, assay=assay_id)
    _check(assay_id, result)
    there = held_mg(connection, sent.subject)
    shares = _shares_ppm(result, _before(connection, sent.subject, there))
    moment = made_at or datetime.now(UTC)
    mark = _move(connection, sent.subject, there, shares, entered_by, assay_id, moment)
    outside_range = _narrow(connection, sent.subject, result, shares)
    low_ppm, high_ppm = _ends_ppm(result)
    connection.execute(
        assay_result.insert().values(
            assay_id=assay_id,
            element=result.element,
            low_ppm=low_ppm,
            high_ppm=high_ppm,
            method=result.method,
            struck=result.struck,
            certificate=result.certificate,
            sha256=result.sha256,
            reported_on=result.reported_on,
            entered_at=moment,
            entered_by=entered_by,
            movement_mark=mark,
        )
    )
    poison = tuple(name for name in REFUSED_METALS if result.others_frac.get(name, 0.0) > TRACE_FRAC)
    if poison and sent.subject.startswith("lot:"):
        shut(connection, sent.subject, f"{assay_id}: {', '.join(poison)}", entered_by, made_at=moment)
    return Entered(mark, outside_range, poison)


def _check(assay_id: str, result: Result) -> None:
    low, high = result.low_frac, result.high_frac
    if not 0 <= low <= high <= 1 or any(share < 0 for share in result.others_frac.values()):
        raise refused("books.assay-shares", assay_id, assay=assay_id)
    if (low + high) / 2 + sum(result.others_frac.values()) > 1 + 1e-9 or result.element in result.others_frac:
        raise refused("books.assay-shares", assay_id, assay=assay_id)


def _ends_ppm(result: Result) -> tuple[int, int]:
    return round(result.low_frac * 1e6), round(result.high_frac * 1e6)


def _before(connection: Connection, subject: str, there: Mapping[str, int]) -> dict[str, float]:
    """Return the shares held to before: those of the lot's row, or of what a piece holds; nothing if unknown."""
    kind, _, name = subject.partition(":")
    wanted = sa.select(lot_element.c.element, lot_element.c.share_ppm).where(lot_element.c.lot_id == name)
    rows = connection.execute(wanted).all() if kind == "lot" else []
    parts = {row.element: float(row.share_ppm) for row in rows} or {one: float(mass) for one, mass in there.items()}
    return {} if UNKNOWN in parts else parts


def _shares_ppm(result: Result, before: Mapping[str, float]) -> dict[str, int]:
    """Return the shares after the result; what it does not name keeps its proportions, or counts as copper."""
    best = (result.low_frac + result.high_frac) / 2
    named = {result.element: best, **result.others_frac}
    rest = {name: part for name, part in before.items() if name not in named}
    left, whole = max(0.0, 1.0 - sum(named.values())), sum(rest.values())
    if whole > 0:
        others = {name: left * part / whole for name, part in rest.items()}
    else:
        others = {"Cu": named.get("Cu", 0.0) + left} if left > 0 else {}
    return to_ppm({**named, **others})


def _move(
    connection: Connection,
    subject: str,
    there: Mapping[str, int],
    shares: Mapping[str, int],
    made_by: str,
    assay_id: str,
    moment: datetime,
) -> str:
    """Move what the subject still holds from the old elements to the new ones; its gross stays to the milligram."""
    know_account(connection, "outside", REASSIGNED)
    after = split_mg(sum(there.values()), shares)
    change = {name: after.get(name, 0) - there.get(name, 0) for name in {*after, *there}}
    back = {name: -mass for name, mass in change.items()}
    legs = [Leg(subject, change), Leg(REASSIGNED, back)]
    return post(connection, "assayed", legs, made_by, assay_id, made_at=moment)


def _narrow(connection: Connection, subject: str, result: Result, shares: Mapping[str, int]) -> bool:
    """Write the range and the shares of a lot, and return whether the result lies outside the range held before."""
    kind, _, name = subject.partition(":")
    if kind != "lot":
        return False
    row = connection.execute(sa.select(lot).where(lot.c.id == name)).one()
    low_ppm, high_ppm = _ends_ppm(result)
    outside = row.noble == result.element and (high_ppm < row.share_low_ppm or low_ppm > row.share_high_ppm)
    connection.execute(
        lot.update()
        .where(lot.c.id == name)
        .values(noble=result.element, share_low_ppm=low_ppm, share_high_ppm=high_ppm, certain=True)
    )
    connection.execute(lot_element.delete().where(lot_element.c.lot_id == name))
    rows = [{"lot_id": name, "element": one, "share_ppm": share} for one, share in shares.items()]
    connection.execute(lot_element.insert(), rows)
    return bool(outside)


def assays(connection: Connection, subject: str = "") -> tuple[Assay, ...]:
    """Return all submissions with their results, or those of one subject, oldest first."""
    wanted = sa.select(assay, assay_result).outerjoin(assay_result, assay_result.c.assay_id == assay.c.id)
    wanted = wanted.where(assay.c.subject == subject) if subject else wanted
    rows = connection.execute(wanted.order_by(assay.c.sent_at, assay.c.id))
    return tuple(
        Assay(
            row.id,
            row.subject,
            row.office,
            row.sample_mg,
            row.sent_at,
            row.sent_by,
            row.note,
            _result(row) if row.assay_id else None,
        )
        for row in rows
    )


def _result(row: sa.Row[tuple[object, ...]]) -> Result:
    return Result(
        row.element,
        row.low_ppm / 1e6,
        row.high_ppm / 1e6,
        row.reported_on,
        {},
        row.method,
        row.struck,
        row.certificate,
        row.sha256,
    )
