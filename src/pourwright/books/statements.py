"""Statements: what an owner's metal and money did over a span, and what a day's pours came to."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection
from sqlalchemy.sql import operators

from pourwright.books.ledger import refused
from pourwright.books.purses import MoneyLine, owner_purse, purse_cents, purse_lines
from pourwright.books.tables import OWN_KINDS, account, day_total, entry, movement, owner, pour

_Value = TypeVar("_Value")
# An owner of more accounts than this is read by days, not by accounts.
_MANY_ACCOUNTS = 2000
_BLOCK_MOVEMENTS = 1000


@dataclass(frozen=True)
class StatementLine:
    """One movement of an owner's metal in or out of drawer and pieces; masses of one element, milligrams."""

    made_at: datetime
    kind: str
    account: str
    element: str
    mass_mg: int
    reason: str
    mark: str
    pour: str


@dataclass(frozen=True)
class KindTotal:
    """What movements of one kind brought in and took out of one element over a span [mg]."""

    kind: str
    element: str
    in_mg: int
    out_mg: int


@dataclass(frozen=True)
class Statement:
    """An owner's metal and money over a span.

    Parameters
    ----------
    owner, name : str
        Whose it is.
    since, until : datetime
        From the one up to, not including, the other.
    before_mg, after_mg : dict of str to int
        What there was and is of each element [mg].
    totals : tuple of KindTotal
        What came and went over the whole span, by kind of movement.
    lines : tuple of StatementLine
        Each movement, oldest first; perhaps not all.
    more : bool
        Whether lines were left out.
    money_before_cents, money_after_cents : int
        What the owner owed and owes, in hundredths; negative is a deposit still there.
    money_lines : tuple of MoneyLine
        Each entry of money, oldest first.
    """

    owner: str
    name: str
    since: datetime
    until: datetime
    before_mg: dict[str, int]
    totals: tuple[KindTotal, ...]
    lines: tuple[StatementLine, ...]
    more: bool
    after_mg: dict[str, int]
    money_before_cents: int
    money_lines: tuple[MoneyLine, ...]
    money_after_cents: int


@dataclass(frozen=True)
class PourLine:
    """One pour of a day: what went in and what was lost [mg]."""

    pour: str
    day: date
    flask: str
    alloy: str
    state: str
    charge_mg: int
    loss_mg: int
    explained: str


def statement_of(
    connection: Connection, owner_id: str, since: datetime, until: datetime, most_movements_count: int | None = None
) -> Statement:
    """Return an owner's statement from a moment up to, not including, another.

    Parameters
    ----------
    connection : Connection
        Reading.
    owner_id : str
        Whose.
    since, until : datetime
        The span.
    most_movements_count : int, optional
        Movements of metal after which it stops, as a page does; the totals are of the whole span anyway.

    Raises
    ------
    LedgerError
        Nobody of that name is in the books.
    """
    name = connection.execute(sa.select(owner.c.name).where(owner.c.id == owner_id)).scalar()
    if name is None:
        raise refused("books.owner-unknown", owner_id, owner=owner_id)
    before = _before(connection, owner_id, since)
    totals = _totals(connection, owner_id, since, until)
    after: dict[str, int] = defaultdict(int, before)
    for one in totals:
        after[one.element] += one.in_mg - one.out_mg
    lines, more = _lines(connection, owner_id, since, until, most_movements_count)
    purse = owner_purse(owner_id)
    money_lines = purse_lines(connection, purse, since, until)
    money_before = purse_cents(connection, purse, since)
    return Statement(
        owner_id,
        name,
        since,
        until,
        before,
        totals,
        lines,
        more,
        {element: mass for element, mass in sorted(after.items()) if mass},
        money_before,
        money_lines,
        money_before + sum(one.cents for one in money_lines),
    )


def _before(connection: Connection, owner_id: str, moment: datetime) -> dict[str, int]:
    """Return what an owner held before a moment [mg]: whole days from the totals, the rest from the entries."""
    held: dict[str, int] = defaultdict(int)
    whole = connection.execute(
        sa.select(day_total.c.element, sa.func.sum(day_total.c.in_mg - day_total.c.out_mg).label("mass_mg"))
        .where(day_total.c.owner_id == owner_id, day_total.c.day < _utc_day(moment))
        .group_by(day_total.c.element)
    )
    for row in whole:
        held[row.element] += int(row.mass_mg)
    for one in _summed(connection, owner_id, _midnight(moment), moment):
        held[one.element] += one.in_mg - one.out_mg
    return {element: mass for element, mass in sorted(held.items()) if mass}


def _totals(connection: Connection, owner_id: str, since: datetime, until: datetime) -> tuple[KindTotal, ...]:
    first = _midnight(since) + timedelta(days=0 if since == _midnight(since) else 1)
    last = _midnight(until)
    if first >= last:
        parts = [_summed(connection, owner_id, since, until)]
    else:
        parts = [
            _summed(connection, owner_id, since, first),
            _whole_days(connection, owner_id, first, last),
            _summed(connection, owner_id, last, until),
        ]
    masses: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for part in parts:
        for one in part:
            both = masses[one.kind, one.element]
            both[0] += one.in_mg
            both[1] += one.out_mg
    return tuple(KindTotal(*key, *both) for key, both in sorted(masses.items()))


def _whole_days(connection: Connection, owner_id: str, first: datetime, last: datetime) -> tuple[KindTotal, ...]:
    rows = connection.execute(
        sa.select(
            day_total.c.kind, day_total.c.element, sa.func.sum(day_total.c.in_mg), sa.func.sum(day_total.c.out_mg)
        )
        .where(day_total.c.owner_id == owner_id, day_total.c.day >= _utc_day(first), day_total.c.day < _utc_day(last))
        .group_by(day_total.c.kind, day_total.c.element)
    )
    return tuple(KindTotal(kind, element, int(in_mg), int(out_mg)) for kind, element, in_mg, out_mg in rows)


def _summed(connection: Connection, owner_id: str, since: datetime, until: datetime) -> tuple[KindTotal, ...]:
    """Return the totals of less than a day, from the entries."""
    if since >= until:
        return ()
    mass = entry.c.mass_mg
    rows = connection.execute(
        sa.select(
            movement.c.kind,
            entry.c.element,
            sa.func.sum(sa.case((mass > 0, mass), else_=0)),
            sa.func.sum(sa.case((mass < 0, -mass), else_=0)),
        )
        .select_from(_joined())
        .where(*_span(since, until), *_own(connection, owner_id, by_days=True))
        .group_by(movement.c.kind, entry.c.element)
    )
    return tuple(KindTotal(kind, element, int(in_mg), int(out_mg)) for kind, element, in_mg, out_mg in rows)


def _lines(
    connection: Connection, owner_id: str, since: datetime, until: datetime, most_count: int | None
) -> tuple[tuple[StatementLine, ...], bool]:
    touching = _touching(connection, owner_id, since, until)
    numbers = list(connection.execute(touching.limit(None if most_count is None else most_count + 1)).scalars())
    shown = numbers if most_count is None else numbers[:most_count]
    lines: list[StatementLine] = []
    for place in range(0, len(shown), _BLOCK_MOVEMENTS):
        rows = connection.execute(
            sa.select(
                movement.c.made_at,
                movement.c.kind,
                account.c.name,
                entry.c.element,
                entry.c.mass_mg,
                movement.c.reason,
                movement.c.mark,
                movement.c.pour_id,
            )
            .select_from(_joined())
            .where(
                movement.c.id.in_(shown[place : place + _BLOCK_MOVEMENTS]), *_own(connection, owner_id, by_days=True)
            )
            .order_by(movement.c.made_at, movement.c.id, account.c.name, entry.c.element)
        )
        lines += [StatementLine(*row[:7], row.pour_id or "") for row in rows]
    return tuple(lines), len(shown) < len(numbers)


def _touching(connection: Connection, owner_id: str, since: datetime, until: datetime) -> sa.Select[tuple[int]]:
    """Return the selection of the numbers of the movements of an owner's metal, in their order.

    Many accounts (the studio has a lot for each button) are asked movement by movement, few by their entries.
    """
    few = sa.select(account.c.id).where(account.c.owner_id == owner_id).limit(_MANY_ACCOUNTS).subquery()
    accounts_count = connection.execute(sa.select(sa.func.count()).select_from(few)).scalar_one()
    by_days = accounts_count >= _MANY_ACCOUNTS
    entered = entry.join(account, account.c.id == entry.c.account_id)
    own = _own(connection, owner_id, by_days)
    if by_days:
        one = sa.select(sa.literal(1)).select_from(entered).where(entry.c.movement_id == movement.c.id, *own)
        touches: sa.ColumnElement[bool] = sa.exists(one)
    else:
        touches = movement.c.id.in_(sa.select(entry.c.movement_id).select_from(entered).where(*own))
    return sa.select(movement.c.id).where(*_span(since, until), touches).order_by(movement.c.made_at, movement.c.id)


def _joined() -> sa.Join:
    return movement.join(entry, entry.c.movement_id == movement.c.id).join(account, account.c.id == entry.c.account_id)


def _span(since: datetime, until: datetime) -> tuple[sa.ColumnElement[bool], ...]:
    return movement.c.made_at >= since, movement.c.made_at < until


def _own(connection: Connection, owner_id: str, by_days: bool) -> tuple[sa.ColumnElement[bool], ...]:
    """Return the condition that metal is an owner's; by days, SQLite is kept from starting with the accounts."""
    column: sa.ColumnElement[str] = account.c.owner_id
    if by_days and connection.dialect.name == "sqlite":
        column = _beside_its_index(column)
    return column == owner_id, account.c.kind.in_(OWN_KINDS)


def _beside_its_index(column: sa.ColumnElement[_Value]) -> sa.ColumnElement[_Value]:
    """Return a column with the sign by which SQLite leaves its index alone."""
    return sa.sql.expression.UnaryExpression(column, operator=operators.custom_op("+"), type_=column.type)


def _midnight(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)


def _utc_day(moment: datetime) -> date:
    return moment.astimezone(UTC).date()


def owners(connection: Connection) -> tuple[str, ...]:
    """Return the ids of all owners."""
    return tuple(connection.execute(sa.select(owner.c.id).order_by(owner.c.id)).scalars())


def pours_of(connection: Connection, since: date, until: date) -> tuple[PourLine, ...]:
    """Return the pours of a span of days, both ends counted."""
    rows: Sequence[sa.Row[tuple[object, ...]]] = connection.execute(
        sa.select(pour).where(pour.c.day >= since, pour.c.day <= until).order_by(pour.c.day, pour.c.id)
    ).all()
    return tuple(
        PourLine(row.id, row.day, row.flask, row.alloy, row.state, row.charge_mg, row.loss_mg, row.explained)
        for row in rows
    )
