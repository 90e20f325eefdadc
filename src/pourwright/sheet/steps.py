"""What is done at the bench for one flask, in order: each step is one role's, each confirmation its own."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import alloy
from pourwright.matter.practice import rule
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions
from pourwright.sheet.cover import charge_text, role_name, winding

_ZINC_FAMILIES = ("brass", "bronze")


@dataclass(frozen=True)
class Step:
    """One line of a checklist: who, which sentence, which cautions stand under it, which marks it carries.

    ``boxes`` is the key of a list, parted by bars, of things that each get a box of their own on the line.
    """

    role: str
    key: str
    prompts: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    boxes: str = ""


def _rule_marks(*rule_ids: str) -> tuple[str, ...]:
    return tuple(paper.source_marks(key for one in rule_ids for key in rule(one).sources))


def cold_steps(plan: DayPlan, one: PlannedFlask) -> list[dict[str, object]]:
    """Return the checks before the torch is lit, the winding last."""
    uncalibrated = () if one.throw.calibrated else ("uncalibrated",)
    steps = (
        Step("caller", "sheet.step.numbers"),
        Step("pourer", "sheet.step.crucible"),
        Step("pourer", "sheet.step.mark", marks=uncalibrated),
        Step("caller", "sheet.step.mark-read"),
        Step("pourer", "sheet.step.pin"),
        Step("pourer", "sheet.step.dry-fit", ("ppe.hot",)),
        Step("pourer", "sheet.step.turn-free"),
        Step("caller", "sheet.step.guard", ("spin.guard",)),
        Step("caller", "sheet.step.area", ("steam.dry",)),
        Step("pourer", "sheet.step.dry-run"),
        Step("pourer", "sheet.step.wind", ("spin.wound",), tuple(winding(one)["marks"])),  # type: ignore[arg-type]
        Step("caller", "sheet.step.held"),
    )
    return _written(plan, one, steps)


def melt_steps(plan: DayPlan, one: PlannedFlask) -> list[dict[str, object]]:
    """Return the steps from dressing to bright metal."""
    metal = alloy(plan.day.alloy)
    fumes = ("fume.zn",) if metal.family in _ZINC_FAMILIES else ()
    ready = "sheet.step.ready" if plan.studio.habits.pour_temperature_C is None else "sheet.step.ready-at"
    steps = (
        Step("caller", "sheet.step.dressed", ("ppe.cloth", "eye.shade.braze", *fumes)),
        Step("pourer", "sheet.step.preheat"),
        Step("pourer", "sheet.step.charge", marks=_rule_marks("melt.flux")),
        Step("pourer", "sheet.step.flame", marks=_rule_marks("melt.stir")),
        Step("pourer", ready),
    )
    return _written(plan, one, steps)


def flask_steps(plan: DayPlan, one: PlannedFlask) -> list[dict[str, object]]:
    """Return the steps from the kiln door to the cradle."""
    fetcher = "helper" if any(person.role == "helper" for person in plan.day.people) else "caller"
    steps = (
        Step(fetcher, "sheet.step.read-number"),
        Step(fetcher, "sheet.step.to-cradle", marks=_rule_marks("burn.out.to.pour")),
        Step("caller", "sheet.step.by-eye", boxes="sheet.step.by-eye-boxes"),
    )
    return _written(plan, one, steps)


def release(plan: DayPlan, one: PlannedFlask) -> dict[str, object]:
    """Return the caller's three questions, each with its own box, and what follows the last yes."""
    steps = (
        Step("caller", "sheet.step.say-release"),
        Step("pourer", "sheet.step.let-go"),
        Step("caller", "sheet.step.start-timers"),
    )
    return {
        "calls": [say(key) for key in ("sheet.call.mouth", "sheet.call.crucible", "sheet.call.people")],
        "steps": _written(plan, one, steps),
    }


def tub(plan: DayPlan) -> dict[str, object]:
    """Return the steps from release to the quench tub, the same for every flask, and the quench's prompts."""
    steps = (
        Step("caller", "sheet.step.spin-down", marks=_rule_marks("spin.duration")),
        Step("pourer", "sheet.step.stand"),
    )
    return {
        "steps": [step for one in plan.flasks[:1] for step in _written(plan, one, steps)],
        "cautions": cautions("steam.quench", "quench.scald", "sil.resp"),
    }


def _written(plan: DayPlan, one: PlannedFlask, steps: tuple[Step, ...]) -> list[dict[str, object]]:
    params = _params(plan, one)
    return [
        {
            "role": role_name(step.role),
            "caller": step.role == "caller",
            "text": say(step.key, **params),
            "boxes": say(step.boxes).split("|") if step.boxes else [],
            "marks": list(step.marks),
            "cautions": cautions(*step.prompts),
        }
        for step in steps
    ]


def _params(plan: DayPlan, one: PlannedFlask) -> dict[str, str]:
    units, wind = plan.studio.units, winding(one)
    pour_C = plan.studio.habits.pour_temperature_C
    return {
        "number": str(one.number),
        "flask": one.flask,
        "crucible": plan.day.crucible,
        "charge": charge_text(plan, one),
        "mark": str(paper.shown(one.throw.balance.mark_mm, units)["text"]),
        "turns": str(wind["text"]),
        "range": str(wind["range"]),
        "limit": str(wind["most"]),
        "out_most": show(rule("burn.out.to.pour").high or 0.0, "s"),
        "spin_least": show(rule("spin.duration").low or 0.0, "s"),
        "temperature": "" if pour_C is None else str(paper.shown(pour_C, units)["text"]),
    }
