"""The weighing table: what each lot gives to each flask, and what is left in the drawer."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import stock_metal
from pourwright.prepare.charge.results import AlloyedCharge
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, StockUse
from pourwright.sheet import show as paper
from pourwright.studio.profile import StockLot

# As many columns as fit the narrower paper with their numbers large.
_FLASKS_ACROSS = 4


def division_of(plan: DayPlan) -> float:
    """Return the smallest step [g] of the scale the day is weighed on."""
    return next(one.division_g.value for one in plan.studio.scales if one.id == plan.day.scale)


def lot_title(plan: DayPlan, lot_id: str) -> str:
    """Return what a lot is, in words."""
    lot = _lot(plan, lot_id)
    if lot is None:
        return ""
    title = say("sheet.scrap") if lot.material == "scrap" else stock_metal(lot.material).title
    owner = say("sheet.lot-owner", owner=paper.user_text(lot.owner)) if lot.owner else ""
    return title + owner


def _lot(plan: DayPlan, lot_id: str) -> StockLot | None:
    return next((one for one in plan.studio.lots if one.id == lot_id), None)


def weighing(plan: DayPlan) -> dict[str, object]:
    """Return the table of the whole day: the drawer, and the pans with a row a lot and a column a flask."""
    starts = range(0, len(plan.flasks), _FLASKS_ACROSS)
    return {
        "lots": [_row(plan, one) for one in plan.stock],
        "tables": [_pan_table(plan, plan.flasks[start : start + _FLASKS_ACROSS]) for start in starts],
        "scale": say("sheet.weighing.scale", scale=plan.day.scale, division=show(division_of(plan), "g")),
    }


def _row(plan: DayPlan, use: StockUse) -> dict[str, object]:
    return {
        "lot": use.lot,
        "title": lot_title(plan, use.lot),
        "have": _on_paper(plan, use.have_g.value),
        "out": _on_paper(plan, use.take_g.value),
        "left": _on_paper(plan, use.left_g.value),
    }


def _pan_table(plan: DayPlan, flasks: Sequence[PlannedFlask]) -> dict[str, object]:
    return {
        "flasks": [one.number for one in flasks],
        "rows": [
            {"lot": use.lot, "title": lot_title(plan, use.lot), "pans": [_pan(plan, one, use.lot) for one in flasks]}
            for use in plan.stock
        ],
        "totals": [_on_paper(plan, one.alloyed.total_g) if one.alloyed else "–" for one in flasks],
        "fineness": [fineness(one.alloyed) if one.alloyed else None for one in flasks],
    }


def _pan(plan: DayPlan, one: PlannedFlask, lot_id: str) -> str:
    mass_g = sum(pan.mass_g for pan in one.alloyed.weigh_to_aim if pan.lot == lot_id) if one.alloyed else 0.0
    return _on_paper(plan, mass_g) if mass_g > 0 else ""


def _on_paper(plan: DayPlan, mass_g: float) -> str:
    return paper.mass(mass_g, plan.studio.units, division_of(plan))


def pans(plan: DayPlan, one: PlannedFlask) -> list[dict[str, str]]:
    """Return the weights of one flask's charge, in the order they go on the pan."""
    if one.alloyed is None:
        return []
    return [
        {"lot": pan.lot, "title": lot_title(plan, pan.lot), "mass": _on_paper(plan, pan.mass_g)}
        for pan in one.alloyed.weigh_to_aim
        if pan.mass_g > 0
    ]


def fineness(charge: AlloyedCharge) -> dict[str, object]:
    """Return fineness of the pan as aimed for, and the worst the scale and lots allow."""
    return {
        "aim": _permille(charge.aim_permille),
        "worst": _permille(charge.aim_low_permille),
        "scrap": show(100.0 * charge.scrap_frac, "percent", 0),
    }


def _permille(figure: Figure) -> str:
    return show(figure.value, "permille")
