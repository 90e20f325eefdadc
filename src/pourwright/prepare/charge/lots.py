"""Lots of metal for a charge: from the studio's stock, or from a text such as ``scrap:40 g@880..900``."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.core.errors import UnitError
from pourwright.core.figure import Figure, from_interval, given
from pourwright.core.findings import Finding, Level
from pourwright.core.units import UnclearUnitError, read, show
from pourwright.matter.alloys import Alloy, StockMetal, stock_metal, stock_metal_ids
from pourwright.matter.elements import element
from pourwright.prepare.charge.results import Weighing
from pourwright.studio.profile import StockLot

SCRAP = "scrap"
SOLDER = "solder"
_LOT = re.compile(r"^\s*(?P<name>[^:@]+?)\s*(?::(?P<mass>[^@]*))?(?:@(?P<fineness>.*))?$")
_BARE = re.compile(r"^\s*\d+(\.\d+)?\s*$")
# A bare fineness below this may be meant in percent (92.5) or as a share (0.925): it is asked about.
_LEAST_BARE_PERMILLE = 100.0


@dataclass(frozen=True)
class MeltLot:
    """A lot of metal that may go into a charge.

    Parameters
    ----------
    name : str
        As the user wrote it.
    composition_frac : mapping of str to float
        Mass share by element, at the fineness's own value.
    element : str
        The noble metal that the fineness counts; empty if there is none.
    fineness_permille : Figure
        What the lot is counted at [permille], with its range; an unknown lot is counted at its low end.
    limit_g : Figure or None
        How much there is [g]; None for as much as wanted.
    is_scrap, solder : bool
        Whether it was melted before, and whether solder is in it.
    certain : bool
        Whether the fineness is known (assayed, stamped, bought) and not a guess.
    """

    name: str
    composition_frac: Mapping[str, float]
    element: str
    fineness_permille: Figure
    limit_g: Figure | None = None
    is_scrap: bool = False
    solder: bool = False
    certain: bool = True

    def shares(self, fineness_permille: float) -> dict[str, float]:
        """Return the mass share of each element if the noble metal's is as given [permille], the rest in proportion."""
        if not self.element:
            return dict(self.composition_frac)
        noble = fineness_permille / 1000.0
        rest = {one: share for one, share in self.composition_frac.items() if one != self.element}
        whole = sum(rest.values())
        others = {one: (1.0 - noble) * share / whole for one, share in rest.items()} if whole > 0 else {}
        return {self.element: noble, **others}


def take_from(lots: Sequence[MeltLot], taken: Sequence[Weighing]) -> tuple[MeltLot, ...]:
    """Return the lots with what was weighed taken off their limits, for the next charge of the day."""
    gone = {one.lot: one.mass_g for one in taken}
    return tuple(_less(one, gone.get(one.name, 0.0)) for one in lots)


def _less(lot: MeltLot, mass_g: float) -> MeltLot:
    if lot.limit_g is None or mass_g == 0:
        return lot
    left_g = max(0.0, lot.limit_g.value - mass_g)
    return replace(lot, limit_g=given(left_g, "g", lot.limit_g.origin, how="prepare.alloy-left"))


def lot_from_stock(
    stock: StockLot, alloy: Alloy, owners: Collection[str] = ()
) -> tuple[MeltLot | None, tuple[Finding, ...]]:
    """Return a stock lot as metal for a charge of an alloy, or the finding that says why it may not go in.

    Parameters
    ----------
    stock : StockLot
        From the profile or the books; its material is a table id or ``scrap``.
    alloy : Alloy
        What is to be melted; scrap is taken to hold the alloy's other metals beside the noble one.
    owners : collection of str
        Whose pieces the charge casts. A lot that belongs to somebody is for their own pieces only, and one with solder
        for nobody's, until someone has signed (``released_by``).
    """
    if stock.shut:
        return None, (Finding("prepare.lot-shut", Level.STOP, stock.id, {"lot": stock.id, "reason": stock.shut}),)
    own = bool(stock.owner) and set(owners) == {stock.owner}
    if not stock.released_by and (stock.solder or (stock.owner and not own)):
        code = "prepare.lot-solder" if stock.solder else "prepare.lot-owned"
        return None, (Finding(code, Level.STOP, stock.id, {"lot": stock.id, "owner": stock.owner}),)
    if stock.contents_frac is not None:
        composition, noble = stock.contents_frac, stock.element
    elif stock.material == SCRAP:
        composition, noble = alloy.composition_frac, alloy.element
    else:
        metal = stock_metal(stock.material)
        composition, noble = metal.composition_frac, metal.element
    fineness = stock.fineness_permille if stock.certain else _at_low_end(stock.fineness_permille)
    lot = MeltLot(
        stock.id,
        composition,
        noble,
        fineness,
        stock.mass_g,
        stock.material == SCRAP,
        stock.solder,
        stock.certain,
    )
    return _counted(lot), _notes(lot, alloy)


def lot_from_text(text: str, alloy: Alloy) -> tuple[MeltLot | None, tuple[Finding, ...]]:
    """Read ``NAME[:MASS][@FINENESS[..FINENESS]]``, NAME a metal of the tables, ``scrap`` or ``scrap-`` and a word.

    Parameters
    ----------
    text : str
        As typed; a bare fineness is in parts per thousand.
    alloy : Alloy
        What is to be melted.

    Returns
    -------
    lot : MeltLot or None
        None when a finding says what is wrong.
    findings : tuple of Finding
        Problems, and what was assumed.
    """
    match = _LOT.match(text)
    if match is None:
        return None, (Finding("prepare.lot-form", Level.STOP, text, {"text": text}),)
    try:
        limit_g = _mass(match["mass"], text)
        fineness = _fineness(match["fineness"], text)
    except _LotError as problem:
        return None, (problem.finding,)
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        return None, (Finding("prepare.lot-unreadable", level, text, {"reason": str(problem)}),)
    return _named(match["name"], limit_g, fineness, alloy, text)


class _LotError(Exception):
    """Carries the finding out of the small readers below."""

    def __init__(self, code: str, level: Level, where: str, **params: object) -> None:
        super().__init__(code)
        self.finding = Finding(code, level, where, params)


def _mass(text: str | None, where: str) -> Figure | None:
    if text is None:
        return None
    mass_g = read(text, "g", where)
    if mass_g <= 0:
        raise _LotError("prepare.lot-mass", Level.STOP, where, mass=show(mass_g, "g"))
    return given(mass_g, "g", where)


def _fineness(text: str | None, where: str) -> Figure | None:
    if text is None:
        return None
    ends = [_permille(one, where) for one in text.split("..")]
    if len(ends) > 2 or ends != sorted(ends):
        raise _LotError("prepare.lot-range", Level.STOP, where, text=text)
    return given(ends[0], "permille", where, ends[0], ends[-1])


def _permille(text: str, where: str) -> float:
    bare = _BARE.match(text) is not None
    fineness_permille = float(text) if bare else read(text, "permille", where)
    if bare and 0 < fineness_permille < _LEAST_BARE_PERMILLE:
        raise _LotError("prepare.lot-fineness-unclear", Level.ASK, where, text=text.strip())
    if not 0 <= fineness_permille <= 1000:
        raise _LotError("prepare.lot-fineness", Level.STOP, where, text=text.strip())
    return fineness_permille


def _named(
    name: str, limit_g: Figure | None, fineness: Figure | None, alloy: Alloy, where: str
) -> tuple[MeltLot | None, tuple[Finding, ...]]:
    if name == SOLDER or name.startswith(f"{SOLDER}-"):
        return None, (Finding("prepare.lot-solder", Level.STOP, where, {"lot": name, "owner": ""}),)
    if name == SCRAP or name.startswith(f"{SCRAP}-"):
        return _scrap(name, limit_g, fineness, alloy, where)
    if name not in stock_metal_ids():
        close = difflib.get_close_matches(name, (*stock_metal_ids(), SCRAP), n=4, cutoff=0.4)
        candidates = ", ".join(close or (*stock_metal_ids()[:5], SCRAP))
        return None, (Finding("prepare.lot-unknown", Level.STOP, where, {"name": name, "candidates": candidates}),)
    return _bought(stock_metal(name), name, limit_g, fineness, where)


def _scrap(
    name: str, limit_g: Figure | None, fineness: Figure | None, alloy: Alloy, where: str
) -> tuple[MeltLot | None, tuple[Finding, ...]]:
    if alloy.element and fineness is None:
        return None, (Finding("prepare.lot-scrap-fineness", Level.ASK, where, {"name": name}),)
    if not alloy.element and fineness is not None:
        return None, (Finding("prepare.lot-no-fineness", Level.STOP, where, {"name": name, "metal": alloy.title}),)
    counted = fineness or given(0.0, "permille", where)
    certain = counted.low == counted.high
    lot = MeltLot(name, alloy.composition_frac, alloy.element, counted, limit_g, is_scrap=True, certain=certain)
    return _counted(lot), _notes(lot, alloy)


def _bought(
    metal: StockMetal, name: str, limit_g: Figure | None, fineness: Figure | None, where: str
) -> tuple[MeltLot | None, tuple[Finding, ...]]:
    if fineness is not None and not metal.element:
        return None, (Finding("prepare.lot-no-fineness", Level.STOP, where, {"name": name, "metal": metal.title}),)
    held = fineness or from_interval(metal.fineness_permille, "permille", f"stock metals, {metal.id}")
    return _counted(MeltLot(name, metal.composition_frac, metal.element, held, limit_g)), ()


def _counted(lot: MeltLot) -> MeltLot:
    return replace(lot, composition_frac=lot.shares(lot.fineness_permille.value))


def _at_low_end(fineness: Figure) -> Figure:
    return given(fineness.low, "permille", fineness.origin, fineness.low, fineness.high, fineness.sources)


def _notes(lot: MeltLot, alloy: Alloy) -> tuple[Finding, ...]:
    notes = []
    if not lot.certain:
        span = {
            "low": show(lot.fineness_permille.low, "permille"),
            "high": show(lot.fineness_permille.high, "permille"),
        }
        notes.append(Finding("prepare.lot-unknown-fineness", Level.NOTE, lot.name, {"lot": lot.name, **span}))
    beside = [one for one in alloy.composition_frac if one != alloy.element]
    if lot.is_scrap and not alloy.element:
        notes.append(Finding("prepare.lot-scrap-same", Level.NOTE, lot.name, {"lot": lot.name, "alloy": alloy.title}))
    elif lot.is_scrap and len(beside) > 1:
        metals = ", ".join(element(one).title for one in beside)
        params = {"lot": lot.name, "alloy": alloy.title, "metals": metals, "noble": element(alloy.element).title}
        notes.append(Finding("prepare.lot-scrap-rest", Level.NOTE, lot.name, params))
    return tuple(notes)
