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
from pourwright.studio.profile import Studio


@dataclass(frozen=True)
class Drawer:
    """Lots that hold metal, whether the studio file was taken over, and crucibles shut away with the reason."""

    lots: tuple[Lot, ...]
    opened: Opened
    crucibles_shut: Mapping[str, str]


def drawer_of(connection: Connection) -> Drawer:
    """Return the drawer as it stands; a lot without a price of its own takes the dated one of its metal, if any."""
    now = {
        subject.partition(":")[2]: stop.reason
        for subject, stop in standing(connection).items()
        if subject.startswith(f"{CRUCIBLE}:")
    }
    return Drawer(tuple(_priced(connection, one) for one in lots(connection)), opened(connection), now)


def _priced(connection: Connection, one: Lot) -> Lot:
    if one.price_per_g:
        return one
    dated = price_on(connection, one.metal)
    return replace(one, price_per_g=dated.per_g) if dated else one


def with_drawer(studio: Studio, drawer: Drawer) -> Studio:
    """Return a studio whose lots and shut crucibles are those of the books."""
    return replace(with_crucibles(studio, drawer), lots=tuple(profile_lot(one) for one in drawer.lots))


def with_crucibles(studio: Studio, drawer: Drawer) -> Studio:
    """Return a studio whose crucibles know why the books shut them away."""
    shut = drawer.crucibles_shut
    return replace(studio, crucibles=tuple(replace(one, shut=shut.get(one.id, "")) for one in studio.crucibles))
