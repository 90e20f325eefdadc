"""Setting up the arm for a flask: the mark for the weight, how far to wind, and what that means."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.physics.spin import balance
from pourwright.physics.spin.arm import speed_rad_s
from pourwright.prepare.densities import liquid_kg_m3
from pourwright.prepare.throw.balancing import STATED_RPM, ArmLoad, WeightReach, balance_arm
from pourwright.prepare.throw.course import throw_course, throws_of
from pourwright.prepare.throw.results import ThrowCourse, ThrowSetup, Winding
from pourwright.prepare.throw.steady import POOR_N, balance_throw
from pourwright.prepare.throw.winding import ForceNeed, least_turns, spring_lost, wind_range, wind_table
from pourwright.studio.calibration_reading import MEASURABLE
from pourwright.studio.profile import Machine

# A weight moved by less than this is not worth a word between two flasks; common practice, no source.
_MARK_STEP_MM = 3.0
_MM_M = 1000
_PRACTICE = ("none",)
NO_DEMAND = ForceNeed()


def set_up_throw(
    machine: Machine,
    flask_dry_kg: Figure,
    charge_g: Figure,
    alloy: Alloy,
    pour_temperature_C: Figure,
    where: str,
    stated_rpm: Figure = STATED_RPM,
    need: ForceNeed = NO_DEMAND,
) -> ThrowSetup:
    """Work out the arm's set-up for one flask.

    Parameters
    ----------
    machine : Machine
        The casting machine; its crucible and cradle are taken from here.
    flask_dry_kg : Figure
        Flask with its mould as it comes from the kiln [kg]; a wet one would be far too heavy.
    charge_g : Figure
        Metal to be poured [g].
    alloy : Alloy
        Gives the density of the liquid.
    pour_temperature_C : Figure
        Of the metal [degC].
    where : str
        The flask's name, for the findings.
    stated_rpm : Figure
        Speed at which forces are stated [rpm].
    need : ForceNeed
        What the filling asks of the throw; the winding's range starts there.

    Returns
    -------
    ThrowSetup
        Marks, table of windings and findings, all of them also those of the balance.
    """
    load = load_of(machine, flask_dry_kg, charge_g)
    reach = WeightReach(machine.weight_low_mm, machine.weight_high_mm)
    balanced = balance_arm(load, where, stated_rpm, reach)
    liquid = liquid_kg_m3(alloy, pour_temperature_C)
    windings = wind_table(machine, liquid)
    few, usual, most = wind_range(machine)
    short: tuple[Finding, ...] = ()
    if need != NO_DEMAND:
        few, short = least_turns(machine, liquid, need)
    throws = throws_of(machine, load, usual.value)
    course = None if throws is None else throw_course(machine, load, throws)
    if throws is not None:
        row = next(one for one in windings if one.turns_turns == usual.value)
        balanced = balance_throw(balanced, machine, load, reach, throws, row.speed_rpm, where)
    found = (*balanced.findings, *short, *_winding_findings(machine, windings, usual.value, course))
    return ThrowSetup(balanced, windings, few, usual, most, machine.calibrated, found, course)


def compare_marks(
    marks: Sequence[tuple[str, Figure]],
    step_mm: float = _MARK_STEP_MM,
    weight_kg: Figure | None = None,
    speed_rpm: Figure | None = None,
) -> tuple[Finding, ...]:
    """Say where the weight has to be moved between one flask and the next, and what it would pull if that is forgotten.

    Parameters
    ----------
    marks : sequence of (str, Figure)
        Flask's name and its mark [mm], in the order of the pours.
    step_mm : float
        A smaller move is not mentioned [mm].
    weight_kg, speed_rpm : Figure, optional
        The weight [kg] and the peak speed [rpm]; with them a move that would pull hard is said more strongly.
    """
    return tuple(
        _moved(before, after, change_mm, _forgotten_N(change_mm, weight_kg, speed_rpm))
        for before, after in pairwise(marks)
        if abs(change_mm := after[1].value - before[1].value) >= step_mm
    )


def _forgotten_N(change_mm: float, weight_kg: Figure | None, speed_rpm: Figure | None) -> float:
    """Return the force at the peak with the weight left at the mark before [N]; 0 if it cannot be told."""
    if weight_kg is None or speed_rpm is None:
        return 0.0
    return balance.shaft_force_N(weight_kg.value * change_mm / _MM_M, speed_rad_s(speed_rpm.value))


def _moved(before: tuple[str, Figure], after: tuple[str, Figure], change_mm: float, forgotten_N: float) -> Finding:
    code = "prepare.throw-mark-moves-out" if change_mm > 0 else "prepare.throw-mark-moves-in"
    params = {
        "change": show(abs(change_mm), "mm"),
        "flask": after[0],
        "before": before[0],
        "old": show(before[1].value, "mm"),
        "new": show(after[1].value, "mm"),
        "force": show(forgotten_N, "N", 0),
    }
    if forgotten_N > POOR_N:
        code = "prepare.throw-next-much-heavier" if change_mm > 0 else "prepare.throw-next-much-lighter"
    return Finding(code, Level.LOOK, after[0], params, _PRACTICE)


def load_of(machine: Machine, flask_dry_kg: Figure, charge_g: Figure) -> ArmLoad:
    """Return what stands on a machine's arm with a dry flask [kg] and a charge [g]."""
    together = {"flask_dry_kg": flask_dry_kg, "cradle_kg": machine.cradle_kg}
    return ArmLoad(
        flask_kg=reckon("kg", "prepare.throw.flask-and-cradle", lambda **masses: sum(masses.values()), together),
        flask_mm=machine.flask_radius_mm,
        crucible_kg=machine.crucible_kg,
        crucible_mm=machine.crucible_radius_mm,
        charge_g=charge_g,
        charge_mm=machine.crucible_radius_mm,
        metal_mm=machine.metal_in_flask_radius_mm,
        weight_kg=machine.weight_kg,
        arm_kgm=machine.bare_arm_moment_kgm,
    )


def _winding_findings(
    machine: Machine, windings: Sequence[Winding], usual_turns: float, course: ThrowCourse | None
) -> tuple[Finding, ...]:
    row = next(one for one in windings if one.turns_turns == usual_turns)
    turns = show(usual_turns, "turns")
    findings = [*_not_followed(machine, course), *_judged(machine, course)]
    if not machine.calibrated:
        findings.append(_not_calibrated(machine, row, turns))
    findings += spring_lost(machine, usual_turns)
    if machine.turns_usual_turns.value > usual_turns:
        asked = show(machine.turns_usual_turns.value, "turns")
        params = {"asked": asked, "turns": turns, "limit": show(machine.turns_limit_turns.value, "turns")}
        findings.append(Finding("prepare.throw-usual-too-much", Level.LOOK, machine.id, params, _PRACTICE))
    return tuple(findings)


def _not_followed(machine: Machine, course: ThrowCourse | None) -> tuple[Finding, ...]:
    """Say that the throw cannot be followed, or that in it the metal never runs."""
    if course is None:
        params = {"inertia": show(machine.inertia_kg_m2.value, "kg_m2")}
        return (Finding("prepare.throw-inertia-small", Level.LOOK, machine.id, params, ("derived",)),)
    if course.runs_s is None:
        params = {"turns": show(course.turns_turns, "turns")}
        return (Finding("prepare.throw-never-runs", Level.STOP, machine.id, params, ("derived",)),)
    return ()


def say_over_time(machine: Machine, courses: Sequence[ThrowCourse]) -> tuple[Finding, ...]:
    """Say once for the day when the metal runs and when the arm is fast, over all its flasks' throws."""
    if not courses:
        return ()
    params = {"turns": show(courses[0].turns_turns, "turns")}
    asked = {"runs": ("runs_s", 2), "run_pull": ("run_pull_gee", 1), "straight": ("straight_s", 2)}
    asked |= {"peak": ("peak_s", 1), "pull": ("pull_gee", 0)}
    for name, (attr, digits) in asked.items():
        figures = [one for course in courses if (one := getattr(course, attr)) is not None]
        params[name] = _between(figures, digits)
    return (Finding("prepare.throw-peak-later", Level.NOTE, machine.id, params, ("derived",)),)


def _between(figures: Sequence[Figure], digits: int) -> str:
    """Return from the least to the most of some figures of one unit, or a dash."""
    if not figures:
        return "–"
    unit = figures[0].unit
    low = show(min(one.low for one in figures), unit, digits)
    high = show(max(one.high for one in figures), unit, digits)
    return high if low == high else say("prepare.throw.between", low=low.split("\u00a0")[0], high=high)


def _judged(machine: Machine, course: ThrowCourse | None) -> tuple[Finding, ...]:
    """Name by their keys what the studio did not measure of the arm."""
    if course is None or not course.not_measured:
        return ()
    keys = {one.field.attr: one.field.key for name, one in MEASURABLE.items() if name.startswith("arm.")}
    params = {"keys": ", ".join(keys[one] for one in course.not_measured)}
    return (Finding("prepare.throw-arm-judged", Level.NOTE, machine.id, params, _PRACTICE),)


def _not_calibrated(machine: Machine, row: Winding, turns: str) -> Finding:
    params = {
        "turns": turns,
        "slow": show(row.speed_rpm.low, "rpm"),
        "fast": show(row.speed_rpm.high, "rpm"),
        "least_pull": show(row.flask_gee.low, "gee"),
        "most_pull": show(row.flask_gee.high, "gee"),
    }
    return Finding("prepare.throw-not-calibrated", Level.LOOK, machine.id, params, _PRACTICE)
