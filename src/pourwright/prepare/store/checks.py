"""Equipment checks that come round: which are due, and which stop the day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.prepare.store.results import EquipmentDue
from pourwright.studio.profile import EquipmentCheck

_NAMES = {
    "scale": "prepare.check-scale",
    "thermocouple": "prepare.check-thermocouple",
    "pin-and-spring": "prepare.check-pin-and-spring",
    "hoses": "prepare.check-hoses",
    "eyewash": "prepare.check-eyewash",
    "extinguisher": "prepare.check-extinguisher",
}


def equipment_due(
    checks: Sequence[EquipmentCheck], on: date, stops: Sequence[str]
) -> tuple[tuple[EquipmentDue, ...], tuple[Finding, ...]]:
    """Return every check with its due date, the soonest first, and a finding for each that is overdue.

    Parameters
    ----------
    checks : sequence of EquipmentCheck
        As the studio keeps them.
    on : date
        The day of the plan.
    stops : sequence of str
        Kinds of check without which nothing is cast; the others are pointed out.
    """
    rows = sorted((_due(one, on) for one in checks), key=lambda one: (one.due or date.min, one.what, one.of))
    findings = tuple(_overdue(one, Level.STOP if one.what in stops else Level.LOOK) for one in rows if one.overdue)
    return tuple(rows), findings


def _due(one: EquipmentCheck, on: date) -> EquipmentDue:
    due = one.last + timedelta(hours=one.every_h.value) if one.last else None
    return EquipmentDue(one.what, one.of, one.last, due, due is None or due < on, one.by, one.against)


def _overdue(one: EquipmentDue, level: Level) -> Finding:
    name = f"{check_name(one.what)} ({one.of})" if one.of else check_name(one.what)
    if one.due is None:
        return Finding("prepare.check-never", level, one.of or one.what, {"check": name})
    params = {"check": name, "last": one.last, "due": one.due}
    return Finding("prepare.check-overdue", level, one.of or one.what, params)


def check_name(what: str) -> str:
    """Return what a kind of check is called on paper."""
    return say(_NAMES[what])
