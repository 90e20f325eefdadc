"""What differs between two plans: this day's and an earlier one that it repeats."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from pourwright.core.units import show

Document = Mapping[str, Any]


@dataclass(frozen=True)
class Difference:
    """A process value that is not what it was: ``what`` is a catalogue key, then and now as they are printed."""

    what: str
    then: str
    now: str


def differences(then: Document, now: Document) -> tuple[Difference, ...]:
    """Return the process values that differ between two documents of ``plan.json``, in the order of the work.

    Only what a person sets or chooses is compared; what follows from it, such as grams and clock times, is not.
    """
    rows = []
    for what, read in _VALUES.items():
        before, after = read(then), read(now)
        if before != after:
            rows.append(Difference(what, before or "–", after or "–"))
    return tuple(rows)


def likeness(then: Document, now: Document) -> int:
    """Return how many pieces two days have in common by title and material; 0 also where the alloys differ."""
    if _day("alloy")(then) != _day("alloy")(now):
        return 0
    mine, theirs = (_pieces(one) for one in (now, then))
    return sum(min(mine.count(one), theirs.count(one)) for one in set(mine))


def _pieces(plan: Document) -> list[str]:
    return [f"{one.get('title')} {one.get('material')}" for one in plan.get("pieces", ())]


def _day(key: str) -> Callable[[Document], str]:
    return lambda plan: str(plan.get("day", {}).get(key) or "")


def _chosen(rows: str, key: str, name: str, unit: str) -> Callable[[Document], str]:
    """Return a reader of one number of the equipment that the day uses."""

    def read(plan: Document) -> str:
        wanted = plan.get("day", {}).get(key)
        row: Mapping[str, Any] = next(
            (one for one in plan.get("studio", {}).get(rows, ()) if one.get("id") == wanted), {}
        )
        value = row.get(name)
        return show(value, unit) if isinstance(value, (int, float)) else str(value or "")

    return read


def _habit(name: str, unit: str) -> Callable[[Document], str]:
    def read(plan: Document) -> str:
        value = plan.get("studio", {}).get("habits", {}).get(name)
        return show(value, unit) if isinstance(value, (int, float)) else str(value or "")

    return read


def _flasks(read: Callable[[Document], object]) -> Callable[[Document], str]:
    """Return a reader of what all flasks have, each value once."""
    return lambda plan: ", ".join(dict.fromkeys(str(read(one)) for one in plan.get("flasks", ())))


def _holds(plan: Document) -> str:
    steps = plan.get("burnout", {}).get("steps", ())
    return ", ".join(show(one["to_C"], "C") for one in steps if one.get("kind") == "hold")


def _spring(plan: Document) -> str:
    parts = [_chosen("machines", "machine", name, unit)(plan)
             for name, unit in (("torque_start_Nm", "Nm"), ("torque_rate_Nm_turn", "Nm_turn"))]  # fmt: skip
    return ", ".join(one for one in parts if one)


def _lots(plan: Document) -> str:
    return ", ".join(one.get("lot", "") for one in plan.get("stock", ()))


_VALUES: Mapping[str, Callable[[Document], str]] = {
    "prepare.differs-alloy": _day("alloy"),
    "prepare.differs-lots": _lots,
    "prepare.differs-powder": _day("powder"),
    "prepare.differs-powder-opened": _chosen("powders", "powder", "opened_on", ""),
    "prepare.differs-water": _chosen("powders", "powder", "water_ratio", "ratio"),
    "prepare.differs-room": lambda plan: str(plan.get("day", {}).get("room_C") or ""),
    "prepare.differs-kiln": _day("kiln"),
    "prepare.differs-holds": _holds,
    "prepare.differs-soak": _habit("soak_at_casting_min", "min"),
    "prepare.differs-dewax": _habit("dewax", ""),
    "prepare.differs-flask-temperature": _flasks(lambda one: show(one["flask_temperature_C"], "C")),
    "prepare.differs-pour-temperature": _habit("pour_temperature_C", "C"),
    "prepare.differs-crucible": _day("crucible"),
    "prepare.differs-machine": _day("machine"),
    "prepare.differs-spring": _spring,
    "prepare.differs-winding": _flasks(lambda one: show(one["throw"]["wind_turns"], "turns", 1)),
    "prepare.differs-flasks": _flasks(lambda one: one["flask"]),
}
