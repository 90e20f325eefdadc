"""From the cold flask to the finished piece: steps, the weigh-up, the question before a sale, clean-up and waste."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from pourwright.core.text import say
from pourwright.core.units import show_in
from pourwright.matter.alloys import alloy
from pourwright.matter.assay import ASK, AssayQuestion
from pourwright.prepare.after.results import Step
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.sheet import show as paper
from pourwright.sheet.before import steps_with_boxes
from pourwright.sheet.cautions import cautions
from pourwright.sheet.cover import charge_text, role_name

_CLEAN_UP = (
    ("helper", "sheet.clean.step-tub"),
    ("helper", "sheet.clean.step-mould"),
    ("helper", "sheet.clean.step-wipe"),
    ("pourer", "sheet.clean.step-metal"),
    ("pourer", "sheet.clean.step-pickle"),
)
_CUT_OFF = "prepare.step-cut"
_RESIN = ("helper", "sheet.clean.step-resin")
_PRINTED = ("resin", "wax-resin")


def after(plan: DayPlan) -> dict[str, object] | None:
    """Return the steps after the quench and the question before a piece is sold; None without an aftercare."""
    care = plan.aftercare
    if care is None:
        return None
    return {
        "steps": steps_with_boxes(plan, [_weighed_there(one) for one in care.after]),
        "weigh_up": weigh_up(plan),
        "assay": assay(plan, care.assay),
    }


def _weighed_there(one: Step) -> Step:
    """Return the cutting off without its boxes: the weigh-up has a line for each, and nothing is written twice."""
    return replace(one, write_in=()) if one.what == _CUT_OFF else one


def weigh_up(plan: DayPlan) -> list[dict[str, object]]:
    """Return for each flask what is put on the scale after cutting off: planned where the plan knows it."""
    by_id = {piece.id: piece for piece in plan.pieces}
    return [_weigh_flask(plan, one, by_id) for one in plan.flasks]


def _weigh_flask(plan: DayPlan, one: PlannedFlask, by_id: Mapping[str, PlannedPiece]) -> dict[str, object]:
    units = plan.studio.units
    return {
        "number": one.number,
        "flask": one.flask,
        "charge": charge_text(plan, one),
        "pieces": [
            {
                "short": paper.short_id(piece),
                "title": paper.user_text(by_id[piece].title),
                "mass": paper.shown(by_id[piece].cast_g, units, 2)["text"],
            }
            for piece in one.pieces
        ],
    }


def assay(plan: DayPlan, question: AssayQuestion) -> dict[str, object]:
    """Return what to ask before a piece is sold, and the mass above which it applies where the country has one."""
    limit = question.limits_g.get(alloy(plan.day.alloy).element)
    return {
        "title": "" if question.id == ASK else question.title,
        "text": question.statement,
        "marks": paper.source_marks(question.sources),
        "limit": "" if limit is None else show_in(limit.best, "g", plan.studio.units.mass, 2),
    }


def clean_up(plan: DayPlan) -> dict[str, object]:
    """Return how the room is left: dust, spent mould, pickle, metal; resin where it was printed."""
    printed = any(piece.family in _PRINTED for piece in plan.pieces)
    steps = (*_CLEAN_UP, *((_RESIN,) if printed else ()))
    return {
        "steps": [{"role": role_name(role), "text": say(key)} for role, key in steps],
        "marks": ["practice"],
        "waste": cautions("sil.nosweep", "dust.noblow", "devest.acid", "acid.order", "acid.hot", "acid.spill"),
    }
