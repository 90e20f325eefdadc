"""Minutes from the throw to the quench: gated on the hottest metal and on the clock, never on colour."""

from __future__ import annotations

import math

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show, show_in
from pourwright.matter.alloys import Alloy
from pourwright.matter.practice import rule
from pourwright.prepare.quench.cooling import Cooling, minutes_to
from pourwright.prepare.quench.results import QuenchWindow
from pourwright.prepare.rule_figures import End, rule_figure
from pourwright.studio.profile import PrintUnits

# The flask that the rule's minutes were printed for.
_RULE_FLASK_mm = 102.0
# Common practice, no source: what a bare hand can hold; and the room where nobody measured it.
_HAND_WARM_C = 40.0
_ROOM_C = 20.0
_KELVIN_AT_ZERO_C = 273.15
# Nickel above this share makes a gold white; less is an impurity. Common practice, no source.
_NICKEL_WHITE_frac = 0.01
_COPPER_FAMILIES = ("bronze", "brass", "copper")


def quench_window(
    flask: str,
    flask_diameter_mm: Figure,
    alloy: Alloy,
    stones: bool,
    cooling: Cooling | None = None,
    units: PrintUnits | None = None,
) -> QuenchWindow:
    """Return when a cast flask may go into the water.

    Parameters
    ----------
    flask : str
        Id of the flask's load.
    flask_diameter_mm : Figure
        Inside diameter [mm].
    alloy : Alloy
        What was poured.
    stones : bool
        Whether stones were cast in place: then there is no quench.
    cooling : Cooling, optional
        How this size of flask cools, as the studio measured it; without it the practice rule is scaled.
    units : PrintUnits, optional
        Units for the sentences.

    Returns
    -------
    QuenchWindow
        ``basis`` is a catalogue key that says what the minutes rest on. A flask that is not quenched has one time,
        twice: when it is likely to be hand-warm.
    """
    units = units or PrintUnits()
    early, late = _practice_minutes(flask_diameter_mm, "low"), _practice_minutes(flask_diameter_mm, "high")
    if stones or _is_nickel_white(alloy):
        warm = _hand_warm(cooling, early, late)
        slow = _no_quench(flask, alloy, stones, warm)
        return QuenchWindow(warm, warm, "prepare.quench-basis-hand-warm", (slow,))
    findings = [_black_heat(alloy, units), *_by_alloy(alloy), *([] if cooling else [_not_calibrated()])]
    if cooling is None:
        return QuenchWindow(early, late, "prepare.quench-basis-practice", tuple(findings))
    return _calibrated(flask, cooling, early, findings)


def _table_row(rule_id: str) -> str:
    return f"practice.toml {rule_id}"


def _practice_minutes(diameter_mm: Figure, end: End) -> Figure:
    """Scale one end of the rule to another diameter, on the safe side both ways."""
    return reckon(
        "min",
        "prepare.how-quench-practice",
        lambda rule_min, diameter_mm, rule_flask_mm: rule_min * _size_ratio(diameter_mm / rule_flask_mm),
        {
            "rule_min": rule_figure("quench.sterling", end, "min"),
            "diameter_mm": diameter_mm,
            "rule_flask_mm": given(
                _RULE_FLASK_mm, "mm", _table_row("quench.sterling"), sources=rule("quench.sterling").sources
            ),
        },
    )


def _size_ratio(of_rule_ratio: float) -> float:
    return of_rule_ratio**2 if of_rule_ratio > 1 else of_rule_ratio


def _calibrated(flask: str, cooling: Cooling, early: Figure, findings: list[Finding]) -> QuenchWindow:
    """Gate on the measured fall below the hottest allowed, and on the rule's minutes besides."""
    below_gate = minutes_to(cooling, rule_figure("quench.temp", "high", "C"))
    earliest = reckon(
        "min",
        "prepare.how-quench-earliest",
        _later_min,
        {"below_gate_min": below_gate, "practice_min": early},
    )
    latest = minutes_to(cooling, rule_figure("quench.temp", "low", "C"))
    if latest.value < earliest.value:
        params = {
            "flask": flask,
            "earliest": show(earliest.value, "min", 1),
            "latest": show(latest.value, "min", 1),
        }
        findings.append(Finding("prepare.quench-late", Level.LOOK, flask, params, rule("quench.temp").sources))
        latest = earliest
    return QuenchWindow(earliest, latest, "prepare.quench-basis-calibrated", tuple(findings))


def _later_min(below_gate_min: float, practice_min: float) -> float:
    return max(below_gate_min, practice_min)


def _hand_warm(cooling: Cooling | None, early: Figure, late: Figure) -> Figure:
    hand = given(_HAND_WARM_C, "C", "", sources=("none",), how="prepare.assumed-hand")
    if cooling is not None:
        return minutes_to(cooling, hand)
    return reckon(
        "min",
        "prepare.how-hand-warm",
        _hand_warm_min,
        {
            "early_min": early,
            "late_min": late,
            "hot_C": rule_figure("quench.temp", "high", "C"),
            "cool_C": rule_figure("quench.temp", "low", "C"),
            "room_C": given(_ROOM_C, "C", "", sources=("none",), how="prepare.assumed-room"),
            "hand_C": hand,
        },
    )


def _hand_warm_min(
    early_min: float, late_min: float, hot_C: float, cool_C: float, room_C: float, hand_C: float
) -> float:
    """Carry on the fall that the rule's two times and two temperatures imply."""
    tau_min = (late_min - early_min) / math.log((hot_C - room_C) / (cool_C - room_C))
    return late_min + tau_min * math.log((cool_C - room_C) / (hand_C - room_C))


def _is_nickel_white(alloy: Alloy) -> bool:
    return alloy.family == "gold" and alloy.composition_frac.get("Ni", 0.0) > _NICKEL_WHITE_frac


def _no_quench(flask: str, alloy: Alloy, stones: bool, warm: Figure) -> Finding:
    params = {"flask": flask, "alloy": alloy.title, "hours": show(warm.value / 60, "h")}
    if stones:
        return Finding("prepare.quench-stones", Level.LOOK, flask, params, rule("burn.stoneplace").sources)
    return Finding("prepare.quench-nickel", Level.LOOK, flask, params, rule("quench.gold").sources)


def _black_heat(alloy: Alloy, units: PrintUnits) -> Finding:
    last_K = alloy.properties.get("last_freezing", alloy.solidus_K)
    params = {
        "alloy": alloy.title,
        "solidus": show_in(last_K.best - _KELVIN_AT_ZERO_C, "C", units.temperature),
        "gate": show_in(rule_figure("quench.temp", "high", "C").value, "C", units.temperature),
    }
    sources = rule("quench.sterling").sources + last_K.sources
    return Finding("prepare.quench-black-heat", Level.NOTE, "quench", params, sources)


def _by_alloy(alloy: Alloy) -> list[Finding]:
    """Return what practice says of metals that the rule's minutes were not printed for."""
    if alloy.family == "gold":
        return [_alloy_note("prepare.quench-gold", alloy, "quench.gold")]
    if alloy.family in _COPPER_FAMILIES:
        return [_alloy_note("prepare.quench-bronze", alloy, "quench.bronze")]
    return []


def _alloy_note(code: str, alloy: Alloy, rule_id: str) -> Finding:
    return Finding(code, Level.NOTE, "quench", {"alloy": alloy.title}, rule(rule_id).sources)


def _not_calibrated() -> Finding:
    return Finding("prepare.quench-not-measured", Level.NOTE, "quench", {}, rule("quench.sterling").sources)
