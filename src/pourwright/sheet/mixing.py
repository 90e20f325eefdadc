"""The mixing page: each bowl with its powder, water and clock."""

from __future__ import annotations

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.day_plan import DayPlan
from pourwright.prepare.mould.results import Batch, ClockStep
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions
from pourwright.sheet.kiln import flask_name, load_of

# The bar is drawn a little past the limit, so that the limit shows as a line in it.
_BEYOND = 1.12


def mixing(plan: DayPlan) -> dict[str, object]:
    """Return bowls, amounts for each flask and what is left of the powder."""
    return {
        "powder": plan.day.powder,
        "invest_by": paper.clock_with_day(plan.burnout.invest_by, plan.studio.zone, plan.day.date),
        "bowls": [_bowl(plan, number, batch) for number, batch in enumerate(plan.mix.batches, 1)],
        "flasks": [
            {
                "flask": flask_name(plan, one.flask),
                "powder": show(one.powder_g.value, "g", 0),
                "water": show(one.water_g.value, "g", 0),
                "scratch": _scratch(plan, one.flask),
            }
            for one in plan.mix.flasks
        ],
        "left": show(plan.mix.powder_left_g.value, "g", 0),
        "cautions": cautions("sil.where", "sil.resp", "sil.nosweep"),
    }


def _scratch(plan: DayPlan, key: str) -> str:
    load = load_of(plan, key)
    return "" if load is None else str(load.number)


def _bowl(plan: DayPlan, number: int, batch: Batch) -> dict[str, object]:
    longest_min = _BEYOND * max([batch.limit_min.value, *(one.end_min for one in batch.clock)])
    return {
        "number": number,
        "flasks": ", ".join(flask_name(plan, one) for one in batch.flasks),
        "powder": paper.shown(batch.powder_g, plan.studio.units, 0) | {"text": show(batch.powder_g.value, "g", 0)},
        "water": paper.shown(batch.water_g, plan.studio.units, 0) | {"text": show(batch.water_g.value, "g", 0)},
        "clock": [_clock_step(plan, one, longest_min) for one in batch.clock],
        "ends": paper.shown(batch.ends_min, plan.studio.units, 1),
        "limit": paper.shown(batch.limit_min, plan.studio.units, 1),
        "limit_share": batch.limit_min.value / longest_min,
    }


def _clock_step(plan: DayPlan, one: ClockStep, longest_min: float) -> dict[str, object]:
    return {
        "name": say(one.step),
        "flasks": ", ".join(flask_name(plan, flask) for flask in one.flasks),
        "span": say("sheet.span-wide", low=paper.trimmed(one.start_min), high=f"{paper.trimmed(one.end_min)}\u00a0min"),
        "start_share": one.start_min / longest_min,
        "end_share": one.end_min / longest_min,
    }
