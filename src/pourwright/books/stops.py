"""What is shut away and why: lots and crucibles after an odd melt, until a signed entry clears them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, held_mg, refused
from pourwright.books.lots import lots, set_quarantine
from pourwright.books.stock_tables import hold
from pourwright.books.tables import account, entry, lot, movement, pour

LOT, CRUCIBLE = "lot", "crucible"


@dataclass(frozen=True)
class Stop:
    """One entry.

    ``subject`` (``lot:L-0007``, ``crucible:CR-1``) was ``shut``, ``cleared`` or ``signed``
    over, by whom, when and why.
    """

    subject: str
    action: str
    reason: str
    made_at: datetime
    made_by: str
    pour: str = ""


def shut(
    connection: Connection,
    subject: str,
    reason: str,
    made_by: str,
    pour_id: str = "",
    made_at: datetime | None = None,
) -> None:
    """Shut a lot or a crucible away.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    subject : str
        ``lot:`` or ``crucible:`` and the id.
    reason, made_by : str
        Why, and who says so; both are needed.
    pour_id : str
        The melt in which it was noticed.
    made_at : datetime, optional
        When; now unless given.

    Raises
    ------
    LedgerError
        There is no such lot, or no reason is given.
    """
    _enter(connection, subject, "shut", reason, made_by, pour_id, made_at)
    kind, _, name = subject.partition(":")
    if kind == LOT:
        set_quarantine(connection, name, reason)


def clear(connection: Connection, subject: str, reason: str, made_by: str, made_at: datetime | None = None) -> None:
    """Let a lot or a crucible out again, by an entry that says who found what.

    Raises
    ------
    LedgerError
        It is not shut away, or no reason is given.
    """
    if not _is_shut(connection, subject):
        raise refused("books.not-shut", subject, subject=subject)
    _enter(connection, subject, "cleared", reason, made_by, "", made_at)
    kind, _, name = subject.partition(":")
    if kind == LOT:
        set_quarantine(connection, name, "")


def sign_over(
    connection: Connection, lot_id: str, reason: str, signed_by: str, made_at: datetime | None = None
) -> None:
    """Sign that an owner's lot, or one with solder, may go into anybody's charge.

    Raises
    ------
    LedgerError
        There is no such lot, no reason is given, or it needs nobody's signature.
    """
    found = lots(connection, [lot_id])
    if not found:
        raise refused("books.lot-unknown", lot_id, lot=lot_id)
    (one,) = found
    if (one.owner == STUDIO and not one.solder) or one.released_by:
        raise refused("books.lot-free", lot_id, lot=lot_id)
    _enter(connection, f"{LOT}:{lot_id}", "signed", reason, signed_by, "", made_at)
    connection.execute(lot.update().where(lot.c.id == lot_id).values(released_by=signed_by))


def _enter(
    connection: Connection,
    subject: str,
    action: str,
    reason: str,
    made_by: str,
    pour_id: str,
    made_at: datetime | None,
) -> None:
    if not reason.strip() or not made_by.strip():
        raise refused("books.stop-unsigned", subject, subject=subject)
    moment = made_at or datetime.now(UTC)
    connection.execute(
        hold.insert().values(
            subject=subject, action=action, reason=reason, made_at=moment, made_by=made_by, pour_id=pour_id
        )
    )


def _is_shut(connection: Connection, subject: str) -> bool:
    kind, _, name = subject.partition(":")
    if kind == LOT:
        return bool(connection.execute(sa.select(lot.c.quarantine).where(lot.c.id == name)).scalar())
    last = standing(connection).get(subject)
    return last is not None


def standing(connection: Connection) -> dict[str, Stop]:
    """Return what is shut away now, by subject, with the entry that shut it."""
    last = sa.select(sa.func.max(hold.c.id)).where(hold.c.action != "signed").group_by(hold.c.subject)
    rows = connection.execute(sa.select(hold).where(hold.c.id.in_(last), hold.c.action == "shut").order_by(hold.c.id))
    return {row.subject: _stop(row) for row in rows}


def stops_of(connection: Connection, subject: str) -> tuple[Stop, ...]:
    """Return all entries on a subject, oldest first."""
    rows = connection.execute(sa.select(hold).where(hold.c.subject == subject).order_by(hold.c.id))
    return tuple(_stop(row) for row in rows)


def _stop(row: sa.Row[tuple[object, ...]]) -> Stop:
    return Stop(row.subject, row.action, row.reason, row.made_at, row.made_by, row.pour_id)


def odd_melt(
    connection: Connection, pour_id: str, reason: str, made_by: str, made_at: datetime | None = None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Shut away the crucible of a pour and all metal that came back from it, also what was melted from that since.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    pour_id, reason, made_by : str
        Which melt, what was odd, and who saw it.
    made_at : datetime, optional
        When.

    Returns
    -------
    shut_away : tuple of str
        Subjects shut now; what was shut already is left as it is.
    suspects : tuple of str
        Lots that went into the melt and still hold metal: one of them may be the cause.

    Raises
    ------
    LedgerError
        No such pour, or no reason is given.
    """
    row = connection.execute(sa.select(pour).where(pour.c.id == pour_id)).first()
    if row is None:
        raise refused("books.pour-unknown", pour_id, pour=pour_id)
    lots_after, crucibles = _after(connection, pour_id, row.crucible)
    shut_before = standing(connection)
    subjects = [f"{CRUCIBLE}:{name}" for name in crucibles if name] + [f"{LOT}:{name}" for name in lots_after]
    now = [one for one in subjects if one not in shut_before]
    for subject in now:
        shut(connection, subject, reason, made_by, pour_id, made_at)
    used = _lots_into(connection, [pour_id])
    return tuple(now), tuple(name for name in used if name not in lots_after and _holds(connection, name))


def _after(connection: Connection, pour_id: str, crucible: str) -> tuple[list[str], list[str]]:
    """Return the lots that came from a pour or from later pours of such lots, and the crucibles of all these."""
    pours, crucibles, found = [pour_id], [crucible], list[str]()
    while pours:
        came = connection.execute(sa.select(lot.c.id).where(lot.c.provenance.in_(pours)).order_by(lot.c.id)).scalars()
        fresh = [one for one in came if one not in found]
        found += fresh
        later = _pours_of(connection, fresh)
        pours = [name for name, _ in later]
        crucibles += [name for _, name in later if name not in crucibles]
    return found, crucibles


def _pours_of(connection: Connection, lot_ids: Sequence[str]) -> list[tuple[str, str]]:
    """Return the pours that lots went into, with their crucibles."""
    if not lot_ids:
        return []
    names = [f"lot:{one}" for one in lot_ids]
    went = (
        sa.select(movement.c.pour_id)
        .join(entry, entry.c.movement_id == movement.c.id)
        .join(account, account.c.id == entry.c.account_id)
        .where(account.c.name.in_(names), entry.c.mass_mg < 0, movement.c.kind.in_(("poured", "aborted")))
    )
    rows = connection.execute(sa.select(pour.c.id, pour.c.crucible).where(pour.c.id.in_(went)).order_by(pour.c.id))
    return [(row.id, row.crucible) for row in rows]


def _lots_into(connection: Connection, pour_ids: Sequence[str]) -> list[str]:
    names = connection.execute(
        sa.select(account.c.name)
        .join(entry, entry.c.account_id == account.c.id)
        .join(movement, movement.c.id == entry.c.movement_id)
        .where(movement.c.pour_id.in_(pour_ids), account.c.kind == "lot", entry.c.mass_mg < 0)
        .where(movement.c.kind.in_(("poured", "aborted")))
        .distinct()
        .order_by(account.c.name)
    ).scalars()
    return [name.removeprefix("lot:") for name in names]


def _holds(connection: Connection, lot_id: str) -> bool:
    return sum(held_mg(connection, f"lot:{lot_id}").values()) > 0
