"""Sweeps sent to a refiner, and the settlement credited to owners by what they cast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, Leg, held_mg, know_account, post, refused
from pourwright.books.lots import NewLot, enter_lot, next_lot_id
from pourwright.books.masses import portions_mg
from pourwright.books.money import shares_of
from pourwright.books.pours import LOSS, SPILL
from pourwright.books.purses import METAL, TILL, cents_of, owner_purse, post_money
from pourwright.books.stock_tables import settlement, sweep
from pourwright.books.tables import account, entry, movement

_NUMBER_WIDTH = 4
_FINE, _FINE_FRAC, _REFINED = {"Ag": "fine-silver-999", "Au": "fine-gold-999"}, 0.999, "refined"


@dataclass(frozen=True)
class Sweep:
    """Sweepings sent away: gross weight with all dirt [mg], and the days whose loss they hold."""

    id: str
    refiner: str
    gross_mg: int
    since: date
    until: date
    sent_at: datetime
    sent_by: str
    note: str
    settled: bool


@dataclass(frozen=True)
class Settled:
    """What a settlement credited: metal [mg] or money by owner; lots made, and the marks of both movements."""

    cast_mg: Mapping[str, int]
    metal_mg: Mapping[str, int]
    lots: Mapping[str, str]
    money: Mapping[str, Decimal]
    mark: str
    money_mark: str


@dataclass(frozen=True)
class Return:
    """What the refiner's statement says.

    Parameters
    ----------
    recovered_mg : mapping of str to int
        Metal found in the sweepings, by element.
    paid : Decimal
        Money paid out, less the refiner's charge; below nothing where the charge is more. Metal that came back in kind
        is not paid.
    in_kind : bool
        Whether the metal came back.
    certificate, sha256 : str
        Name of the statement's file, and its hash.
    """

    recovered_mg: Mapping[str, int]
    paid: Decimal = Decimal(0)
    in_kind: bool = False
    certificate: str = ""
    sha256: str = ""


def send_sweep(
    connection: Connection,
    refiner: str,
    gross_mg: int,
    since: date,
    until: date,
    sent_by: str,
    note: str = "",
    made_at: datetime | None = None,
) -> str:
    """Note that sweepings went to a refiner, and return their number.

    Nothing moves yet: what is in them is still loss and spill of the book until the refiner says otherwise.

    Raises
    ------
    LedgerError
        They weigh nothing, or the days are the wrong way round.
    """
    if gross_mg <= 0 or until < since:
        raise refused("books.sweep-wrong", refiner, refiner=refiner)
    if connection.dialect.name == "postgresql":  # SQLite has one writer at a time anyway
        connection.exec_driver_sql("select pg_advisory_xact_lock(7033928)")
    ids = connection.execute(sa.select(sweep.c.id)).scalars()
    identity = f"S-{max((int(one[2:]) for one in ids), default=0) + 1:0{_NUMBER_WIDTH}d}"
    values = {"id": identity, "refiner": refiner, "gross_mg": gross_mg, "since": since, "until": until, "note": note}
    connection.execute(sweep.insert().values(**values, sent_at=made_at or datetime.now(UTC), sent_by=sent_by))
    return identity


def sweeps(connection: Connection) -> tuple[Sweep, ...]:
    """Return all sweeps sent, oldest first."""
    rows = connection.execute(
        sa.select(sweep, settlement.c.sweep_id)
        .outerjoin(settlement, settlement.c.sweep_id == sweep.c.id)
        .order_by(sweep.c.id)
    )
    return tuple(
        Sweep(
            row.id,
            row.refiner,
            row.gross_mg,
            row.since,
            row.until,
            row.sent_at,
            row.sent_by,
            row.note,
            row.sweep_id is not None,
        )
        for row in rows
    )


def settle(
    connection: Connection, sweep_id: str, came: Return, settled_by: str, made_at: datetime | None = None
) -> Settled:
    """Enter a refiner's settlement: the metal leaves loss and spill, its worth goes to owners by what they cast.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    sweep_id : str
        As :func:`send_sweep` returned it.
    came : Return
        The refiner's statement.
    settled_by : str
        Who enters it.
    made_at : datetime, optional
        When; now unless given.

    Returns
    -------
    Settled
        Shares by cast mass of the days of the sweep, largest remainder, ties by owner; they add up to the milligram
        and to the hundredth.

    Raises
    ------
    LedgerError
        No such sweep, it is settled, it holds nothing, or nobody cast anything in its days.
    """
    sent = next((one for one in sweeps(connection) if one.id == sweep_id), None)
    if sent is None:
        raise refused("books.sweep-unknown", sweep_id, sweep=sweep_id)
    if sent.settled:
        raise refused("books.sweep-settled", sweep_id, sweep=sweep_id)
    recovered = {name: mass for name, mass in came.recovered_mg.items() if mass}
    if any(mass < 0 for mass in recovered.values()) or (not recovered and not came.paid):
        raise refused("books.sweep-wrong", sweep_id, refiner=sent.refiner)
    cast_mg = cast_between(connection, sent.since, sent.until)
    if not cast_mg:
        raise refused("books.sweep-nobody", sweep_id, since=sent.since, until=sent.until)
    moment = made_at or datetime.now(UTC)
    legs = _out_of_loss(connection, recovered, sent.refiner)
    credit, made_lots, metal_mg = _in_kind(connection, sent, came, recovered, cast_mg)
    legs += credit if came.in_kind else [Leg(_outside(connection, sent.refiner), recovered)]
    mark = post(connection, "settled", legs, settled_by, sweep_id, made_at=moment)
    money, money_mark = _in_money(connection, sweep_id, came.paid, cast_mg, settled_by, mark, moment)
    connection.execute(
        settlement.insert().values(
            sweep_id=sweep_id,
            settled_at=moment,
            settled_by=settled_by,
            movement_mark=mark,
            money_mark=money_mark,
            certificate=came.certificate,
            sha256=came.sha256,
        )
    )
    return Settled(cast_mg, metal_mg, made_lots, money, mark, money_mark)


def cast_between(connection: Connection, since: date, until: date) -> dict[str, int]:
    """Return what each owner cast in days, both counted, in UTC [mg]; pours that were taken back do not count."""
    taken_back = sa.select(movement.c.reverses_id).where(movement.c.reverses_id.is_not(None))
    first = datetime.combine(since, time(), UTC)
    rows = connection.execute(
        sa.select(account.c.owner_id, sa.func.sum(entry.c.mass_mg).label("mass_mg"))
        .join(entry, entry.c.account_id == account.c.id)
        .join(movement, movement.c.id == entry.c.movement_id)
        .where(account.c.kind == "piece", movement.c.kind == "poured", movement.c.id.not_in(taken_back))
        .where(movement.c.made_at >= first, movement.c.made_at < datetime.combine(until, time(), UTC) + timedelta(1))
        .group_by(account.c.owner_id)
        .order_by(account.c.owner_id)
    )
    return {row.owner_id: int(row.mass_mg) for row in rows if row.mass_mg}


def _outside(connection: Connection, refiner: str) -> str:
    name = f"outside:{refiner}"
    know_account(connection, "outside", name)
    return name


def _out_of_loss(connection: Connection, recovered: Mapping[str, int], refiner: str) -> list[Leg]:
    """Take recovered metal from spill, then from loss; what the book never lost comes from outside."""
    know_account(connection, "spill", SPILL)
    know_account(connection, "loss", LOSS)
    left, legs = dict(recovered), []
    for name in (SPILL, LOSS):
        held = held_mg(connection, name)
        taken = {one: min(mass, max(held.get(one, 0), 0)) for one, mass in left.items()}
        legs.append(Leg(name, {one: -mass for one, mass in taken.items()}))
        left = {one: mass - taken[one] for one, mass in left.items()}
    return [*legs, Leg(_outside(connection, refiner), {one: -mass for one, mass in left.items()})]


def whole_shares(total: int, weights: Mapping[str, int]) -> dict[str, int]:
    """Divide a whole number by weight, largest remainder, ties by name; the shares add up to it."""
    return {name: int(share * 100) for name, share in shares_of(Decimal(total) / 100, weights).items()}


def _in_kind(
    connection: Connection, sent: Sweep, came: Return, recovered: Mapping[str, int], cast_mg: Mapping[str, int]
) -> tuple[list[Leg], dict[str, str], dict[str, int]]:
    """Make a lot of refined metal for each owner; nothing where the metal did not come back."""
    if not came.in_kind or not recovered:
        return [], {}, {}
    gross_mg = sum(recovered.values())
    metal_mg = {owner: share for owner, share in whole_shares(gross_mg, cast_mg).items() if share}
    portions = portions_mg(list(metal_mg.values()), recovered)
    noble = max(sorted(recovered), key=lambda name: recovered[name])
    shares = {name: mass / gross_mg for name, mass in recovered.items()}
    # What came back as one metal is fine metal, by its name no finer than that name promises.
    metal = _FINE.get(noble, _REFINED) if len(recovered) == 1 else _REFINED
    low = shares[noble] if metal == _REFINED else _FINE_FRAC
    legs, made = [], {}
    for (owner, _share), portion in zip(metal_mg.items(), portions, strict=True):
        new = NewLot(metal, shares, noble, low, shares[noble], owner, sent.id)
        made[owner] = next_lot_id(connection)
        enter_lot(connection, made[owner], new)
        legs.append(Leg(f"lot:{made[owner]}", portion))
    return legs, made, metal_mg


def _in_money(
    connection: Connection,
    sweep_id: str,
    paid: Decimal,
    cast_mg: Mapping[str, int],
    made_by: str,
    movement_mark: str,
    moment: datetime,
) -> tuple[dict[str, Decimal], str]:
    """Credit what was paid to the owners by what they cast; the studio's share stays in its metal."""
    if not paid:
        return {}, ""
    sign = -1 if paid < 0 else 1
    shares = {owner: sign * share for owner, share in shares_of(abs(paid), cast_mg).items()}
    cents = {
        METAL if owner == STUDIO else owner_purse(owner): -cents_of(share) for owner, share in shares.items() if share
    }
    cents[TILL] = cents_of(paid)
    mark = post_money(connection, "settled", cents, made_by, sweep_id, made_at=moment, movement_mark=movement_mark)
    return shares, mark
