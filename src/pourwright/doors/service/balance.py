"""Find the mark on the arm from texts as typed: dry flask, crucible, metal, weight."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pourwright.core.errors import UnitError
from pourwright.core.figure import Figure, given
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import SUFFIXES, UnclearUnitError, read, show
from pourwright.prepare.throw.balancing import ArmLoad, balance_arm
from pourwright.prepare.throw.results import Balance

_DIGITS = {"mm": 3, "N": 3, "kgm": 6, "rpm": 1}
_ARM_COLUMNS = 60
_G_KG = 1000


@dataclass(frozen=True)
class BalanceAnswer:
    """Marks and forces with what stands on the arm; result and load are None if findings stop it."""

    findings: tuple[Finding, ...]
    result: Balance | None = None
    load: ArmLoad | None = None


def balance(
    flask: str, crucible: str, charge: str, weight: str, arm: str = "0 kg.m", rpm: str = "300 rpm"
) -> BalanceAnswer:
    """Work out where the weight goes.

    Parameters
    ----------
    flask, crucible : str
        ``MASS@DISTANCE`` from the shaft; the flask dry and with its cradle.
    charge : str
        ``MASS@DISTANCE..DISTANCE``: where the metal is before and after it has run.
    weight : str
        Mass of the weight that slides on the arm.
    arm : str
        The bare arm's own moment, positive on the flask's side.
    rpm : str
        Speed at which forces are stated.

    Returns
    -------
    BalanceAnswer
        All that is wrong with the texts at once, or the marks.
    """
    found: list[Finding] = []
    flask_kg, flask_mm = _standing(flask, "--flask", found)
    crucible_kg, crucible_mm = _standing(crucible, "--crucible", found)
    charge_kg, charge_mm, metal_mm = _running(charge, "--charge", found)
    load = ArmLoad(
        flask_kg=flask_kg,
        flask_mm=flask_mm,
        crucible_kg=crucible_kg,
        crucible_mm=crucible_mm,
        charge_g=given(charge_kg.value * _G_KG, "g", "--charge"),
        charge_mm=charge_mm,
        metal_mm=metal_mm,
        weight_kg=_positive(weight, "kg", "--weight", found),
        arm_kgm=_number(arm, "kgm", "--arm", found),
    )
    stated_rpm = _positive(rpm, "rpm", "--rpm", found)
    if stops(found):
        return BalanceAnswer(tuple(found))
    result = balance_arm(load, say("doors.balance-where"), stated_rpm)
    if result.mark_mm.value <= 0:
        found.append(Finding("doors.balance-no-mark", Level.STOP, "--arm", {"arm": show(load.arm_kgm.value, "kgm")}))
        return BalanceAnswer(tuple(found))
    return BalanceAnswer(result.findings, result, load)


def as_json(answer: BalanceAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; on refusal the same keys with null."""
    plain = {key: answer.result and _exact(figure(answer.result)) for key, figure in _ANSWERED.items()}
    return {**plain, "findings": [one.as_json() for one in answer.findings]}


_ANSWERED: dict[str, Callable[[Balance], Figure]] = {
    "mark_mm": lambda found: found.mark_mm,
    "start_mark_mm": lambda found: found.start_mark_mm,
    "halfway_mark_mm": lambda found: found.halfway_mark_mm,
    "moment_start_kgm": lambda found: found.moment_start_kgm,
    "start_force_N": lambda found: found.start_force_N,
    "residual_force_N": lambda found: found.residual_force_N,
    "stated_rpm": lambda found: found.start_force_N.inputs["stated_rpm"],
}


def _exact(figure: Figure) -> float:
    return round(figure.value, _DIGITS[figure.unit])


def as_text(answer: BalanceAnswer) -> str:
    """Return the mark, the arm drawn to scale, and the two other states with their forces."""
    found, load = answer.result, answer.load
    if found is None or load is None:
        return ""
    speed = show(found.start_force_N.inputs["stated_rpm"].value, "rpm")
    params = {
        "mark": show(found.mark_mm.value, "mm"),
        "weight": show(load.weight_kg.value, "kg"),
        "start": show(found.start_mark_mm.value, "mm"),
        "halfway": show(found.halfway_mark_mm.value, "mm"),
        "start_force": show(found.start_force_N.value, "N"),
        "halfway_force": show(found.residual_force_N.value, "N"),
        "speed": speed,
    }
    lines = [say("doors.balance-mark", **params), "", *_drawing(load, found), ""]
    lines += [say(key, **params) for key in ("doors.balance-start", "doors.balance-halfway")]
    return "\n".join(lines)


def _standing(text: str, where: str, found: list[Finding]) -> tuple[Figure, Figure]:
    """Read ``MASS@DISTANCE``."""
    mass, at, distance = text.partition("@")
    if not at:
        found.append(Finding("doors.balance-no-distance", Level.STOP, where, {"text": text}))
        return given(0.0, "kg", where), given(0.0, "mm", where)
    return _positive(mass, "kg", where, found), _positive(distance, "mm", where, found)


def _running(text: str, where: str, found: list[Finding]) -> tuple[Figure, Figure, Figure]:
    """Read ``MASS@DISTANCE..DISTANCE``."""
    mass, at, way = text.partition("@")
    start, dots, end = way.partition("..")
    if not at or not dots:
        found.append(Finding("doors.balance-no-way", Level.STOP, where, {"text": text}))
        return given(0.0, "kg", where), given(0.0, "mm", where), given(0.0, "mm", where)
    start_mm, end_mm = (_positive(one, "mm", where, found) for one in (start, end))
    return _positive(mass, "kg", where, found), start_mm, end_mm


def _number(text: str, suffix: str, where: str, found: list[Finding]) -> Figure:
    try:
        return given(read(text, SUFFIXES[suffix], where), suffix, where)
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        found.append(Finding("doors.balance-amount", level, where, {"reason": str(problem)}))
        return given(0.0, suffix, where)


def _positive(text: str, suffix: str, where: str, found: list[Finding]) -> Figure:
    problems = len(found)
    figure = _number(text, suffix, where, found)
    if len(found) == problems and figure.value <= 0:
        found.append(Finding("doors.balance-not-positive", Level.STOP, where, {"text": text.strip()}))
    return figure


def _drawing(load: ArmLoad, found: Balance) -> list[str]:
    """Draw the straight arm to scale, the weight on the left of the shaft, and name its letters below."""
    places = [
        (say("doors.balance-letter-weight"), -found.mark_mm.value, "doors.balance-is-weight", load.weight_kg, "kg"),
        (say("doors.balance-letter-shaft"), 0.0, "doors.balance-is-shaft", None, ""),
        (
            say("doors.balance-letter-crucible"),
            load.crucible_mm.value,
            "doors.balance-is-crucible",
            load.crucible_kg,
            "kg",
        ),
        (say("doors.balance-letter-flask"), load.flask_mm.value, "doors.balance-is-flask", load.flask_kg, "kg"),
    ]
    left_mm, right_mm = places[0][1], max(place for _, place, *_ in places)
    row = ["─"] * (_ARM_COLUMNS + 1)
    names = []
    for letter, place_mm, key, mass, unit in places:
        row[round((place_mm - left_mm) / (right_mm - left_mm) * _ARM_COLUMNS)] = letter
        shown = show(mass.value, unit) if mass else ""
        names.append(f"  {letter}  " + say(key, mass=shown, place=show(abs(place_mm), "mm")))
    return ["  " + "".join(row), *names]
