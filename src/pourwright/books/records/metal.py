"""What a piece is made of by the ledger: its mass to the milligram, its elements and lots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books.ledger import Movement
from pourwright.books.lots import Lot, lots
from pourwright.books.masses import split_mg, to_ppm
from pourwright.books.records.comparing import pour_of
from pourwright.books.tables import pour


@dataclass(frozen=True)
class LotPart:
    """What a piece holds of a lot; ``certain`` where somebody vouches for the lot's composition."""

    lot: str
    metal: str
    mass_mg: int
    certain: bool


@dataclass(frozen=True)
class PieceMetal:
    """A cast piece by the ledger.

    Parameters
    ----------
    piece, pour, flask, alloy, weighed_by : str
        Which, from which pour, of what, and who booked it.
    cast_at : datetime
        When the pour was booked for.
    elements_mg : mapping of str to int
        Whole milligrams of each element; together the mass of the piece.
    parts : tuple of LotPart
        They add up to that mass too.
    """

    piece: str
    pour: str
    flask: str
    alloy: str
    weighed_by: str
    cast_at: datetime
    elements_mg: Mapping[str, int]
    parts: tuple[LotPart, ...]

    @property
    def mass_mg(self) -> int:
        """Gross mass."""
        return sum(self.elements_mg.values())


def metal_of(connection: Connection, piece: str) -> PieceMetal | None:
    """Return what a piece is made of, or None if no pour of it stands in the ledger."""
    moved: Movement | None = pour_of(connection, piece)
    if moved is None:
        return None
    row = connection.execute(sa.select(pour).where(pour.c.id == moved.pour)).one()
    elements = next(leg.elements_mg for leg in moved.legs if leg.account == f"piece:{piece}")
    used = _used_mg(moved)
    known = {one.id: one for one in lots(connection, sorted(used))}
    return PieceMetal(
        piece,
        moved.pour,
        row.flask,
        row.alloy,
        moved.made_by,
        moved.made_at,
        elements,
        _parts(sum(elements.values()), used, known),
    )


def _used_mg(moved: Movement) -> dict[str, int]:
    """Return what went into the crucible of each lot."""
    masses = {leg.account: sum(leg.elements_mg.values()) for leg in moved.legs}
    return {name.removeprefix("lot:"): -mass for name, mass in masses.items() if name.startswith("lot:") and mass < 0}


def _parts(mass_mg: int, used: Mapping[str, int], known: Mapping[str, Lot]) -> tuple[LotPart, ...]:
    """Divide a piece by what went in, by largest remainder, so that the parts add up to it."""
    split = split_mg(mass_mg, to_ppm({name: float(mass) for name, mass in used.items()}))
    return tuple(LotPart(name, known[name].metal, mass, known[name].certain) for name, mass in split.items())
