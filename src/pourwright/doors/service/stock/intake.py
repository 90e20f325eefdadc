"""A lot as typed at intake: metal, fineness or its range, what else it holds, solder, price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation

from pourwright.books.ledger import STUDIO
from pourwright.books.lots import NewLot
from pourwright.books.masses import UNKNOWN
from pourwright.core.errors import DataError
from pourwright.core.findings import Finding, Level, stops
from pourwright.doors.service.books.typed import typed
from pourwright.matter.alloys import stock_metal
from pourwright.prepare.charge.lots import SCRAP

_DUST_FRAC = 1e-9


@dataclass(frozen=True)
class Brought:
    """A lot as typed.

    Parameters
    ----------
    metal : str
        A metal or alloy of the tables, or ``scrap``.
    fineness, price : str
        As typed; a fineness may be a range with two dots.
    holds : sequence of str
        ``ELEMENT:SHARE`` of what else is known to be in it.
    owner, note : str
        Whose it is (the studio's if empty), and what should be remembered.
    solder, whole : bool
        Whether solder is in it, and whether it is one lump to be used as it is.
    """

    metal: str
    fineness: str = ""
    price: str = "0"
    holds: Sequence[str] = ()
    owner: str = ""
    note: str = ""
    solder: bool = False
    whole: bool = False


def lot_as_typed(brought: Brought) -> tuple[NewLot | None, tuple[Finding, ...]]:
    """Return the lot, and all that is wrong or is to be known; None where a finding stops it.

    Scrap without a fineness is booked as known to nobody. Scrap with a range is nobody's promise: charges use it only
    when asked, at the low end.
    """
    ends, found = _fineness_ends(brought.fineness)
    price, wrong = amount_as_typed(brought.price, "--price", fine=True)
    others, unread = _holds(brought.holds)
    found += wrong + unread
    if stops(found):
        return None, found
    if (sum(ends) / 2 if len(ends) == 2 else sum(ends)) + sum(others.values()) > 1 + _DUST_FRAC:
        return None, (*found, Finding("doors.stock-holds", Level.STOP, "--holds", {"text": ", ".join(brought.holds)}))
    new, more = _composed(brought, ends, others)
    found += more
    if new is None or stops(found):
        return None, found
    owner = brought.owner or STUDIO
    return replace(new, owner=owner, provenance=brought.note, price_per_g=price, whole=brought.whole,
                   solder=brought.solder), found  # fmt: skip


def _composed(
    brought: Brought, ends: list[float], others: dict[str, float]
) -> tuple[NewLot | None, tuple[Finding, ...]]:
    if brought.metal == SCRAP:
        return _scrap(ends, others)
    try:
        known = stock_metal(brought.metal)
    except DataError as unknown:
        return None, (Finding("doors.charge-alloy", Level.STOP, "--metal", {"reason": str(unknown)}),)
    if not known.element:
        return NewLot(brought.metal, _with_others({}, dict(known.composition_frac), others)), ()
    held = known.fineness_permille
    low, high = (ends[0], ends[-1]) if ends else (held.low / 1000, held.high / 1000)
    best = (low + high) / 2 if ends else held.best / 1000
    rest = {name: share for name, share in known.composition_frac.items() if name != known.element}
    return NewLot(brought.metal, _with_others({known.element: best}, rest, others), known.element, low, high), ()


def _scrap(ends: list[float], others: dict[str, float]) -> tuple[NewLot, tuple[Finding, ...]]:
    if not ends:
        shares = _with_others({}, {UNKNOWN: 1.0}, others) if others else {}
        new = NewLot(SCRAP, shares, is_new=False, melts_count=1, certain=False)
        return new, (Finding("doors.stock-not-assayed", Level.NOTE, "--fineness"),)
    sure = ends[0] == ends[-1]
    shares = _with_others({"Ag": (ends[0] + ends[-1]) / 2}, {"Cu": 1.0}, others)
    new = NewLot(SCRAP, shares, "Ag", ends[0], ends[-1], is_new=False, melts_count=1, certain=sure)
    return new, () if sure else (Finding("doors.stock-range", Level.NOTE, "--fineness"),)


def _with_others(noble: dict[str, float], rest: dict[str, float], others: dict[str, float]) -> dict[str, float]:
    """Return shares that add up to one: the noble metal, what was named, and the rest in its proportions."""
    named = {**noble, **{name: share for name, share in others.items() if name not in noble}}
    left = max(0.0, 1.0 - sum(named.values()))
    kept = {name: share for name, share in rest.items() if name not in named}
    whole = sum(kept.values())
    filled = {name: left * share / whole for name, share in kept.items()} if whole else {}
    return {name: share for name, share in {**named, **filled}.items() if share > 0}


def amount_as_typed(text: str, where: str, fine: bool = False) -> tuple[Decimal, tuple[Finding, ...]]:
    """Return an amount of money as typed, in whole hundredths unless ``fine``, and what is wrong with it."""
    try:
        amount = Decimal(text.strip())
        if not amount.is_finite() or amount < 0 or (not fine and amount != amount.quantize(Decimal("0.01"))):
            raise InvalidOperation
    except InvalidOperation:
        return Decimal(0), (Finding("doors.stock-price", Level.STOP, where, {"text": text}),)
    return amount, ()


def _holds(texts: Sequence[str]) -> tuple[dict[str, float], tuple[Finding, ...]]:
    found: list[Finding] = []
    shares: dict[str, float] = {}
    for text in texts:
        name, _, share = text.partition(":")
        percent, wrong = typed(share, "percent", "--holds")
        if wrong or not name.isalpha() or not 0 <= percent <= 100:
            found.append(Finding("doors.stock-holds", Level.STOP, "--holds", {"text": text}))
            continue
        shares[name.capitalize()] = percent / 100
    if sum(shares.values()) > 1:
        found.append(Finding("doors.stock-holds", Level.STOP, "--holds", {"text": ", ".join(texts)}))
    return shares, tuple(found)


def _fineness_ends(text: str) -> tuple[list[float], tuple[Finding, ...]]:
    if not text:
        return [], ()
    ends: list[float] = []
    found: list[Finding] = []
    for one in text.split(".."):
        with_unit = one if one.strip()[-1:].isalpha() or "%" in one else f"{one} permille"
        value, wrong = typed(with_unit, "permille", "--fineness")
        ends.append(value / 1000)
        found += wrong
    if not found and (len(ends) > 2 or ends != sorted(ends) or not 0 < ends[-1] <= 1):
        found.append(Finding("doors.stock-fineness", Level.STOP, "--fineness", {"text": text}))
    return ends, tuple(found)


def fineness_ends(text: str, where: str) -> tuple[float, float, tuple[Finding, ...]]:
    """Return both ends of a fineness as typed (in ``frac``), and what is wrong with it."""
    ends, found = _fineness_ends(text)
    if not ends and not found:
        found = (Finding("doors.stock-fineness", Level.STOP, where, {"text": text}),)
    low, high = (ends[0], ends[-1]) if ends else (0.0, 0.0)
    return low, high, tuple(replace(one, where=where) for one in found)


def holds_as_typed(texts: Sequence[str]) -> tuple[dict[str, float], tuple[Finding, ...]]:
    """Return shares of elements as typed, ``ELEMENT:SHARE`` each, and what is wrong with them."""
    return _holds(texts)
