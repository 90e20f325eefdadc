"""The drawer as the books have it, for a charge or a plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sqlalchemy.engine import Connection

from pourwright.books.lots import Lot, lots
from pourwright.books.opening import Opened, opened
from pourwright.books.prices import price_on
from pourwright.books.stock_parts import profile_lot
from pourwright.books.stops import CRUCIBLE, standing
from pourwright.books.supplies import Supply, supplies
from pourwright.core.figure import Figure, given
from pourwright.core.text import say
from pourwright.studio.profile import Studio


@dataclass(frozen=True)
class Drawer:
    """Lots that hold metal, whether the studio file was taken over, crucibles shut away with the reason, supplies."""

    lots: tuple[Lot, ...]
    opened: Opened
    crucibles_shut: Mapping[str, str]
    supplies: tuple[Supply, ...]


def drawer_of(connection: Connection) -> Drawer:
    """Return the drawer as it stands; a lot without a price of its own takes the dated one of its metal, if any."""
    now = {
        subject.partition(":")[2]: stop.reason
        for subject, stop in standing(connection).items()
        if subject.startswith(f"{CRUCIBLE}:")
    }
    return Drawer(
        tuple(_priced(connection, one) for one in lots(connection)), opened(connection), now, supplies(connection)
    )


def _priced(connection: Connection, one: Lot) -> Lot:
    if one.price_per_g:
        return one
    dated = price_on(connection, one.metal)
    return replace(one, price_per_g=dated.per_g) if dated else one


def with_drawer(studio: Studio, drawer: Drawer) -> Studio:
    """Return a studio whose lots, supplies and shut crucibles are those of the books."""
    return replace(with_shelf(studio, drawer), lots=tuple(profile_lot(one) for one in drawer.lots))


def with_shelf(studio: Studio, drawer: Drawer) -> Studio:
    """Return a studio with what the books have of its supplies, and whose crucibles know why they are shut away.

    A supply of the books stands for the consumable or powder of the same id; others stay as the file has them.
    """
    shut = drawer.crucibles_shut
    return replace(
        studio,
        crucibles=tuple(replace(one, shut=shut.get(one.id, "")) for one in studio.crucibles),
        consumables=tuple(replace(one, stock_g=_held_g(drawer, one.id, one.stock_g)) for one in studio.consumables),
        powders=tuple(replace(one, stock_g=_held_g(drawer, one.id, one.stock_g)) for one in studio.powders),
    )


def _held_g(drawer: Drawer, name: str, in_file: Figure) -> Figure:
    found = next((one for one in drawer.supplies if one.id == name and one.unit == "g"), None)
    return in_file if found is None else given(found.held / 1000, "g", say("books.supply-origin", supply=name))
