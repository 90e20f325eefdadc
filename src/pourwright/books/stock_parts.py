"""Lots of the books as the charge and the plan take them: who may use them, and what they are counted at."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from pourwright.books.ledger import STUDIO
from pourwright.books.lots import Lot
from pourwright.books.masses import UNKNOWN
from pourwright.core.figure import given
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.matter.alloys import Alloy, stock_metal_ids
from pourwright.prepare.charge.lots import SCRAP
from pourwright.prepare.charge.optimum.request import StockPart
from pourwright.studio.profile import StockLot

# Why a lot may not be used: said of one that was asked for, and in a list of those left in the drawer.
_STOPS = {
    "shut": "books.part-shut",
    "unknown": "books.part-unknown",
    "solder": "books.part-solder",
    "owned": "books.part-owned",
}
_LEFT = {
    "shut": "books.left-shut",
    "unknown": "books.left-unknown",
    "doubtful": "books.left-doubtful",
    "solder": "books.left-solder",
    "owned": "books.left-owned",
}


def usable_lots(
    found: Sequence[Lot], owners: Collection[str] = (), named: Collection[str] = (), doubtful: bool = False
) -> tuple[tuple[Lot, ...], tuple[Finding, ...]]:
    """Return the lots that may go into a charge, and why the others may not.

    Parameters
    ----------
    found : sequence of Lot
        The drawer.
    owners : collection of str
        Whose pieces the charge casts: metal of an owner is for that owner's pieces only, until somebody has signed.
    named : collection of str
        Lots asked for by name; without, all of them. One that was named and may not be used stops the charge.
    doubtful : bool
        Whether lots that nobody vouches for are used too; one that was named is.
    """
    asked = [one for one in found if not named or one.id in named]
    reasons = {one.id: _why_not(one, owners, doubtful or bool(named)) for one in asked}
    usable = tuple(one for one in asked if not reasons[one.id])
    left = [one for one in asked if reasons[one.id]]
    if not named:
        return usable, _left(left, reasons)
    unknown = sorted(set(named) - {one.id for one in found})
    findings = [Finding("books.lot-unknown", Level.STOP, name, {"lot": name}) for name in unknown]
    findings += [Finding(_STOPS[reasons[one.id]], Level.STOP, one.id, _params(one)) for one in left]
    return usable, tuple(findings)


def _left(left: Sequence[Lot], reasons: Mapping[str, str]) -> tuple[Finding, ...]:
    """Return one note on all lots that nobody asked for and that may not be used."""
    if not left:
        return ()
    said = ", ".join(say(_LEFT[reasons[one.id]], **_params(one)) for one in left)
    return (Finding("books.lots-left", Level.NOTE, left[0].id, {"lots": said}),)


def _params(one: Lot) -> dict[str, object]:
    return {"lot": one.id, "owner": one.owner, "reason": one.quarantine}


def _why_not(one: Lot, owners: Collection[str], doubtful: bool) -> str:
    if one.quarantine:
        return "shut"
    if UNKNOWN in one.share_ppm:
        return "unknown"
    if not one.certain and not doubtful:
        return "doubtful"
    if one.solder and not one.released_by:
        return "solder"
    own = set(owners) == {one.owner}
    return "" if one.owner == STUDIO or one.released_by or own else "owned"


def main_metal(alloy: Alloy) -> str:
    """Return the noble metal of an alloy, or the metal of which there is most."""
    return alloy.element or max(alloy.composition_frac, key=lambda name: alloy.composition_frac[name])


def part_of(one: Lot, element: str) -> StockPart:
    """Return a lot as part of a stock; one that nobody vouches for is counted at the low end of its fineness.

    Parameters
    ----------
    one : Lot
        With a known composition.
    element : str
        The noble metal of the charge.
    """
    best = {name: share / 1e6 for name, share in one.share_ppm.items()}
    own = best.get(element, 0.0)
    low, high = (one.noble_low_ppm / 1e6, one.noble_high_ppm / 1e6) if one.noble == element else (own, own)
    part = StockPart(
        one.id, best, low, high, one.held_mg / 1000, one.whole, one.price_per_g, one.is_new, one.melts_count
    )
    if one.certain:
        return part
    lean = {name: share for name, share in part.contents_frac(element, low).items() if share > 0}
    return StockPart(
        one.id, lean, low, high, one.held_mg / 1000, one.whole, one.price_per_g, one.is_new, one.melts_count
    )


def profile_lot(one: Lot) -> StockLot:
    """Return a lot as the plan takes it, in the place of the lots of ``studio.toml``."""
    origin = say("books.lot-origin", lot=one.id)
    unknown = UNKNOWN in one.share_ppm
    best_ppm = one.share_ppm.get(one.noble, 0)
    return StockLot(
        id=one.id,
        material=one.metal if one.is_new and one.metal in stock_metal_ids() else SCRAP,
        mass_g=given(one.held_mg / 1000, "g", origin),
        fineness_permille=given(
            best_ppm / 1000, "permille", origin, one.noble_low_ppm / 1000, one.noble_high_ppm / 1000
        ),
        element=one.noble,
        certain=one.certain,
        solder=one.solder,
        owner="" if one.owner == STUDIO else one.owner,
        released_by=one.released_by,
        contents_frac={} if unknown else {name: share / 1e6 for name, share in one.share_ppm.items()},
        shut=one.quarantine or (say("books.not-assayed") if unknown else ""),
    )
