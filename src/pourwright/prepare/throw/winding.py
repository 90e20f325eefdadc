"""What a number of turns gives: energy, peak speed, pull and head, each with its range."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, sqrt

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.physics.spin import arm, head, spring
from pourwright.prepare.throw.results import Winding
from pourwright.studio.profile import Machine

_MM_M, _PA_KPA = 1000, 1000
_RULE = ("derived",)

# Until a machine's spring is measured its speed may be off by a factor of two from the slowest to the fastest.
_UNMEASURED = given(1.0, "ratio", "throw", sqrt(0.5), sqrt(2.0), sources=("none",), how="prepare.throw.unmeasured")


# Turns are counted in halves.
_STEP_TURNS = 0.5


@dataclass(frozen=True)
class ForceNeed:
    """The least that a throw must give at its peak, as a filling run asks for it; None: no demand.

    ``gee`` at the middle of the flask, ``head_kPa`` between crucible and there.
    """

    least_gee: Figure | None = None
    least_head_kPa: Figure | None = None

    def met_by(self, row: Winding) -> bool:
        """Return whether even the low end of a winding gives enough."""
        pulls = self.least_gee is None or row.flask_gee.low >= self.least_gee.value
        return pulls and (self.least_head_kPa is None or row.head_kPa.low >= self.least_head_kPa.value)


def wind_range(machine: Machine) -> tuple[Figure, Figure, Figure]:
    """Return the fewest, the usual and the most turns for a machine.

    Common practice gives the range; the machine's own limit cuts it, and it is never stretched for a tired spring. A
    studio that usually winds less than common practice starts from its own number.
    """
    practice = rule("spin.turns")
    if practice.low is None or practice.high is None:
        raise ValueError("rule spin.turns must give a lowest and a highest number of turns")
    few = given(practice.low, "turns", "practice: spin.turns", sources=practice.sources, how="core.table")
    many = given(practice.high, "turns", "practice: spin.turns", sources=practice.sources, how="core.table")
    limit, usual = machine.turns_limit_turns, machine.turns_usual_turns
    most = reckon("turns", "prepare.throw.wind-most", _least, {"practice": many, "limit": limit})
    return (
        reckon("turns", "prepare.throw.wind-least", _least, {"practice": few, "usual": usual, "limit": limit}),
        reckon("turns", "prepare.throw.wind-usual", _least, {"usual": usual, "most": most}),
        most,
    )


def _least(**turns: float) -> float:
    return min(turns.values())


def wind_table(machine: Machine, liquid_kg_m3: Figure) -> tuple[Winding, ...]:
    """Return one row for each whole turn in the machine's range, with its ends and the usual winding.

    Parameters
    ----------
    machine : Machine
        Spring, arm and radii.
    liquid_kg_m3 : Figure
        Density of the metal as poured [kg/m**3].
    """
    few, usual, most = (one.value for one in wind_range(machine))
    turns = {few, usual, most, *map(float, range(ceil(few), floor(most) + 1))}
    return tuple(wind(machine, one, liquid_kg_m3) for one in sorted(turns))


def wind(machine: Machine, turns_turns: float, liquid_kg_m3: Figure) -> Winding:
    """Return what so many turns give at the peak, with liquid metal [kg/m**3] reaching in to the crucible."""
    turns = given(turns_turns, "turns", "throw", how="prepare.throw.turns")
    energy_J = _energy(machine, turns)
    speed_rpm = _speed(machine, energy_J)
    spin = {"speed_rpm": speed_rpm, "flask_mm": machine.flask_radius_mm}
    metal = {"liquid_kg_m3": liquid_kg_m3, "crucible_mm": machine.crucible_radius_mm}
    return Winding(
        turns_turns=turns_turns,
        energy_J=energy_J,
        speed_rpm=speed_rpm,
        flask_gee=reckon("gee", "prepare.throw.pull", _pull_gee, spin, _RULE),
        head_kPa=reckon("kPa", "prepare.throw.head", _head_kPa, spin | metal, _RULE),
    )


def _energy(machine: Machine, turns: Figure) -> Figure:
    inputs = {
        "torque_start_Nm": machine.torque_start_Nm,
        "torque_rate_Nm_turn": machine.torque_rate_Nm_turn,
        "turns_turns": turns,
    }
    return reckon("J", "prepare.throw.energy", spring.stored_energy_J, inputs, _RULE)


def _speed(machine: Machine, energy_J: Figure) -> Figure:
    inputs = {
        "energy_J": energy_J,
        "inertia_kg_m2": machine.inertia_kg_m2,
        "friction_frac": machine.friction_frac,
    }
    if machine.calibrated:
        return reckon("rpm", "prepare.throw.speed", _speed_rpm, inputs, _RULE)
    return reckon(
        "rpm", "prepare.throw.speed-unmeasured", _speed_rpm, inputs | {"unmeasured_ratio": _UNMEASURED}, _RULE
    )


def _speed_rpm(energy_J: float, inertia_kg_m2: float, friction_frac: float, unmeasured_ratio: float = 1.0) -> float:
    return arm.speed_rpm(arm.peak_speed_rad_s(energy_J, inertia_kg_m2, friction_frac)) * unmeasured_ratio


def _pull_gee(speed_rpm: float, flask_mm: float) -> float:
    return head.pull_gee(arm.speed_rad_s(speed_rpm), flask_mm / _MM_M)


def _head_kPa(speed_rpm: float, flask_mm: float, liquid_kg_m3: float, crucible_mm: float) -> float:
    speed = arm.speed_rad_s(speed_rpm)
    return head.spin_head_Pa(liquid_kg_m3, speed, crucible_mm / _MM_M, flask_mm / _MM_M) / _PA_KPA


def least_turns(machine: Machine, liquid_kg_m3: Figure, need: ForceNeed) -> tuple[Figure, tuple[Finding, ...]]:
    """Return the fewest turns that give what is needed, and what is lacking where the usual winding does not.

    Never more than the usual turns, however weak the spring has become: what is lost is said instead.

    Parameters
    ----------
    machine : Machine
        Spring, arm and radii.
    liquid_kg_m3 : Figure
        Density of the metal as poured [kg/m**3].
    need : ForceNeed
        What is asked for.
    """
    few, usual, _ = wind_range(machine)
    halves = range(ceil(few.value / _STEP_TURNS), floor(usual.value / _STEP_TURNS) + 1)
    turns = sorted({few.value, usual.value, *(_STEP_TURNS * one for one in halves)})
    rows = [wind(machine, one, liquid_kg_m3) for one in turns if one <= usual.value]
    enough = next((row for row in rows if need.met_by(row)), None)
    if enough is None:
        return usual, (_short(machine, need, rows[-1]),)
    least = given(enough.turns_turns, "turns", "throw", how="prepare.throw.wind-needed")
    return least, ()


def _short(machine: Machine, need: ForceNeed, row: Winding) -> Finding:
    params = {
        "turns": show(row.turns_turns, "turns"),
        "pull": show(row.flask_gee.low, "gee"),
        "head": show(row.head_kPa.low, "kPa"),
        "wanted": " ".join(_wanted(need)),
        "limit": show(machine.turns_limit_turns.value, "turns"),
    }
    return Finding("prepare.throw-force-short", Level.LOOK, machine.id, params, _RULE)


def _wanted(need: ForceNeed) -> list[str]:
    asked = ((need.least_gee, "gee"), (need.least_head_kPa, "kPa"))
    return [show(one.value, unit) for one, unit in asked if one is not None]


def spring_lost(machine: Machine, turns_turns: float) -> tuple[Finding, ...]:
    """Say what a spring measured weaker than the profile states has lost at so many turns [turn]."""
    start, rate = machine.stated_start_Nm, machine.stated_rate_Nm_turn
    if start is None or rate is None:
        return ()
    turns = given(turns_turns, "turns", "throw", how="prepare.throw.turns")
    now_J = _energy(machine, turns)
    once = {"torque_start_Nm": start, "torque_rate_Nm_turn": rate, "turns_turns": turns}
    once_J = reckon("J", "prepare.throw.energy", spring.stored_energy_J, once, _RULE)
    if now_J.high >= once_J.low:
        return ()
    left_ratio = now_J.value / once_J.value
    params = {
        "turns": show(turns_turns, "turns"),
        "now": show(now_J.value, "J"),
        "once": show(once_J.value, "J"),
        "lost": show(100 * (1 - left_ratio), "percent", 0),
        "slower": show(100 * (1 - sqrt(left_ratio)), "percent", 0),
        "limit": show(machine.turns_limit_turns.value, "turns"),
    }
    return (Finding("prepare.throw-spring-tired", Level.LOOK, machine.id, params, ("none",)),)
