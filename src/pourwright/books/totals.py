"""Totals kept beside the entries, in the same transaction, so that a page need not add up a year of them.

Three tables, all of them sums over entries: what each account holds, what each owner has in each kind of account, and
what went into and out of each owner's drawer and pieces on each day (in UTC). A check compares them with the entries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

import sqlalchemy as sa
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.engine import Connection

from pourwright.books.tables import OWN_KINDS, account, balance, day_total, entry, holding, movement

TOTALS = (balance, holding, day_total)


@dataclass(frozen=True)
class Booked:
    """One entry of a movement, with the kind and the owner of its account."""

    account: int
    kind: str
    owner: str
    element: str
    mass_mg: int


def keep_totals(connection: Connection, booked: Sequence[Booked], movement_kind: str, made_at: datetime) -> None:
    """Add a movement to the totals."""
    day = made_at.astimezone(UTC).date()
    _add(
        connection,
        balance,
        (({"account_id": one.account, "element": one.element, "kind": one.kind}, (one.mass_mg,)) for one in booked),
    )
    _add(
        connection,
        holding,
        (({"owner_id": one.owner, "kind": one.kind, "element": one.element}, (one.mass_mg,)) for one in booked),
    )
    _add(
        connection,
        day_total,
        (
            (
                {"owner_id": one.owner, "day": day, "kind": movement_kind, "element": one.element},
                (max(one.mass_mg, 0), max(-one.mass_mg, 0)),
            )
            for one in booked
            if one.kind in OWN_KINDS
        ),
    )


def _add(
    connection: Connection, table: sa.Table, changes: Iterable[tuple[Mapping[str, object], tuple[int, ...]]]
) -> None:
    """Add to the sums of a table; rows are touched in one order, so writers on a server wait in a line."""
    sums = [column.name for column in table.columns if column.name.endswith("_mg")]
    keys = [column.name for column in table.primary_key.columns]
    added: dict[tuple[object, ...], list[int]] = defaultdict(lambda: [0] * len(sums))
    rows: dict[tuple[object, ...], Mapping[str, object]] = {}
    for row, masses in changes:
        key = tuple(row[name] for name in keys)
        rows[key] = row
        added[key] = [old + mass for old, mass in zip(added[key], masses, strict=True)]
    if not rows:
        return
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    change = dialect.insert(table)
    change = change.on_conflict_do_update(
        index_elements=keys, set_={name: table.c[name] + change.excluded[name] for name in sums}
    )
    in_order = sorted(rows, key=lambda key: [str(one) for one in key])
    connection.execute(change, [{**rows[key], **dict(zip(sums, added[key], strict=True))} for key in in_order])


def rebuild_totals(connection: Connection) -> None:
    """Fill the totals, which are empty, from the entries."""
    for table, summed in zip(TOTALS, _summed(connection), strict=True):
        connection.execute(table.insert().from_select([column.name for column in table.columns], summed))


def totals_off(connection: Connection) -> tuple[str, ...]:
    """Return the tables of totals that are not the sums of the entries; none in books that are whole."""
    off = []
    for table, summed in zip(TOTALS, _summed(connection), strict=True):
        kept = sa.select(table)
        if any(connection.execute(one.limit(1)).first() for one in (summed.except_(kept), kept.except_(summed))):
            off.append(table.name)
    return tuple(off)


def _summed(connection: Connection) -> tuple[sa.Select[tuple[object, ...]], ...]:
    """Return the selections that the three tables are the results of, their columns in the tables' order."""
    mass = entry.c.mass_mg
    joined = entry.join(account, account.c.id == entry.c.account_id)
    day = (
        sa.cast(sa.func.timezone("UTC", movement.c.made_at), sa.Date)
        if connection.dialect.name == "postgresql"
        else sa.func.date(movement.c.made_at)
    )
    return (
        sa.select(entry.c.account_id, entry.c.element, sa.func.sum(mass), account.c.kind)
        .select_from(joined)
        .group_by(entry.c.account_id, entry.c.element, account.c.kind),
        sa.select(account.c.owner_id, account.c.kind, entry.c.element, sa.func.sum(mass))
        .select_from(joined)
        .group_by(account.c.owner_id, account.c.kind, entry.c.element),
        sa.select(
            account.c.owner_id,
            day.label("day"),
            movement.c.kind,
            entry.c.element,
            sa.func.sum(sa.case((mass > 0, mass), else_=0)),
            sa.func.sum(sa.case((mass < 0, -mass), else_=0)),
        )
        .select_from(joined.join(movement, movement.c.id == entry.c.movement_id))
        .where(account.c.kind.in_(OWN_KINDS))
        .group_by(account.c.owner_id, sa.text("day"), movement.c.kind, entry.c.element),
    )


def owner_mg(connection: Connection) -> dict[str, dict[str, int]]:
    """Return what each owner holds in drawer and pieces, of each element [mg]."""
    rows = connection.execute(
        sa.select(holding.c.owner_id, holding.c.element, sa.func.sum(holding.c.mass_mg).label("mass_mg"))
        .where(holding.c.kind.in_(OWN_KINDS))
        .group_by(holding.c.owner_id, holding.c.element)
    ).all()
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for row in rows:
        if row.mass_mg:
            found[row.owner_id][row.element] = int(row.mass_mg)
    return dict(found)


def kept_sums_mg(connection: Connection) -> dict[str, int]:
    """Return, for every element, the sum over all owners and kinds of account [mg]: zero in books that are whole."""
    rows = connection.execute(sa.select(holding.c.element, sa.func.sum(holding.c.mass_mg)).group_by(holding.c.element))
    return {element: int(mass) for element, mass in rows}
