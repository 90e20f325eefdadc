"""A pour in the book: lots go in, castings, button, scrap, spill and loss come out, to the milligram."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, Leg, know_account, post, refused
from pourwright.books.lots import Lot, NewLot, elements_of, enter_lot, lots, next_lot_id
from pourwright.books.masses import portions_mg
from pourwright.books.stops import CRUCIBLE, standing
from pourwright.books.supplies import use_for_pour
from pourwright.books.tables import pour
from pourwright.core.units import show

LOSS = "loss:melt"
SPILL = "spill:floor"


@dataclass(frozen=True)
class Casting:
    """A piece that came out: its id, whose it is, and what it weighs."""

    piece: str
    owner: str
    mass_mg: int


@dataclass(frozen=True)
class Poured:
    """A pour as it was weighed.

    Parameters
    ----------
    id : str
        For example ``2026-03-14-F2``.
    day : date
        Of the pour.
    alloy, flask, noble : str
        What it was, in which steel flask, and the element of its fineness.
    used_mg : mapping of str to int
        What was put on the pan of each lot.
    castings : sequence of Casting
        Pieces.
    button_mg, scrap_mg, spill_mg : int
        Button with sprue, other scrap, and metal found spilt.
    scales_mg : int
        How far all weighings together may be off: within that the loss needs no explaining.
    expected_loss_mg : int
        What a melt of this size commonly loses.
    explained : str
        Why more (or less) is missing than that, if it is.
    state : str
        ``poured``, or ``aborted`` when the metal never reached the flask.
    crucible : str
        In which it was melted, if anybody wrote it down.
    supplies : mapping of str to int
        What it used up of a supply where that is not the usual amount, in thousandths of the supply's unit.
    """

    id: str
    day: date
    alloy: str
    noble: str
    used_mg: Mapping[str, int]
    castings: Sequence[Casting] = ()
    button_mg: int = 0
    scrap_mg: int = 0
    spill_mg: int = 0
    scales_mg: int = 0
    expected_loss_mg: int = 0
    explained: str = ""
    flask: str = ""
    state: str = "poured"
    crucible: str = ""
    supplies: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class BookedPour:
    """What booking a pour gave: the movement, the loss, and the lots that its button and scrap became."""

    mark: str
    loss_mg: int
    button_lot: str = ""
    scrap_lot: str = ""
    melt_mg: Mapping[str, int] = field(default_factory=dict)


def book_pour(
    connection: Connection,
    poured: Poured,
    made_by: str,
    owners: Sequence[str] = (),
    mark: str = "",
    made_at: datetime | None = None,
) -> BookedPour:
    """Book a pour whole.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    poured : Poured
        As weighed.
    made_by : str
        Who weighed.
    owners : sequence of str
        Whose pieces it casts, besides those of the castings. Metal of an owner is for that owner's pieces only, until
        somebody has signed; the studio's is for all.
    mark : str
        As for :func:`pourwright.books.ledger.post`; a pour booked under it already is not booked again.
    made_at : datetime, optional
        When.

    Raises
    ------
    LedgerError
        A lot or the crucible is shut away; a lot is unknown, somebody else's, soldered, or holds too little; more came
        out than went in; or the loss is not explained. Nothing is booked then.
    """
    known = connection.execute(sa.select(pour).where(pour.c.id == poured.id)).first()
    if known:
        raise refused("books.pour-known", poured.id, pour=poured.id)
    _refuse_crucible(connection, poured.crucible)
    used = _usable(connection, poured, {*owners, *(one.owner for one in poured.castings)})
    taken = {one.id: elements_of(connection, one, poured.used_mg[one.id]) for one in used}
    melt = _sum(taken.values())
    loss_mg = _checked_loss(poured, sum(melt.values()))
    names, masses_mg, new_lots = _outcomes(connection, poured, used, melt)
    shares = portions_mg([*masses_mg, max(loss_mg, 0)], melt) if loss_mg >= 0 else _gained(masses_mg, melt)
    legs = [Leg(f"lot:{name}", {element: -mass for element, mass in one.items()}) for name, one in taken.items()]
    legs += [Leg(name, one) for name, one in zip([*names, LOSS], shares, strict=True)]
    know_account(connection, "loss", LOSS)
    mark = post(connection, poured.state, legs, made_by, poured.explained, mark, made_at, poured.id)
    connection.execute(
        pour.insert().values(
            id=poured.id,
            day=poured.day,
            flask=poured.flask,
            alloy=poured.alloy,
            state=poured.state,
            charge_mg=sum(melt.values()),
            loss_mg=loss_mg,
            explained=poured.explained,
            crucible=poured.crucible,
        )
    )
    use_for_pour(connection, poured.id, made_by, poured.supplies, made_at)
    return BookedPour(mark, loss_mg, new_lots.get("button", ""), new_lots.get("scrap", ""), melt)


def _refuse_crucible(connection: Connection, crucible: str) -> None:
    stop = standing(connection).get(f"{CRUCIBLE}:{crucible}") if crucible else None
    if stop:
        raise refused("books.crucible-shut", crucible, crucible=crucible, why=stop.reason)


def _usable(connection: Connection, poured: Poured, owners: set[str]) -> tuple[Lot, ...]:
    found = {one.id: one for one in lots(connection, sorted(poured.used_mg))}
    for name, mass_mg in sorted(poured.used_mg.items()):
        one = found.get(name)
        if one is None:
            raise refused("books.lot-unknown", name, lot=name)
        if one.quarantine:
            raise refused("books.lot-shut", name, lot=name, why=one.quarantine)
        if one.solder and not one.released_by:
            raise refused("books.lot-solder", name, lot=name, owner=one.owner)
        if one.owner != STUDIO and not one.released_by and owners != {one.owner}:
            raise refused("books.lot-owned", name, lot=name, owner=one.owner)
        if mass_mg <= 0 or mass_mg > one.held_mg:
            there, wanted = show(one.held_mg / 1000, "g", 2), show(mass_mg / 1000, "g", 2)
            raise refused("books.lot-too-little", name, lot=name, there=there, wanted=wanted)
    if not found:
        raise refused("books.pour-empty", poured.id, pour=poured.id)
    return tuple(found[name] for name in sorted(poured.used_mg))


def _checked_loss(poured: Poured, charge_mg: int) -> int:
    """Return what is missing after the pour; refuse it when it cannot be, or wants explaining."""
    came_mg = sum(one.mass_mg for one in poured.castings) + poured.button_mg + poured.scrap_mg + poured.spill_mg
    loss_mg = charge_mg - came_mg
    shown = {"pour": poured.id, "scales": show(poured.scales_mg / 1000, "g", 2)}
    if loss_mg < -poured.scales_mg:
        raise refused("books.pour-gained", poured.id, more=show(-loss_mg / 1000, "g", 2), **shown)
    look_for_mg = loss_mg - poured.expected_loss_mg
    if look_for_mg > poured.scales_mg and not poured.explained.strip():
        raise refused(
            "books.pour-lost",
            poured.id,
            loss=show(loss_mg / 1000, "g", 2),
            missing=show(look_for_mg / 1000, "g", 2),
            expected=show(poured.expected_loss_mg / 1000, "g", 2),
            **shown,
        )
    return loss_mg


def _outcomes(
    connection: Connection, poured: Poured, used: Sequence[Lot], melt: Mapping[str, int]
) -> tuple[list[str], list[int], dict[str, str]]:
    """Return the accounts of what came out, their masses, and the ids of new lots."""
    names, masses_mg, made = [], [], {}
    for one in poured.castings:
        know_account(connection, "piece", f"piece:{one.piece}", one.owner)
        names.append(f"piece:{one.piece}")
        masses_mg.append(one.mass_mg)
    for kind, mass_mg in (("button", poured.button_mg), ("scrap", poured.scrap_mg)):
        if mass_mg:
            made[kind] = _new_lot(connection, kind, poured, used, melt)
            names.append(f"lot:{made[kind]}")
            masses_mg.append(mass_mg)
    if poured.spill_mg:
        know_account(connection, "spill", SPILL)
        names.append(SPILL)
        masses_mg.append(poured.spill_mg)
    return names, masses_mg, made


def _new_lot(connection: Connection, kind: str, poured: Poured, used: Sequence[Lot], melt: Mapping[str, int]) -> str:
    """Enter the lot that a button or scrap becomes: the melt's composition, its doubt, one melt older."""
    gross_mg = sum(melt.values())
    weight = {one.id: poured.used_mg[one.id] / gross_mg for one in used}
    low = sum(one.noble_low_ppm * weight[one.id] for one in used) / 1e6
    high = sum(one.noble_high_ppm * weight[one.id] for one in used) / 1e6
    owned = {one.owner for one in used}
    price = sum((one.price_per_g * Decimal(str(round(weight[one.id], 9))) for one in used), Decimal(0))
    known = {name: mass / gross_mg for name, mass in melt.items()}
    new = NewLot(
        metal=kind,
        share_frac=known,
        noble=poured.noble,
        noble_low_frac=low,
        noble_high_frac=high,
        owner=owned.pop() if len(owned) == 1 else STUDIO,
        provenance=poured.id,
        is_new=False,
        whole=kind == "button",
        melts_count=max(one.melts_count for one in used) + 1,
        certain=all(one.certain for one in used),
        solder=any(one.solder for one in used),
        price_per_g=price.quantize(Decimal("0.0001")),
    )
    identity = next_lot_id(connection)
    enter_lot(connection, identity, new)
    return identity


def _gained(masses_mg: Sequence[int], melt: Mapping[str, int]) -> list[dict[str, int]]:
    """Return the portions when the scales found a little more than went in: the loss account gives it."""
    gross_mg, came_mg = sum(melt.values()), sum(masses_mg)
    main = max(sorted(melt), key=lambda name: melt[name])
    more = dict(melt)
    more[main] += came_mg - gross_mg
    return [*portions_mg(masses_mg, more), {main: gross_mg - came_mg}]


def _sum(parts: Iterable[Mapping[str, int]]) -> dict[str, int]:
    found: dict[str, int] = defaultdict(int)
    for one in parts:
        for name, mass in one.items():
            found[name] += mass
    return dict(found)
