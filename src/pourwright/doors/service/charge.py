"""Weigh a charge together: what to put on the pan, and how sure the fineness is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pourwright.core.errors import DataError, UnitError
from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import UnclearUnitError, read, show
from pourwright.matter.alloys import Alloy
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.practice import rule
from pourwright.prepare.charge.alloying import alloy_charge
from pourwright.prepare.charge.lots import MeltLot, lot_from_text
from pourwright.prepare.charge.results import AlloyedCharge, Weighing

_EXACT_DIGITS = 4
_FINENESS_DIGITS = 2
_COLUMN_GAP = 3
_BINARY_DUST = 1e-6


@dataclass(frozen=True)
class ChargeAnswer:
    """A charge with the alloy and the scale (one mark, its error [g]) it is for; result None if findings stop it."""

    findings: tuple[Finding, ...]
    result: AlloyedCharge | None
    alloy: Alloy | None = None
    scale_division_g: float = 0.0
    scale_error_g: float = 0.0


def charge(alloy_id: str, mass_text: str, uses: Sequence[str], scale_text: str) -> ChargeAnswer:
    """Work out a charge from texts as typed.

    Parameters
    ----------
    alloy_id : str
        As in the tables.
    mass_text : str
        Mass wanted, with its unit.
    uses : sequence of str
        Lots, ``NAME[:MASS][@FINENESS[..FINENESS]]``, in the order of preference.
    scale_text : str
        One mark of the scale, with its unit; a weighing may be off by half of it.

    Returns
    -------
    ChargeAnswer
        All that is wrong with the texts at once, or the charge.
    """
    alloy, found = _alloy(alloy_id)
    mass_g, wrong_mass = _grams(mass_text, "--mass")
    division_g, wrong_scale = _grams(scale_text, "--scale")
    found += wrong_mass + wrong_scale
    lots, notes = _lots(uses, alloy) if alloy else ((), ())
    found += notes
    if alloy is None or stops(found):
        return ChargeAnswer(found, None, alloy)
    error_g = division_g / 2.0
    scrap_most_frac = 1.0 - (rule("melt.scrap").low or 0.0) / 100.0
    result, more = alloy_charge(alloy, mass_g, lots, error_g, division_g, scrap_most_frac, alloy_id)
    return ChargeAnswer((*found, *more), result, alloy, division_g, error_g)


def _alloy(alloy_id: str) -> tuple[Alloy | None, tuple[Finding, ...]]:
    try:
        return find_alloy(alloy_id), ()
    except DataError as unknown:
        return None, (Finding("doors.charge-alloy", Level.STOP, "--alloy", {"reason": str(unknown)}),)


def _grams(text: str, where: str) -> tuple[float, tuple[Finding, ...]]:
    try:
        return read(text, "g", where), ()
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        return 0.0, (Finding("doors.charge-amount", level, where, {"reason": str(problem)}),)


def _lots(uses: Sequence[str], alloy: Alloy) -> tuple[tuple[MeltLot, ...], tuple[Finding, ...]]:
    lots: list[MeltLot] = []
    found: list[Finding] = []
    for text in uses:
        lot, notes = lot_from_text(text, alloy)
        found += notes
        if lot is not None:
            lots.append(lot)
    return tuple(lots), tuple(found)


def as_json(answer: ChargeAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; on refusal the same keys, lists empty and numbers null."""
    found = answer.result
    return {
        "weigh": _plain(found.weigh) if found else [],
        "total_g": found.total_g if found else None,
        "fineness_permille": _rounded(found.fineness_permille) if found else None,
        "fineness_low_permille": _rounded(found.fineness_low_permille) if found else None,
        "aim_permille": _rounded(found.aim_permille) if found else None,
        "aim_low_permille": _rounded(found.aim_low_permille) if found else None,
        "weigh_to_aim": _plain(found.weigh_to_aim) if found else [],
        "scrap_frac": round(found.scrap_frac, 6) if found else None,
        "findings": [one.as_json() for one in answer.findings],
    }


def _plain(weighings: Sequence[Weighing]) -> list[dict[str, Any]]:
    return [{"lot": one.lot, "mass_g": one.mass_g} for one in weighings]


def _rounded(fineness: Figure) -> float:
    return round(fineness.value, _EXACT_DIGITS)


def as_text(answer: ChargeAnswer) -> str:
    """Return the answer as a table: what to weigh first, the exact mixture beside it, then how sure the fineness is."""
    found, alloy = answer.result, answer.alloy
    if found is None or alloy is None:
        return ""
    digits = decimals_of(answer.scale_division_g)
    rows = [
        ("", say("doors.charge-act"), say("doors.charge-exact")),
        *_mass_rows(found, digits),
        ("", "", ""),
        (say("doors.charge-fineness"), _fine(found.aim_permille), _fine(found.fineness_permille)),
        (say("doors.charge-worst"), _fine_low(found.aim_low_permille), _fine_low(found.fineness_low_permille)),
    ]
    title = say(
        "doors.charge-title", alloy=alloy.title, mass=show(sum(one.mass_g for one in found.weigh_to_aim), "g", digits)
    )
    return "\n".join([title, "", *_table(rows), "", _why(answer, found, alloy)])


def _mass_rows(found: AlloyedCharge, digits: int) -> list[tuple[str, str, str]]:
    exact = {one.lot: show(one.mass_g, "g", _EXACT_DIGITS) for one in found.weigh}
    act = {one.lot: show(one.mass_g, "g", digits) for one in found.weigh_to_aim}
    total = show(sum(one.mass_g for one in found.weigh_to_aim), "g", digits)
    lots = [(lot, act.get(lot, "–"), exact.get(lot, "–")) for lot in dict.fromkeys([*act, *exact])]
    return [*lots, (say("doors.charge-together"), total, show(found.total_g, "g", _EXACT_DIGITS))]


def _fine(fineness: Figure) -> str:
    return show(fineness.value, "permille", _FINENESS_DIGITS)


def _fine_low(fineness: Figure) -> str:
    return fine_down(fineness.value)


def fine_down(fineness_permille: float) -> str:
    """Show a fineness rounded down, so that a worst case just below the standard never reads as the standard."""
    scale = 10**_FINENESS_DIGITS
    return show(math.floor(fineness_permille * scale + _BINARY_DUST) / scale, "permille", _FINENESS_DIGITS)


def decimals_of(division_g: float) -> int:
    """Return how many decimals a mark of a scale needs in grams."""
    exponent = Decimal(str(division_g)).normalize().as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else 0


def _table(rows: Sequence[tuple[str, str, str]]) -> list[str]:
    widths = [max(len(row[column]) for row in rows) for column in range(3)]
    gap = " " * _COLUMN_GAP
    lines = [f"  {row[0]:<{widths[0]}}{gap}{row[1]:>{widths[1]}}{gap}{row[2]:>{widths[2]}}" for row in rows]
    return [line.rstrip() for line in lines]


def _why(answer: ChargeAnswer, found: AlloyedCharge, alloy: Alloy) -> str:
    error = show(answer.scale_error_g, "g", decimals_of(answer.scale_error_g))
    if not alloy.element:
        return say("doors.charge-why-no-mark", error=error)
    standard = show(alloy.fineness_permille, "permille", 0)
    if found.fineness_low_permille.value >= alloy.fineness_permille:
        return say("doors.charge-why-safe", error=error, standard=standard)
    low = _fine_low(found.fineness_low_permille)
    return say("doors.charge-why", error=error, standard=standard, low=low, aim=_fine(found.aim_permille))
