"""A charge from a stock: what to weigh for the scale in use, and the exact mixture beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.matter.alloys import Alloy
from pourwright.prepare.charge.ages import ages_frac
from pourwright.prepare.charge.alloying import WEIGH_STEP_G
from pourwright.prepare.charge.marks import in_steps, marks_up
from pourwright.prepare.charge.optimum.cheapest import appraise, cheapest_charge, likely_charge
from pourwright.prepare.charge.optimum.request import BestCharge, Obstacle, Request, StockPart
from pourwright.prepare.charge.optimum.wish import Windows, narrow_windows, wide_windows
from pourwright.prepare.charge.results import Weighing


@dataclass(frozen=True)
class StockCharge:
    """A charge from a stock.

    Parameters
    ----------
    weigh : tuple of Weighing
        The exact mixture at its standard, by the best values of the lots.
    exact, aim : BestCharge
        What the exact mixture comes to on this scale, and the charge to weigh.
    request : Request
        What was asked, with the windows that were kept.
    ages_frac : mapping of int to float
        Share of the charge to weigh by earlier melts.
    """

    weigh: tuple[Weighing, ...]
    exact: BestCharge
    aim: BestCharge
    request: Request
    ages_frac: Mapping[int, float]


def charge_from_stock(
    alloy: Alloy,
    parts: Sequence[StockPart],
    request: Request,
    windows_frac: Windows,
    meets_least_frac: float | None = None,
) -> tuple[StockCharge | None, tuple[Obstacle, ...]]:
    """Find the charge of least cost from a stock.

    Parameters
    ----------
    alloy : Alloy
        What it is to be.
    parts : sequence of StockPart
        What may be used.
    request : Request
        Mass, scale and limits; a mass between two marks of the scale is taken to the upper one.
    windows_frac : mapping of str to (float, float)
        Own windows; metals without one stay close to the alloy if they can, else within reach of it.
    meets_least_frac : float or None
        Probability of the standard that is enough; None keeps it in the worst case.

    Returns
    -------
    charge : StockCharge or None
        None when no charge keeps all limits.
    obstacles : tuple of Obstacle
        Then: what stands in the way, and how far it would have to give.
    """
    step_g = request.scale_division_g
    whole = replace(request, mass_g=in_steps(marks_up(request.mass_g, step_g), step_g))
    standing: tuple[Obstacle, ...] = ()
    for windows in (narrow_windows, wide_windows):
        asked = replace(whole, windows_frac=windows(alloy, parts, windows_frac))
        if meets_least_frac is None:
            found, standing = cheapest_charge(parts, asked)
        else:
            found, standing = likely_charge(parts, asked, meets_least_frac)
        if found is not None:
            return _with_exact(found, parts, asked), ()
    return None, standing


def _with_exact(aim: BestCharge, parts: Sequence[StockPart], request: Request) -> StockCharge:
    """Add the exact mixture of the same lots, in steps finer than any scale."""
    used = [one for one in parts if one.lot in {weighed.lot for weighed in aim.weigh}]
    fine = replace(request, scale_division_g=WEIGH_STEP_G, scale_error_g=0.0, weigh_least_g=0.0, guard_frac=0.0)
    found, _none = cheapest_charge(used, fine)
    weigh = found.weigh if found else aim.weigh
    melts = {one.lot: one.melts_count for one in used}
    ages = ages_frac((melts[one.lot], one.mass_g) for one in aim.weigh)
    return StockCharge(weigh, appraise(weigh, used, request), aim, request, ages)
