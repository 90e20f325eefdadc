"""What is to be known and done before the day: what is not as last time, supplies, checks due, work on the patterns."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from pourwright.core.figure import Figure, reckon
from pourwright.core.text import say
from pourwright.core.units import show_in
from pourwright.prepare.after.results import Step
from pourwright.prepare.day_plan import DayPlan
from pourwright.prepare.store.checks import check_name
from pourwright.prepare.store.results import EquipmentDue, SupplyUse
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions
from pourwright.sheet.cover import role_name


def before(plan: DayPlan) -> dict[str, object]:
    """Return supplies, checks and steps before investing; empty lists where the plan says nothing."""
    supplies, care = plan.supplies, plan.aftercare
    return {
        "supplies": supply_rows(plan),
        "checks": [_check(one) for one in supplies.checks] if supplies else [],
        "steps": steps_with_boxes(plan, care.before) if care else [],
    }


def unlike_last_time(plan: DayPlan) -> dict[str, object] | None:
    """Return what is not as on the earlier day most like this one; None where there is no such day."""
    if not plan.repeats:
        return None
    rows = [
        {"what": _capital(say(one.what)), "then": paper.user_text(one.then), "now": paper.user_text(one.now)}
        for one in plan.differences
    ]
    return {"day": paper.long_date(date.fromisoformat(plan.repeats)), "rows": rows}


def supply_rows(plan: DayPlan) -> list[dict[str, object]]:
    """Return powder, gas and whatever else the day uses up, each with what is there, needed and left, in words too."""
    uses = plan.supplies.uses if plan.supplies else ()
    return [_supply(plan, one) for one in (*_powder_use(plan), *uses)]


def _powder_use(plan: DayPlan) -> list[SupplyUse]:
    have = next((one.stock_g for one in plan.studio.powders if one.id == plan.day.powder), None)
    if have is None or not plan.mix.batches:
        return []
    title = say("sheet.before.powder")
    return [SupplyUse(plan.day.powder, title, have, _sum_of_bowls(plan), plan.mix.powder_left_g)]


def _sum_of_bowls(plan: DayPlan) -> Figure:
    bowls = {f"bowl_{number}_g": one.powder_g for number, one in enumerate(plan.mix.batches, 1)}
    return reckon("g", "sheet.how-all-bowls", lambda **each_g: sum(each_g.values()), bowls)


def _supply(plan: DayPlan, one: SupplyUse) -> dict[str, object]:
    unit = plan.studio.units.mass
    have, take, left = (show_in(mass.value, "g", unit, 0) for mass in (one.have_g, one.take_g, one.left_g))
    return {
        "id": one.id,
        "title": paper.user_text(one.title),
        "have": have,
        "out": take,
        "left": left,
        "short": one.left_g.low < 0,
        "state": _supply_state(one, unit),
    }


def _supply_state(one: SupplyUse, unit: str) -> str:
    if one.left_g.value < 0:
        return say("sheet.before.lacking", much=show_in(-one.left_g.value, "g", unit, 0))
    return say("sheet.before.barely" if one.left_g.low < 0 else "sheet.before.enough")


def _check(one: EquipmentDue) -> dict[str, object]:
    name = _capital(check_name(one.what))
    return {
        "name": f"{name} ({paper.user_text(one.of)})" if one.of else name,
        "against": paper.user_text(one.against),
        "last": say("sheet.before.never") if one.last is None else _short_date(one.last),
        "due": "–" if one.due is None else _short_date(one.due),
        "state": say("sheet.before.overdue" if one.overdue else "sheet.before.in-time"),
        "overdue": one.overdue,
    }


def _short_date(day: date) -> str:
    return say("sheet.date-short", day=day.day, month=say("sheet.months-short").split()[day.month - 1], year=day.year)


def steps_with_boxes(plan: DayPlan, steps: Sequence[Step]) -> list[dict[str, object]]:
    """Return steps as the other pages print them, each with the boxes to write in; every caution stands once."""
    told: set[str] = set()
    rows = []
    for one in steps:
        rows.append(_step(plan, one, tuple(prompt for prompt in one.prompts if prompt not in told)))
        told.update(one.prompts)
    return rows


def _step(plan: DayPlan, one: Step, prompts: tuple[str, ...]) -> dict[str, object]:
    blanks = {name: paper.user_text(paper.short_ids(words, plan.day.date)) for name, words in one.params.items()}
    return {
        "role": role_name(one.role),
        "caller": one.role == "caller",
        "text": say(one.what, **blanks) + ".",
        "boxes": [],
        "marks": [],
        "write_in": [_capital(say(key)) for key in one.write_in],
        "cautions": cautions(*prompts),
    }


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
