"""The last page: shutting down, waste, fire watch, first aid, signatures."""

from __future__ import annotations

from datetime import timedelta

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.safety import prompt
from pourwright.prepare.day_plan import DayPlan
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions
from pourwright.sheet.cover import role_name

# The safety table gives the least the regulation asks; an hour is kept unless the studio is told to keep longer.
_WATCH_MIN = 60.0


def closing(plan: DayPlan) -> dict[str, object]:
    """Return the shutting-down list, the fire watch with its clock times, and the first-aid prompts."""
    last_pour = max((one.pour_at for one in plan.flasks), default=plan.burnout.first_pour)
    least_min = prompt("fire.watch").value or 0.0
    watch_min = max(_WATCH_MIN, least_min)
    zone, day = plan.studio.zone, plan.day.date
    return {
        "steps": [{"role": role_name(role), "text": say(key)} for role, key in _SHUT_DOWN],
        "gas": cautions("gas.flashback"),
        "fire": {
            "last": paper.clock_with_day(last_pour, zone, day),
            "until": paper.clock_with_day(last_pour + timedelta(minutes=watch_min), zone, day),
            "minutes": show(watch_min, "min"),
            "cautions": cautions("fire.watch"),
        },
        "first_aid": cautions("burn.cool", "burn.ring", "burn.call", "burn.eye"),
        "signatures": [role_name(role) for role in ("teacher", "pourer", "caller")],
    }


_SHUT_DOWN = (
    ("pourer", "sheet.close.cylinder"),
    ("pourer", "sheet.close.bleed"),
    ("pourer", "sheet.close.valves"),
    ("pourer", "sheet.close.arm"),
    ("caller", "sheet.close.kiln"),
    ("caller", "sheet.close.extraction"),
    ("caller", "sheet.close.metal"),
)
