"""Where the weight stands on the arm: for the filled flask, with the start and halfway states beside it.

The metal is in the flask long before the arm is fast, so the filled state counts. The flask is taken dry, as it comes
from the kiln, and the arm straight, as it runs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.physics.spin import balance as physics
from pourwright.physics.spin.arm import speed_rad_s
from pourwright.prepare.throw.results import Balance

_MM_M, _G_KG = 1000, 1000
_RULE = ("derived",)

# Forces at a speed that throws reach, the same on every sheet so that flasks and machines can be compared.
STATED_RPM = given(300.0, "rpm", "throw", how="prepare.throw.stated-speed")


@dataclass(frozen=True)
class ArmLoad:
    """What stands on the arm, and where its middle is from the shaft.

    ``flask_kg`` is the dry flask with its cradle. The metal moves from ``charge_mm`` in the crucible to ``metal_mm``
    in the flask. ``arm_kgm`` is the bare arm's own moment, positive on the flask's side.
    """

    flask_kg: Figure
    flask_mm: Figure
    crucible_kg: Figure
    crucible_mm: Figure
    charge_g: Figure
    charge_mm: Figure
    metal_mm: Figure
    weight_kg: Figure
    arm_kgm: Figure


@dataclass(frozen=True)
class WeightReach:
    """How far in and out the weight can be set, from the shaft."""

    low_mm: Figure
    high_mm: Figure


def balance_arm(
    load: ArmLoad, where: str, stated_rpm: Figure = STATED_RPM, reach: WeightReach | None = None
) -> Balance:
    """Work out the marks for the weight and the forces of the state that is not balanced.

    Parameters
    ----------
    load : ArmLoad
        Dry flask, crucible, metal, weight and bare arm.
    where : str
        The flask's name, for the findings.
    stated_rpm : Figure
        Speed at which the forces are stated [rpm].
    reach : WeightReach, optional
        The arm's range for the weight; without it no finding says whether the mark is on the arm.

    Returns
    -------
    Balance
        With findings if the mark is off the arm or close to its end, and a note on the start state.
    """
    mark_mm = _mark(load, "prepare.throw.mark-filled", 1.0)
    start_force_N = _moved_force(load, stated_rpm, "prepare.throw.force-start", 1.0)
    findings = (*(_off_the_arm(load, mark_mm, reach, where) if reach else ()), _start_note(load, start_force_N, where))
    return Balance(
        mark_mm=mark_mm,
        start_mark_mm=_mark(load, "prepare.throw.mark-start", 0.0),
        halfway_mark_mm=_mark(load, "prepare.throw.mark-halfway", 0.5),
        moment_start_kgm=reckon("kgm", "prepare.throw.moment-start", flask_side_kgm(0.0), load_inputs(load), _RULE),
        start_force_N=start_force_N,
        residual_force_N=_moved_force(load, stated_rpm, "prepare.throw.force-halfway", 0.5),
        findings=findings,
    )


def load_inputs(load: ArmLoad) -> dict[str, Figure]:
    """Return what makes up the flask side's moment, by the names that :func:`flask_side_kgm` takes."""
    return {
        "flask_kg": load.flask_kg,
        "flask_mm": load.flask_mm,
        "crucible_kg": load.crucible_kg,
        "crucible_mm": load.crucible_mm,
        "charge_g": load.charge_g,
        "charge_mm": load.charge_mm,
        "metal_mm": load.metal_mm,
        "arm_kgm": load.arm_kgm,
    }


def flask_side_kgm(moved_frac: float) -> Callable[..., float]:
    """Return the formula for the flask side's moment [kg m] with a share of the way to the flask behind the metal."""

    def moment_kgm(
        flask_kg: float,
        flask_mm: float,
        crucible_kg: float,
        crucible_mm: float,
        charge_g: float,
        charge_mm: float,
        metal_mm: float,
        arm_kgm: float,
    ) -> float:
        now_mm = charge_mm + moved_frac * (metal_mm - charge_mm)
        return physics.side_moment_kgm(
            arm_kgm,
            flask_kg,
            flask_mm / _MM_M,
            crucible_kg,
            crucible_mm / _MM_M,
            charge_g / _G_KG,
            now_mm / _MM_M,
        )

    return moment_kgm


def _mark(load: ArmLoad, how: str, moved_frac: float) -> Figure:
    moment_kgm = flask_side_kgm(moved_frac)

    def mark_mm(weight_kg: float, **side: float) -> float:
        return physics.mark_m(moment_kgm(**side), weight_kg) * _MM_M

    return reckon("mm", how, mark_mm, load_inputs(load) | {"weight_kg": load.weight_kg}, _RULE)


def _moved_force(load: ArmLoad, stated_rpm: Figure, how: str, moved_frac: float) -> Figure:
    """Return the force of that share of the metal's way [N]: a mark balances the metal in one place only."""

    def force_N(charge_g: float, charge_mm: float, metal_mm: float, stated_rpm: float) -> float:
        residual_kgm = charge_g / _G_KG * moved_frac * (metal_mm - charge_mm) / _MM_M
        return physics.shaft_force_N(residual_kgm, speed_rad_s(stated_rpm))

    inputs = {
        "charge_g": load.charge_g,
        "charge_mm": load.charge_mm,
        "metal_mm": load.metal_mm,
        "stated_rpm": stated_rpm,
    }
    return reckon("N", how, force_N, inputs, _RULE)


def _start_note(load: ArmLoad, start_force_N: Figure, where: str) -> Finding:
    stated_rpm = start_force_N.inputs["stated_rpm"].value
    speed = speed_rad_s(stated_rpm)
    known_kg = load.flask_kg.value + load.crucible_kg.value + load.charge_g.value / _G_KG + load.weight_kg.value
    grade_m_s = physics.balance_grade_m_s(start_force_N.value / speed**2, known_kg, speed)
    params = {
        "force": show(start_force_N.value, "N"),
        "speed": show(stated_rpm, "rpm"),
        "grade": f"{1000 * grade_m_s:.0f}",
    }
    return Finding("prepare.throw-start-state", Level.NOTE, where, params, _RULE)


def _off_the_arm(load: ArmLoad, mark_mm: Figure, reach: WeightReach, where: str) -> tuple[Finding, ...]:
    low_mm, high_mm = reach.low_mm.value, reach.high_mm.value
    params = {
        "mark": show(mark_mm.value, "mm"),
        "low": show(low_mm, "mm"),
        "high": show(high_mm, "mm"),
        "mark_low": show(mark_mm.low, "mm"),
        "mark_high": show(mark_mm.high, "mm"),
    }
    if low_mm <= mark_mm.value <= high_mm:
        near = mark_mm.low < low_mm or mark_mm.high > high_mm
        return (Finding("prepare.throw-mark-near-end", Level.LOOK, where, params, _RULE),) if near else ()
    moment_kgm = mark_mm.value / _MM_M * load.weight_kg.value
    if moment_kgm <= 0:
        return (Finding("prepare.throw-no-moment", Level.STOP, where, params, _RULE),)
    params["least"] = show(physics.weight_for_mark_kg(moment_kgm, high_mm / _MM_M), "kg")
    params["most"] = show(physics.weight_for_mark_kg(moment_kgm, low_mm / _MM_M), "kg")
    params["weight"] = show(load.weight_kg.value, "kg")
    if mark_mm.value < low_mm:
        return (Finding("prepare.throw-mark-too-near", Level.STOP, where, params, _RULE),)
    left_kgm = physics.residual_kgm(moment_kgm, load.weight_kg.value, high_mm / _MM_M)
    params["second"] = show(physics.weight_for_mark_kg(left_kgm, high_mm / _MM_M), "kg")
    return (Finding("prepare.throw-mark-too-far", Level.STOP, where, params, _RULE),)
