"""Movements of metal: double entry, element by element, never edited, only reversed with a reason."""

from __future__ import annotations

import secrets
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import Connection

from pourwright.books.tables import LONGEST_NAME, OWN_KINDS, account, balance, entry, movement, owner
from pourwright.books.totals import Booked, keep_totals
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show

STUDIO = "studio"
# Movements that follow a certificate or a statement from outside: what is wrong there is put right by another paper.
_ON_PAPER = ("assayed", "settled")
_LONGEST_MARK = 64
# Nothing that a studio weighs is heavier: a hundred tonnes.
_MOST_MG = 100_000_000_000
_CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@dataclass(frozen=True)
class Leg:
    """One side of a movement: so much of each element into (or out of, if negative) an account."""

    account: str
    elements_mg: Mapping[str, int]


@dataclass(frozen=True)
class Movement:
    """A movement as booked. ``mark`` is its own name, given by who wrote it, so that writing twice books once."""

    number: int
    mark: str
    made_at: datetime
    made_by: str
    kind: str
    reason: str
    legs: tuple[Leg, ...]
    reverses: str = ""
    pour: str = ""


def new_mark(now: datetime | None = None) -> str:
    """Return a new mark that sorts by time: 48 bits of milliseconds, 80 of chance, in 26 letters and digits.

    References
    ----------
    The layout is the open ULID specification.
    """
    moment = now or datetime.now(UTC)
    number = (int(moment.timestamp() * 1000) << 80) | secrets.randbits(80)
    return "".join(_CROCKFORD[(number >> shift) & 31] for shift in range(125, -1, -5))


def know_owner(connection: Connection, owner_id: str, name: str = "") -> None:
    """Enter an owner if nobody has yet."""
    _refuse_long(owner_id)
    _insert_once(connection, owner, {"id": owner_id, "name": name or owner_id}, ["id"])


def know_account(connection: Connection, kind: str, name: str, owner_id: str = STUDIO) -> int:
    """Return the number of an account, entering it (and its owner) if it is new.

    Raises
    ------
    LedgerError
        An account of that name belongs to somebody else, or is of another kind.
    """
    _refuse_long(name)
    know_owner(connection, owner_id)
    _insert_once(connection, account, {"kind": kind, "name": name, "owner_id": owner_id}, ["name"])
    row = connection.execute(sa.select(account).where(account.c.name == name)).one()
    if (row.kind, row.owner_id) != (kind, owner_id):
        raise refused("books.account-other", name, kind=row.kind, owner=row.owner_id)
    return int(row.id)


def post(
    connection: Connection,
    kind: str,
    legs: Sequence[Leg],
    made_by: str,
    reason: str = "",
    mark: str = "",
    made_at: datetime | None = None,
    pour_id: str | None = None,
    reverses_number: int | None = None,
) -> str:
    """Book a movement.

    Parameters
    ----------
    connection : Connection
        Inside a transaction of :meth:`pourwright.books.store.Books.writing`.
    kind : str
        What happened: bought, poured, reversed ...
    legs : sequence of Leg
        Of every element they add up to zero.
    made_by, reason : str
        Who, and why.
    mark : str
        Its own name; one that is booked already is not booked again.
    made_at : datetime, optional
        When; now unless given.
    pour_id : str, optional
        The pour it belongs to.
    reverses_number : int, optional
        The movement that it takes back.

    Returns
    -------
    str
        The mark.

    Raises
    ------
    LedgerError
        The legs do not add up, an account is not known, or one would hold less than nothing.
    """
    mark = mark or new_mark(made_at)
    if was_booked(connection, mark):
        return mark
    _refuse_long(made_by, pour_id or "")
    _refuse_long(mark, longest=_LONGEST_MARK)
    sums = _net(legs)
    accounts = _accounts(connection, sorted({name for name, _ in sums}))
    when = made_at or datetime.now(UTC)
    number = connection.execute(
        movement.insert()
        .values(
            mark=mark,
            made_at=when,
            made_by=made_by,
            kind=kind,
            reason=reason,
            reverses_id=reverses_number,
            pour_id=pour_id,
        )
        .returning(movement.c.id)
    ).scalar_one()
    booked = [
        Booked(accounts[name].id, accounts[name].kind, accounts[name].owner_id, element, mass)
        for (name, element), mass in sorted(sums.items())
    ]
    if booked:
        _enter(connection, number, booked)
        keep_totals(connection, booked, kind, when)
        _refuse_below_nothing(connection, accounts)
    return mark


def was_booked(connection: Connection, mark: str) -> bool:
    """Return whether a movement of that mark is booked."""
    return connection.execute(sa.select(movement.c.id).where(movement.c.mark == mark)).first() is not None


def _refuse_long(*names: str, longest: int = LONGEST_NAME) -> None:
    """Refuse a name that no column holds; a file would keep it, a server would not."""
    for name in names:
        if len(name) > longest:
            raise refused("books.name-long", name[:longest], length=len(name), longest=longest)


def _net(legs: Sequence[Leg]) -> dict[tuple[str, str], int]:
    """Return each account's change of each element, after checking that nothing is made or lost."""
    sums: dict[tuple[str, str], int] = defaultdict(int)
    whole: dict[str, int] = defaultdict(int)
    for leg in legs:
        for element, mass_mg in leg.elements_mg.items():
            if abs(mass_mg) > _MOST_MG:
                raise refused("books.mass-absurd", leg.account, mass=f"{mass_mg // 10**9} t")
            sums[leg.account, element] += mass_mg
            whole[element] += mass_mg
    off = {element: mass for element, mass in whole.items() if mass}
    if off:
        element, mass_mg = min(off.items())
        raise refused("books.not-balanced", element, element=element, mass=show(mass_mg / 1000, "g", 3))
    return {key: mass for key, mass in sums.items() if mass}


def _accounts(connection: Connection, names: Sequence[str]) -> dict[str, sa.Row[tuple[object, ...]]]:
    rows = connection.execute(sa.select(account).where(account.c.name.in_(names))).all()
    found = {row.name: row for row in rows}
    missing = [name for name in names if name not in found]
    if missing:
        raise refused("books.account-unknown", missing[0], name=missing[0])
    return found


def _enter(connection: Connection, number: int, booked: Sequence[Booked]) -> None:
    connection.execute(
        entry.insert(),
        [
            {"movement_id": number, "account_id": one.account, "element": one.element, "mass_mg": one.mass_mg}
            for one in booked
        ],
    )


def _refuse_below_nothing(connection: Connection, accounts: Mapping[str, sa.Row[tuple[object, ...]]]) -> None:
    holding = {row.id: name for name, row in accounts.items() if row.kind in OWN_KINDS}
    below = connection.execute(
        sa.select(balance).where(balance.c.account_id.in_(holding), balance.c.mass_mg < 0).limit(1)
    ).first()
    if below:
        name = holding[below.account_id]
        lacking = show(-below.mass_mg / 1000, "g", 3)
        raise refused("books.not-enough", name, name=name, element=below.element, lacking=lacking)


def reverse(connection: Connection, mark: str, made_by: str, reason: str, new_mark_text: str = "") -> str:
    """Take a movement back by its mirror image; the first stays in the book.

    Raises
    ------
    LedgerError
        No such movement, it is taken back already, it is a reversal itself, no reason is given, it follows a paper
        from outside, or metal that it brought has been used since.
    """
    if not reason.strip():
        raise refused("books.no-reason", mark, mark=mark)
    found = movement_by(connection, mark)
    if found.reverses:
        raise refused("books.reverses-reversal", mark, mark=mark)
    if found.kind in _ON_PAPER:
        raise refused("books.reverse-paper", mark, mark=mark)
    taken = connection.execute(sa.select(movement.c.mark).where(movement.c.reverses_id == found.number)).scalar()
    if taken:
        raise refused("books.reversed-already", mark, mark=mark, by=taken)
    legs = [Leg(leg.account, {element: -mass for element, mass in leg.elements_mg.items()}) for leg in found.legs]
    return post(
        connection,
        "reversed",
        legs,
        made_by,
        reason,
        new_mark_text,
        pour_id=found.pour or None,
        reverses_number=found.number,
    )


def movement_by(connection: Connection, mark: str) -> Movement:
    """Return a movement by its mark.

    Raises
    ------
    LedgerError
        There is none.
    """
    row = connection.execute(sa.select(movement).where(movement.c.mark == mark)).first()
    if row is None:
        raise refused("books.movement-unknown", mark, mark=mark)
    return _read(connection, [row])[0]


def movements(
    connection: Connection, account_name: str = "", since_number: int = 0, most_count: int = 200
) -> tuple[Movement, ...]:
    """Return movements after a number, oldest first; those that touch an account, if one is named."""
    wanted = sa.select(movement).where(movement.c.id > since_number)
    if account_name:
        number = sa.select(account.c.id).where(account.c.name == account_name).scalar_subquery()
        touching = sa.select(entry.c.movement_id).where(
            entry.c.account_id == number, entry.c.movement_id > since_number
        )
        touching = touching.distinct().order_by(entry.c.movement_id).limit(most_count)
        wanted = wanted.where(movement.c.id.in_(connection.execute(touching).scalars().all()))
    return _read(connection, connection.execute(wanted.order_by(movement.c.id).limit(most_count)).all())


def _read(connection: Connection, rows: Sequence[sa.Row[tuple[object, ...]]]) -> tuple[Movement, ...]:
    numbers = [row.id for row in rows]
    lines = connection.execute(
        sa.select(entry.c.movement_id, account.c.name, entry.c.element, entry.c.mass_mg)
        .join(account, account.c.id == entry.c.account_id)
        .where(entry.c.movement_id.in_(numbers))
        .order_by(entry.c.movement_id, entry.c.account_id, entry.c.element)
    ).all()
    legs: dict[int, dict[str, dict[str, int]]] = defaultdict(lambda: defaultdict(dict))
    for number, name, element, mass_mg in lines:
        legs[number][name][element] = mass_mg
    back = [row.reverses_id for row in rows if row.reverses_id]
    marks = dict(connection.execute(sa.select(movement.c.id, movement.c.mark).where(movement.c.id.in_(back))).all())
    return tuple(
        Movement(
            row.id,
            row.mark,
            row.made_at,
            row.made_by,
            row.kind,
            row.reason,
            tuple(Leg(name, dict(elements)) for name, elements in legs[row.id].items()),
            marks.get(row.reverses_id, ""),
            row.pour_id or "",
        )
        for row in rows
    )


def held_mg(connection: Connection, account_name: str) -> dict[str, int]:
    """Return what an account holds of each element [mg], empty if nothing."""
    rows = connection.execute(
        sa.select(balance.c.element, balance.c.mass_mg)
        .join(account, account.c.id == balance.c.account_id)
        .where(account.c.name == account_name, balance.c.mass_mg != 0)
    ).all()
    return {row.element: int(row.mass_mg) for row in rows}


def sums_mg(connection: Connection) -> dict[str, int]:
    """Return, for every element, the sum of all entries [mg]: zero in books that are whole."""
    rows = connection.execute(sa.select(entry.c.element, sa.func.sum(entry.c.mass_mg)).group_by(entry.c.element))
    return {element: int(mass) for element, mass in rows}


def balances_off(connection: Connection) -> tuple[str, ...]:
    """Return the accounts whose kept balance is not the sum of their entries; none in books that are whole."""
    summed = (
        sa.select(entry.c.account_id, entry.c.element, sa.func.sum(entry.c.mass_mg).label("mass_mg"))
        .group_by(entry.c.account_id, entry.c.element)
        .subquery()
    )
    joined = balance.outerjoin(
        summed, (summed.c.account_id == balance.c.account_id) & (summed.c.element == balance.c.element)
    ).join(account, account.c.id == balance.c.account_id)
    off = connection.execute(
        sa.select(account.c.name)
        .select_from(joined)
        .where(balance.c.mass_mg != sa.func.coalesce(summed.c.mass_mg, 0))
        .distinct()
    )
    return tuple(off.scalars())


def refused(code: str, where: str, **params: object) -> LedgerError:
    """Return the error that says why nothing was booked."""
    finding = Finding(code, Level.STOP, where, params)
    return LedgerError(finding.what, (finding,))


def _insert_once(connection: Connection, table: sa.Table, values: Mapping[str, object], keys: Sequence[str]) -> None:
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    connection.execute(dialect.insert(table).values(**values).on_conflict_do_nothing(index_elements=list(keys)))
