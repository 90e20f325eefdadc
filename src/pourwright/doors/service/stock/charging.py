"""A charge of least cost from the drawer: texts as typed in, what to weigh out."""

from __future__ import annotations

import math
import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from pathlib import Path

from pourwright.books.lots import Lot
from pourwright.books.stock_parts import main_metal, part_of, usable_lots
from pourwright.core.errors import DataError
from pourwright.core.figure import given
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.units import show
from pourwright.doors.service.books.typed import typed
from pourwright.doors.service.stock.drawer import books_of
from pourwright.doors.service.stock.limits import Limits, read_limits
from pourwright.doors.service.stock.reading import read_drawer
from pourwright.doors.service.stock.scales import ScaleUsed, over_capacity, scale_as_typed
from pourwright.doors.service.variables import STUDIO_VARIABLE
from pourwright.matter.alloys import Alloy
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.elements import element
from pourwright.matter.practice import rule
from pourwright.prepare.charge.alloy_findings import composition_gaps, metal_that_boils, scale_too_coarse, wrong_order
from pourwright.prepare.charge.lots import MeltLot, lot_from_stock
from pourwright.prepare.charge.optimum.request import Obstacle, Request, StockPart
from pourwright.prepare.charge.optimum.stock_charge import StockCharge, charge_from_stock
from pourwright.prepare.charge.optimum.wish import request_for
from pourwright.prepare.charge.order import Order, order_for
from pourwright.studio.reading import read_studio

# What an owner's own metal counts: nothing, but not without a price.
_OWN_COST = Decimal("1e-9")
# Beyond these a number was surely mistyped: the melt of a teaching studio, the mark of a fine balance. Our own choice.
_MASS_MOST_G, _FINEST_G = 100_000.0, 0.0001
STUDIO_FILE = "studio.toml"
# Without prices a gram of silver in scrap counts this much of one in new metal, so that scrap is used up first. Our own
# choice; it is no money and is never shown.
_SCRAP_WORTH_RATIO = 0.9


@dataclass(frozen=True)
class Wish:
    """A charge wanted from the drawer, as typed; ``books`` and ``studio`` say where the drawer is."""

    alloy: str
    mass: str
    scale: str = "0.01 g"
    owners: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    crucible: str = ""
    doubtful: bool = False
    limits: Limits = field(default_factory=Limits)
    books: str = ""
    studio: Path | None = None


@dataclass(frozen=True)
class StockAnswer:
    """A charge from the drawer; ``charge`` is None when findings stop it.

    ``source`` is the file the lots come from. ``guarded`` says that the worst case keeps the standard, rather than a
    probability; only such a charge is proven the cheapest.
    """

    findings: tuple[Finding, ...]
    charge: StockCharge | None = None
    obstacles: tuple[Obstacle, ...] = ()
    alloy: Alloy | None = None
    parts: tuple[StockPart, ...] = ()
    source: str = ""
    division_g: float = 0.0
    guarded: bool = True

    @property
    def in_money(self) -> bool:
        """Whether the lots have prices, so that the cost is money."""
        return not any(one.code == "doors.charge-no-prices" for one in self.findings)


def charge_from_drawer(wish: Wish) -> StockAnswer:
    """Work out the charge of least cost.

    Parameters
    ----------
    wish : Wish
        As typed.

    Returns
    -------
    StockAnswer
        All that is wrong with the texts at once; or the charge; or what stands in its way and how far it would have
        to give.
    """
    alloy, found = _alloy(wish.alloy)
    mass_g, wrong = typed(wish.mass, "g", "--mass")
    scale, coarse = scale_as_typed(wish.scale, _folder(wish))
    found += wrong + coarse
    if alloy is None or stops(found):
        return StockAnswer(found, alloy=alloy)
    request, likely_frac, more = read_limits(request_for(alloy, mass_g, scale.division_g, scale.error_g), wish.limits)
    parts, source, notes = _parts(wish, alloy)
    parts, prices = _valued(parts, main_metal(alloy), source)
    found += more + notes + prices + _sizes(mass_g, scale)
    if not stops(found):
        found += wrong_order(_order(alloy, parts, request), source)
    if stops(found):
        return StockAnswer(found, alloy=alloy, parts=parts, source=source)
    charge, standing = charge_from_stock(alloy, parts, request, request.windows_frac, likely_frac)
    found += _remarks(alloy, parts, charge, source) if charge else _in_the_way(standing, source)
    found += over_capacity(scale, max(one.mass_g for one in charge.aim.weigh), source) if charge else ()
    kept = None if stops(found) else charge
    return StockAnswer(found, kept, standing, alloy, parts, source, scale.division_g, likely_frac is None)


def _sizes(mass_g: float, scale: ScaleUsed) -> tuple[Finding, ...]:
    """Refuse what no studio melts, and marks finer than any balance shows."""
    found = []
    if mass_g > _MASS_MOST_G:
        params = {"mass": show(mass_g / 1000, "kg", 0), "most": show(_MASS_MOST_G / 1000, "kg", 0)}
        found.append(Finding("doors.charge-mass-most", Level.STOP, "--mass", params))
    if 0 < scale.division_g < _FINEST_G:
        found.append(Finding("doors.charge-scale-fine", Level.STOP, "--scale", {"finest": show(_FINEST_G, "g", 4)}))
    return tuple(found)


def _folder(wish: Wish) -> Path:
    return wish.studio or Path(os.environ.get(STUDIO_VARIABLE) or ".")


def _alloy(alloy_id: str) -> tuple[Alloy | None, tuple[Finding, ...]]:
    try:
        return find_alloy(alloy_id), ()
    except DataError as unknown:
        return None, (Finding("doors.charge-alloy", Level.STOP, "--alloy", {"reason": str(unknown)}),)


def _parts(wish: Wish, alloy: Alloy) -> tuple[tuple[StockPart, ...], str, tuple[Finding, ...]]:
    """Return the stock for a charge of an alloy, the file it comes from, and what is to be said about it."""
    folder = _folder(wish)
    place = books_of(folder, wish.books)
    if not place:
        return _parts_of_file(wish, folder, alloy)
    drawer, problems = read_drawer(place)
    if drawer is None:
        return (), place, problems
    if not drawer.opened.any_lot:
        return _parts_of_file(wish, folder, alloy)
    usable, why = usable_lots(drawer.lots, wish.owners, wish.lots, wish.doubtful)
    parts = tuple(_own(one, part_of(one, main_metal(alloy)), wish.owners) for one in usable)
    return parts, place, (*why, *_crucible(wish, drawer.crucibles_shut))


def _own(lot: Lot, part: StockPart, owners: Collection[str]) -> StockPart:
    """Return the part; an owner's metal costs that owner nothing, so it is used before any other."""
    return replace(part, price_per_g=_OWN_COST) if set(owners) == {lot.owner} else part


def _crucible(wish: Wish, shut: Mapping[str, str]) -> tuple[Finding, ...]:
    if wish.crucible not in shut:
        return ()
    params = {"crucible": wish.crucible, "reason": shut[wish.crucible]}
    return (Finding("prepare.crucible-shut", Level.STOP, wish.crucible, params),)


def _parts_of_file(wish: Wish, folder: Path, alloy: Alloy) -> tuple[tuple[StockPart, ...], str, tuple[Finding, ...]]:
    """Return the lots of the studio file, which knows no prices."""
    source = str(folder / STUDIO_FILE)
    if not (folder / STUDIO_FILE).exists():
        return (), source, (Finding("doors.charge-no-drawer", Level.STOP, source, {"folder": folder}),)
    studio, found = read_studio(folder)
    if studio is None:
        return (), source, found
    by_id = {one.id: one for one in studio.lots}
    unknown = [one for one in wish.lots if one not in by_id]
    found += tuple(Finding("doors.charge-lot-unknown", Level.STOP, "--lot", {"lot": one}) for one in unknown)
    named = [by_id[one] for one in wish.lots if one in by_id]
    parts = []
    for stock in named or [one for one in studio.lots if one.certain or wish.doubtful]:
        lot, notes = lot_from_stock(stock, alloy, wish.owners)
        found += notes if lot is None and named else ()
        parts += [_part_of_melt_lot(lot, main_metal(alloy))] if lot else []
    return tuple(parts), source, found


def _part_of_melt_lot(lot: MeltLot, element: str) -> StockPart:
    held = lot.fineness_permille
    own_frac = lot.composition_frac.get(element, 0.0)
    low_frac, high_frac = (held.low / 1000, held.high / 1000) if lot.element == element else (own_frac, own_frac)
    mass_g = lot.limit_g.value if lot.limit_g else 0.0
    melts_count = 1 if lot.is_scrap else 0
    return StockPart(lot.name, lot.composition_frac, low_frac, high_frac, mass_g, False, Decimal(0), not lot.is_scrap,
                     melts_count)  # fmt: skip


def _valued(
    parts: tuple[StockPart, ...], element: str, where: str
) -> tuple[tuple[StockPart, ...], tuple[Finding, ...]]:
    """Return the parts with something to go by where no lot has a price: their noble metal, that of scrap for less."""
    free = [one.lot for one in parts if not one.price_per_g]
    if any(one.price_per_g > _OWN_COST for one in parts):
        lots = ", ".join(free)
        return parts, (Finding("doors.charge-free", Level.NOTE, where, {"lots": lots}),) if free else ()
    valued = tuple(
        one if one.price_per_g else replace(one, price_per_g=Decimal(str(round(_worth_ratio(one, element), 6))))
        for one in parts
    )
    return valued, (Finding("doors.charge-no-prices", Level.NOTE, where),) if parts else ()


def _worth_ratio(one: StockPart, element: str) -> float:
    return one.composition_frac.get(element, 0.0) * (1.0 if one.is_new else _SCRAP_WORTH_RATIO)


def _order(alloy: Alloy, parts: Sequence[StockPart], request: Request) -> Order:
    """Return the same wish as the lots of the older reckoning, whose remarks hold here too."""
    element = main_metal(alloy)
    lots = [_melt_lot(one, element) for one in parts]
    return order_for(alloy, request.mass_g, lots, request.scale_error_g, request.scale_division_g, 1.0)


def _melt_lot(part: StockPart, element: str) -> MeltLot:
    share_permille = 1000 * part.composition_frac.get(element, 0.0)
    fineness = given(share_permille, "permille", part.lot, 1000 * part.noble_low_frac, 1000 * part.noble_high_frac)
    return MeltLot(part.lot, part.composition_frac, element if share_permille else "", fineness,
                   given(part.mass_g, "g", part.lot), not part.is_new)  # fmt: skip


def _remarks(alloy: Alloy, parts: Sequence[StockPart], charge: StockCharge, where: str) -> tuple[Finding, ...]:
    """Return what to know about a charge: a scale too coarse for it, other metals off the alloy, zinc, time run out."""
    by_lot = {one.lot: one for one in parts}
    used = _order(alloy, [by_lot[one.lot] for one in charge.aim.weigh], charge.request)
    masses_g = [one.mass_g for one in charge.aim.weigh]
    found = scale_too_coarse(used, masses_g, where)
    found += composition_gaps(used, masses_g, where) + metal_that_boils(used, masses_g, where)
    unsure = () if charge.aim.proven else (Finding("doors.charge-not-proven", Level.NOTE, where),)
    return (*found, *unsure)


_LIMIT_CODES = {
    "mass": "doors.charge-limit-mass",
    "fineness": "doors.charge-limit-fineness",
    "window": "doors.charge-limit-window",
    "new": "doors.charge-limit-new",
    "melts": "doors.charge-limit-melts",
    "old": "doors.charge-limit-old",
    "weigh": "doors.charge-limit-weigh",
    "stock": "doors.charge-limit-stock",
    "probability": "doors.charge-limit-probability",
}
_LIMIT_SOURCES = {"new": ("melt.scrap",), "melts": ("melt.remelts",), "old": ("melt.remelts",)}


def _in_the_way(standing: Sequence[Obstacle], where: str) -> tuple[Finding, ...]:
    """Return each limit that stands in the way as a finding with the nearest value that can be had."""
    return tuple(_obstacle(one, where) for one in standing)


def _obstacle(one: Obstacle, where: str) -> Finding:
    sources = tuple(source for name in _LIMIT_SOURCES.get(one.limit, ()) for source in rule(name).sources)
    params = {
        "subject": _named(one),
        "asked": _shown(one.asked, one.unit),
        "reached": _shown(one.reached, one.unit, down=one.limit in ("mass", "fineness", "new")),
    }
    return Finding(_LIMIT_CODES[one.limit], Level.STOP, where, params, sources)


def _named(one: Obstacle) -> str:
    return element(one.subject).title if one.limit == "window" else one.subject


def _shown(amount: float, unit: str, down: bool = False) -> str:
    """Return an amount in words; one that could be reached is rounded so that it can."""
    if unit == "frac":
        return show(math.floor(1000 * amount) / 10 if down else 100 * amount, "percent", 1)
    digits = {"permille": 2, "g": 2, "count": 2}[unit]
    return show(math.floor(amount * 100 + 1e-6) / 100 if down else amount, unit, digits)
