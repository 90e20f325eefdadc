"""Lots: metal bought, brought, returned; what they are made of and how sure that is."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import STUDIO, Leg, held_mg, know_account, post, refused
from pourwright.books.masses import UNKNOWN, portions_mg, split_mg, to_ppm
from pourwright.books.tables import IN_DRAWER, account, balance, lot, lot_element
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.matter.safety import Prompt, prompt

# Metals that no melt in a teaching studio may hold, and the share over which a lot is taken to hold one: a trace that
# assays commonly report as nothing is let through (common practice, no source).
REFUSED_METALS = ("Pb", "Cd", "Be")
_PROMPT_OF = {"Pb": "fume.pb", "Cd": "fume.cd", "Be": "fume.lead"}
_NAME_OF = {"Pb": "books.metal-lead", "Cd": "books.metal-cadmium", "Be": "books.metal-beryllium"}
TRACE_FRAC = 0.0005
_NUMBER_WIDTH = 4
_FEW = 16


@dataclass(frozen=True)
class Lot:
    """A lot as it stands in the drawer.

    Parameters
    ----------
    id : str
        On the bag, for example ``L-0042``.
    metal : str
        A metal or alloy of the tables, or ``scrap``, ``button``.
    owner, provenance : str
        Whose it is, and where it came from.
    share_ppm : mapping of str to int
        Millionths of each element; :data:`UNKNOWN` alone for metal not assayed.
    noble : str
        Element of the fineness, or empty.
    noble_low_ppm, noble_high_ppm : int
        Range of its share.
    is_new, whole : bool
        Never melted before; to be used as one lump.
    melts_count : int
        How often it was melted here.
    price_per_g : Decimal
        What a gram is worth.
    quarantine : str
        Why nobody may use it now, or empty.
    held_mg : int
        Gross mass there is.
    certain : bool
        Whether somebody vouches for the composition (a dealer, an assay), and not a guess.
    solder : bool
        Whether solder is in it.
    released_by : str
        Who signed that metal of an owner, or with solder, may go into anybody's charge; or empty.
    """

    id: str
    metal: str
    owner: str
    provenance: str
    share_ppm: Mapping[str, int]
    noble: str
    noble_low_ppm: int
    noble_high_ppm: int
    is_new: bool
    whole: bool
    melts_count: int
    price_per_g: Decimal
    quarantine: str
    held_mg: int
    certain: bool = True
    solder: bool = False
    released_by: str = ""


@dataclass(frozen=True)
class NewLot:
    """What is known of a lot when it is entered; shares in ``frac``, empty when nobody knows."""

    metal: str
    share_frac: Mapping[str, float]
    noble: str = ""
    noble_low_frac: float = 0.0
    noble_high_frac: float = 0.0
    owner: str = STUDIO
    provenance: str = ""
    is_new: bool = True
    whole: bool = False
    melts_count: int = 0
    price_per_g: Decimal = Decimal(0)
    solder: bool = False
    certain: bool = True
    released_by: str = ""


def take_in(
    connection: Connection,
    new: NewLot,
    gross_mg: int,
    source: str,
    made_by: str,
    reason: str = "",
    mark: str = "",
    lot_id: str = "",
    made_at: datetime | None = None,
) -> str:
    """Enter a lot and book its metal in from outside, and return its id.

    Parameters
    ----------
    connection : Connection
        Inside a transaction.
    new : NewLot
        What it is.
    gross_mg : int
        What it weighs.
    source : str
        From whom: a dealer, an owner, ``opening``.
    made_by, reason, mark : str
        As for :func:`pourwright.books.ledger.post`.
    lot_id : str
        Its id, or empty for the next free one.
    made_at : datetime, optional
        When it came; now unless given.

    Raises
    ------
    LedgerError
        It holds lead, cadmium or beryllium, or solder nobody knows; or it weighs nothing.
    """
    _refuse_poison(new)
    if gross_mg <= 0:
        raise refused("books.lot-weightless", lot_id or new.metal, metal=new.metal)
    identity = lot_id or next_lot_id(connection)
    enter_lot(connection, identity, new)
    outside = f"outside:{source}"
    know_account(connection, "outside", outside)
    elements = split_mg(gross_mg, shares_ppm(new))
    less = {name: -mass for name, mass in elements.items()}
    legs = [Leg(f"lot:{identity}", elements), Leg(outside, less)]
    post(connection, "taken in", legs, made_by, reason, mark, made_at)
    return identity


def _refuse_poison(new: NewLot) -> None:
    for name in REFUSED_METALS:
        if new.share_frac.get(name, 0.0) > TRACE_FRAC:
            raise _poisonous("books.lot-poison", new, prompt(_PROMPT_OF[name]), element=say(_NAME_OF[name]))
    if new.solder and not new.share_frac:
        raise _poisonous("books.lot-solder-unknown", new, prompt(_PROMPT_OF["Cd"]))


def _poisonous(code: str, new: NewLot, limit: Prompt, **params: object) -> LedgerError:
    """Return the refusal with the safety limit that it rests on, and where that was read."""
    said = limit.statement if limit.value is None else say(
        "books.air-limit", value=f"{limit.value:g}", unit=limit.unit, citation=limit.citation
    )  # fmt: skip
    finding = Finding(code, Level.STOP, new.metal, {"metal": new.metal, "limit": said, **params}, limit.sources)
    return LedgerError(finding.what, (finding,))


def shares_ppm(new: NewLot) -> dict[str, int]:
    """Return the shares that a lot is booked with: all of it unknown when nobody knows its composition."""
    return to_ppm(new.share_frac) if new.share_frac else {UNKNOWN: 1_000_000}


def enter_lot(connection: Connection, identity: str, new: NewLot) -> None:
    """Enter a lot without metal; the movement that fills it comes after, in the same transaction."""
    if connection.execute(sa.select(lot.c.id).where(lot.c.id == identity)).first():
        raise refused("books.lot-known", identity, lot=identity)
    number = know_account(connection, "lot", f"lot:{identity}", new.owner)
    shares = shares_ppm(new)
    own_ppm = shares.get(new.noble, 0)
    connection.execute(
        lot.insert().values(
            id=identity,
            account_id=number,
            metal=new.metal,
            noble=new.noble,
            share_low_ppm=min(own_ppm, round(new.noble_low_frac * 1e6)) if new.share_frac else 0,
            share_high_ppm=max(own_ppm, round(new.noble_high_frac * 1e6)) if new.share_frac else 1_000_000,
            provenance=new.provenance,
            is_new=new.is_new,
            whole=new.whole,
            melts_count=new.melts_count,
            price_per_g=new.price_per_g,
            quarantine="",
            certain=new.certain and bool(new.share_frac),
            solder=new.solder,
            released_by=new.released_by,
        )
    )
    connection.execute(
        lot_element.insert(),
        [{"lot_id": identity, "element": name, "share_ppm": share} for name, share in shares.items()],
    )


def next_lot_id(connection: Connection) -> str:
    """Return the next free id, ``L-`` and a number that grows."""
    longest_first = sa.select(lot.c.id).where(lot.c.id.like("L-%"))
    longest_first = longest_first.order_by(sa.func.length(lot.c.id).desc(), lot.c.id.desc())
    with connection.execute(longest_first.execution_options(yield_per=_FEW)) as ids:
        last = next((int(one[2:]) for one in ids.scalars() if one[2:].isdigit()), 0)
    return f"L-{last + 1:0{_NUMBER_WIDTH}d}"


def lots(connection: Connection, ids: Sequence[str] = (), empty_too: bool = False) -> tuple[Lot, ...]:
    """Return lots with what they hold, by id; the empty ones only if asked or named."""
    held = sa.select(balance.c.account_id).where(IN_DRAWER)
    which: sa.ColumnElement[bool] = lot.c.id.in_(ids) if ids else lot.c.account_id.in_(held)
    which = sa.true() if empty_too and not ids else which
    wanted = sa.select(lot, account.c.owner_id).join(account, account.c.id == lot.c.account_id)
    rows = connection.execute(wanted.where(which).order_by(lot.c.id)).all()
    masses = {
        row.account_id: int(row.mass_mg)
        for row in connection.execute(
            sa.select(balance.c.account_id, sa.func.sum(balance.c.mass_mg).label("mass_mg"))
            .join(lot, lot.c.account_id == balance.c.account_id)
            .where(which)
            .group_by(balance.c.account_id)
        )
    }
    shares: dict[str, dict[str, int]] = {row.id: {} for row in rows}
    for one in connection.execute(sa.select(lot_element).join(lot, lot.c.id == lot_element.c.lot_id).where(which)):
        shares[one.lot_id][one.element] = one.share_ppm
    return tuple(
        Lot(
            row.id,
            row.metal,
            row.owner_id,
            row.provenance,
            shares[row.id],
            row.noble,
            row.share_low_ppm,
            row.share_high_ppm,
            row.is_new,
            row.whole,
            row.melts_count,
            row.price_per_g,
            row.quarantine,
            masses.get(row.account_id, 0),
            row.certain,
            row.solder,
            row.released_by,
        )
        for row in rows
    )


def set_quarantine(connection: Connection, lot_id: str, why: str) -> None:
    """Shut a lot away (``why``), or with an empty text let it out again.

    Raises
    ------
    LedgerError
        There is no such lot.
    """
    done = connection.execute(lot.update().where(lot.c.id == lot_id).values(quarantine=why))
    if done.rowcount == 0:
        raise refused("books.lot-unknown", lot_id, lot=lot_id)


def elements_of(connection: Connection, one: Lot, gross_mg: int) -> dict[str, int]:
    """Return what a weighed part of a lot holds of each element [mg]; the part and the rest are of like composition."""
    there = held_mg(connection, f"lot:{one.id}")
    return portions_mg([gross_mg, sum(there.values()) - gross_mg], there)[0]
