"""Balance over the whole throw: the mark of a measured machine, what is left at the peak, and what the swing pulls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isnan, radians

import numpy as np

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.physics.spin import balance as physics
from pourwright.physics.spin.arm import speed_rad_s
from pourwright.physics.spin.history import ThrowHistory
from pourwright.physics.spin.moments import runs_at_s
from pourwright.physics.spin.shaft import ArmMoments, SteadyMark, steadiest_mark
from pourwright.prepare.throw.balancing import ArmLoad, WeightReach, flask_side_kgm, load_inputs
from pourwright.prepare.throw.course import Throws
from pourwright.prepare.throw.hinged import hinge_measured
from pourwright.prepare.throw.results import Balance
from pourwright.studio.profile import Machine

_MM_M, _G_KG = 1000, 1000
_RULE, _NONE = ("derived",), ("none",)

# How near to the least largest force of the throw the mark must stay: a judgement of ours, no source. Half a
# kilogram's weight on the shaft for the third of a second in which the arm is folded.
_SPARE_FRAC, _SPARE_N = 0.10, 5.0
# A weight is set by hand and eye to about this; common practice, no source.
_SETTING_MM = 1.0
# A shift of the mark smaller than this is none.
_LEAST_SHIFT_MM = 0.2
# Balance grades in the form of ISO 21940-11, eccentricity times speed, in mm/s; that these are the bounds for an arm
# is our judgement, no source, and so is the force.
_FINE_GRADE, _POOR_GRADE = 40, 100
POOR_N = 20.0


def balance_throw(
    balance: Balance, machine: Machine, load: ArmLoad, reach: WeightReach, throws: Throws, speed_rpm: Figure, where: str
) -> Balance:
    """Return the balance with the throw over time taken into account.

    Parameters
    ----------
    balance : Balance
        For the filled flask on the straight arm.
    machine : Machine
        Its mark is worked out over the throw once spring and hinge were measured.
    load, reach
        What stands on the arm, and how far the weight goes.
    throws : Throws
        At the winding chosen.
    speed_rpm : Figure
        At the peak of that winding [rpm].
    where : str
        The flask's name, for the findings.
    """
    measured = machine.calibrated and hinge_measured(machine)
    marks = [steady_mark(load, throws, one) for one in throws.every]
    if measured:
        balance = _over_the_throw(balance, marks, where)
    second_kg = _second(balance, load, reach)
    stands_mm = balance.mark_mm if second_kg is None else reach.high_mm
    left = _left(load, stands_mm, second_kg, speed_rpm)
    inputs = {"speed_rpm": speed_rpm, "mark_mm": balance.mark_mm}
    pulls = [one.swing_N for one in marks]
    swing = Figure(pulls[0], min(pulls), max(pulls), "N", "prepare.throw.force-swing", inputs, _RULE)
    grade = _grade(load, left, speed_rpm)
    return replace(
        balance,
        second_kg=second_kg,
        left_force_N=left,
        grade_m_s=grade,
        swing_force_N=swing,
        findings=(*balance.findings, *_look_at(left, grade, speed_rpm, where)),
    )


def steady_mark(load: ArmLoad, throws: Throws, throw: ThrowHistory) -> SteadyMark:
    """Return the steadiest mark of one throw, metal in the crucible until it runs and in the flask after."""
    hinge_m = throw.arm.hinge_m
    hinge = throws.hinge
    runs_s = runs_at_s(throw, load.crucible_mm.value / _MM_M - hinge_m, radians(hinge.lip_deg.value))
    charge_kg = load.charge_g.value / _G_KG
    in_flask = throw.time_s >= (np.inf if isnan(runs_s) else runs_s)
    metal_mm = np.where(in_flask, load.metal_mm.value, load.charge_mm.value)
    parts = (
        (hinge.outer_kg.value, hinge.outer_radius_mm.value),
        (load.flask_kg.value, load.flask_mm.value),
        (load.crucible_kg.value, load.crucible_mm.value),
        (charge_kg, metal_mm),
    )
    outer_kgm = sum(mass * (np.asarray(place_mm) / _MM_M - hinge_m) for mass, place_mm in parts)
    bare_kgm = load.arm_kgm.value - hinge.outer_kg.value * hinge.outer_radius_mm.value / _MM_M
    inner_kgm = bare_kgm + hinge_m * sum(mass for mass, _ in parts)
    moments = ArmMoments(inner_kgm, np.broadcast_to(outer_kgm, throw.time_s.shape), load.weight_kg.value)
    return steadiest_mark(throw, moments, _SPARE_FRAC, _SPARE_N)


def _over_the_throw(balance: Balance, marks: Sequence[SteadyMark], where: str) -> Balance:
    filled_mm = balance.mark_mm.value
    shifts = [one.mark_m * _MM_M - filled_mm for one in marks]
    mark = balance.mark_mm
    if abs(shifts[0]) >= _LEAST_SHIFT_MM:
        shift = given(shifts[0], "mm", "throw", min(shifts), max(shifts), _RULE, "prepare.throw.mark-shift")
        mark = reckon("mm", "prepare.throw.mark-steady", _sum, {"filled_mm": mark, "shift_mm": shift}, _RULE)
    best = marks[0]
    params = {
        "throw": show(best.throw_N, "N", 0),
        "least": show(best.least_N, "N", 0),
        "run": show(best.run_N, "N", 0),
        "swing": show(best.swing_N, "N", 0),
        "start": show(balance.start_force_N.value, "N", 0),
        "speed": show(balance.start_force_N.inputs["stated_rpm"].value, "rpm"),
    }
    note = Finding("prepare.throw-steady", Level.NOTE, where, params, _RULE)
    rest = tuple(one for one in balance.findings if one.code != "prepare.throw-start-state")
    return replace(balance, mark_mm=mark, findings=(*rest, note), steady=True)


def _sum(**lengths_mm: float) -> float:
    return sum(lengths_mm.values())


def _second(balance: Balance, load: ArmLoad, reach: WeightReach) -> Figure | None:
    """Return the second weight at the end of the reach [kg] where the one weight would have to stand beyond it."""
    if balance.mark_mm.value <= reach.high_mm.value:
        return None
    inputs = {"mark_mm": balance.mark_mm, "weight_kg": load.weight_kg, "high_mm": reach.high_mm}
    return reckon("kg", "prepare.throw.second-weight", _second_kg, inputs, _RULE)


def _second_kg(mark_mm: float, weight_kg: float, high_mm: float) -> float:
    left_kgm = physics.residual_kgm(mark_mm * weight_kg, weight_kg, high_mm)
    return physics.weight_for_mark_kg(left_kgm, high_mm)


def _left(load: ArmLoad, mark_mm: Figure, second_kg: Figure | None, speed_rpm: Figure) -> Figure:
    """Return the force at the peak that masses, lengths and the hand that sets the weight may leave [N]."""
    set_mm = given(mark_mm.value, "mm", "throw", mark_mm.value - _SETTING_MM, mark_mm.value + _SETTING_MM, _NONE,
                   "prepare.throw.mark-set")  # fmt: skip
    second = second_kg.value if second_kg else 0.0
    weights = given(second, "kg", "throw", how="prepare.throw.second-set")
    inputs = {**load_inputs(load), "weight_kg": load.weight_kg, "mark_mm": set_mm, "speed_rpm": speed_rpm}

    def left_N(mark_mm: float, weight_kg: float, second_kg: float, speed_rpm: float, **side: float) -> float:
        left_kgm = physics.residual_kgm(flask_side_kgm(1.0)(**side), weight_kg + second_kg, mark_mm / _MM_M)
        return physics.shaft_force_N(left_kgm, speed_rad_s(speed_rpm))

    return reckon("N", "prepare.throw.force-left", left_N, {**inputs, "second_kg": weights}, _RULE)


def _grade(load: ArmLoad, left: Figure, speed_rpm: Figure) -> Figure:
    """Return what is left as eccentricity times speed [m/s]; without the bare arm's own mass, which makes it worse."""
    inputs = {
        "left_N": given(left.high, "N", "throw", how="prepare.throw.force-left-most"),
        "flask_kg": load.flask_kg,
        "crucible_kg": load.crucible_kg,
        "charge_g": load.charge_g,
        "weight_kg": load.weight_kg,
        "speed_rpm": given(speed_rpm.high, "rpm", "throw", how="prepare.throw.speed-most"),
    }
    return reckon("m_s", "prepare.throw.grade", _grade_m_s, inputs, _RULE)


def _grade_m_s(left_N: float, speed_rpm: float, charge_g: float, **masses_kg: float) -> float:
    speed = speed_rad_s(speed_rpm)
    return physics.balance_grade_m_s(left_N / speed**2, sum(masses_kg.values()) + charge_g / _G_KG, speed)


def _look_at(left: Figure, grade: Figure, speed_rpm: Figure, where: str) -> tuple[Finding, ...]:
    """Say what is left by its grade; nothing where it is fine."""
    grade_mm_s = grade.value * _MM_M
    if grade_mm_s <= _FINE_GRADE and left.high <= POOR_N:
        return ()
    poor = grade_mm_s > _POOR_GRADE or left.high > POOR_N
    params = {
        "force": show(left.high, "N", 0),
        "speed": show(speed_rpm.high, "rpm"),
        "grade": f"{grade_mm_s:.0f}",
        "fine": _FINE_GRADE,
        "poor": _POOR_GRADE,
        "most": show(POOR_N, "N", 0),
    }
    code = "prepare.throw-balance-poor" if poor else "prepare.throw-balance-fair"
    return (Finding(code, Level.LOOK if poor else Level.NOTE, where, params, _NONE),)
