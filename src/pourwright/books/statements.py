"""Statements: what an owner's metal did over a span of days, and what a day's pours came to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.tables import account, entry, movement, pour


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
class Statement:
    """An owner's metal over a span: what there was before, each movement, and what there is after [mg by element]."""

    owner: str
    since: datetime
    until: datetime
    before_mg: dict[str, int]
    lines: tuple[StatementLine, ...]
    after_mg: dict[str, int]


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


_KINDS = ("lot", "piece")


def statement_of(connection: Connection, owner_id: str, since: datetime, until: datetime) -> Statement:
    """Return an owner's statement from a moment up to, not including, another."""
    own = (account.c.owner_id == owner_id) & account.c.kind.in_(_KINDS)
    before = _sums(connection, own & (movement.c.made_at < since))
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
        .join(entry, entry.c.movement_id == movement.c.id)
        .join(account, account.c.id == entry.c.account_id)
        .where(own, movement.c.made_at >= since, movement.c.made_at < until)
        .order_by(movement.c.made_at, movement.c.id, account.c.name, entry.c.element)
    )
    lines = tuple(StatementLine(*row[:7], row.pour_id or "") for row in rows)
    after = dict(before)
    for one in lines:
        after[one.element] = after.get(one.element, 0) + one.mass_mg
    return Statement(owner_id, since, until, before, lines, {name: mass for name, mass in after.items() if mass})


def _sums(connection: Connection, which: sa.ColumnElement[bool]) -> dict[str, int]:
    rows = connection.execute(
        sa.select(entry.c.element, sa.func.sum(entry.c.mass_mg))
        .join(movement, movement.c.id == entry.c.movement_id)
        .join(account, account.c.id == entry.c.account_id)
        .where(which)
        .group_by(entry.c.element)
    )
    return {element: int(mass) for element, mass in rows if mass}


def pours_of(connection: Connection, since: date, until: date) -> tuple[PourLine, ...]:
    """Return the pours of a span of days, both ends counted."""
    rows: Sequence[sa.Row[tuple[object, ...]]] = connection.execute(
        sa.select(pour).where(pour.c.day >= since, pour.c.day <= until).order_by(pour.c.day, pour.c.id)
    ).all()
    return tuple(
        PourLine(row.id, row.day, row.flask, row.alloy, row.state, row.charge_mg, row.loss_mg, row.explained)
        for row in rows
    )
