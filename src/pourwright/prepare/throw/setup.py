"""Setting up the arm for a flask: the mark for the weight, how far to wind, and what that means."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.prepare.densities import liquid_kg_m3
from pourwright.prepare.throw.balancing import STATED_RPM, ArmLoad, WeightReach, balance_arm
from pourwright.prepare.throw.results import ThrowSetup, Winding
from pourwright.prepare.throw.winding import peak_time, wind_range, wind_table
from pourwright.studio.profile import Machine

# A weight moved by less than this is not worth a word between two flasks; common practice, no source.
_MARK_STEP_MM = 3.0
_PRACTICE = ("none",)


def set_up_throw(
    machine: Machine,
    flask_dry_kg: Figure,
    charge_g: Figure,
    alloy: Alloy,
    pour_temperature_C: Figure,
    where: str,
    stated_rpm: Figure = STATED_RPM,
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

    Returns
    -------
    ThrowSetup
        Marks, table of windings and findings, all of them also those of the balance.
    """
    load = load_of(machine, flask_dry_kg, charge_g)
    reach = WeightReach(machine.weight_low_mm, machine.weight_high_mm)
    balance = balance_arm(load, where, stated_rpm, reach)
    windings = wind_table(machine, liquid_kg_m3(alloy, pour_temperature_C))
    few, usual, most = wind_range(machine)
    return ThrowSetup(
        balance=balance,
        windings=windings,
        wind_low_turns=few,
        wind_turns=usual,
        wind_limit_turns=most,
        calibrated=machine.calibrated,
        findings=(*balance.findings, *_winding_findings(machine, windings, usual.value)),
    )


def compare_marks(marks: Sequence[tuple[str, Figure]], step_mm: float = _MARK_STEP_MM) -> tuple[Finding, ...]:
    """Say where the weight has to be moved between one flask and the next.

    Parameters
    ----------
    marks : sequence of (str, Figure)
        Flask's name and its mark [mm], in the order of the pours.
    step_mm : float
        A smaller move is not mentioned [mm].
    """
    return tuple(
        _moved(before, after, change_mm)
        for before, after in pairwise(marks)
        if abs(change_mm := after[1].value - before[1].value) >= step_mm
    )


def _moved(before: tuple[str, Figure], after: tuple[str, Figure], change_mm: float) -> Finding:
    code = "prepare.throw-mark-moves-out" if change_mm > 0 else "prepare.throw-mark-moves-in"
    params = {
        "change": show(abs(change_mm), "mm"),
        "flask": after[0],
        "before": before[0],
        "old": show(before[1].value, "mm"),
        "new": show(after[1].value, "mm"),
    }
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


def _winding_findings(machine: Machine, windings: Sequence[Winding], usual_turns: float) -> tuple[Finding, ...]:
    row = next(one for one in windings if one.turns_turns == usual_turns)
    peak_s = peak_time(machine, usual_turns)
    turns = show(usual_turns, "turns")
    findings = [
        Finding(
            "prepare.throw-peak-later",
            Level.NOTE,
            machine.id,
            {"turns": turns, "soonest": show(peak_s.low, "s", 1), "latest": show(peak_s.high, "s", 1)},
            ("derived",),
        )
    ]
    if not machine.calibrated:
        findings.append(_not_calibrated(machine, row, turns))
    if machine.turns_usual_turns.value > usual_turns:
        asked = show(machine.turns_usual_turns.value, "turns")
        params = {"asked": asked, "turns": turns, "limit": show(machine.turns_limit_turns.value, "turns")}
        findings.append(Finding("prepare.throw-usual-too-much", Level.LOOK, machine.id, params, _PRACTICE))
    return tuple(findings)


def _not_calibrated(machine: Machine, row: Winding, turns: str) -> Finding:
    params = {
        "turns": turns,
        "slow": show(row.speed_rpm.low, "rpm"),
        "fast": show(row.speed_rpm.high, "rpm"),
        "least_pull": show(row.flask_gee.low, "gee"),
        "most_pull": show(row.flask_gee.high, "gee"),
    }
    return Finding("prepare.throw-not-calibrated", Level.LOOK, machine.id, params, _PRACTICE)
