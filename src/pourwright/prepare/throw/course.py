"""One throw over time for a flask: when the hinge opens, when the metal runs, when the arm is fast and when it slows.

Three throws carry the range: the arm as stated, and with everything that slows it at the one end and at the other.
Where the hinge was not measured, two more stand for its ends.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import degrees, isnan, radians

import numpy as np
from numpy.typing import NDArray

from pourwright.core.figure import Figure, given
from pourwright.core.findings import Finding, Level
from pourwright.core.interval import Interval, Shape
from pourwright.core.units import show
from pourwright.physics.spin import arm, moments
from pourwright.physics.spin.body_force import force_across_m_s2, outer_speed_rad_s
from pourwright.physics.spin.head import STANDARD_GRAVITY_M_S2
from pourwright.physics.spin.history import ThrowHistory
from pourwright.physics.spin.throwing import throw_arm
from pourwright.prepare.throw.balancing import ArmLoad
from pourwright.prepare.throw.hinged import HingeFigures, hinge_figures, hinge_measured, hinged_arm
from pourwright.prepare.throw.results import ForceLine, ThrowCourse
from pourwright.studio.profile import Machine

_MM_M = 1000
_RULE = ("derived",)
# A pull that still holds metal in a flask lying on its side; common practice, no source.
HOLDING_PULL = given(3.0, "gee", "throw", sources=("none",), how="prepare.throw.holding-pull")
# Torque of a spring that nobody measured: half to twice what was stated, so that the speed has a factor of two.
_UNMEASURED_DRIVE = (0.5, 2.0)
_CHART_POINTS, _CHART_PAST_PEAK = 161, 1.25

_FOLLOWED_S = 300.0

_throw = lru_cache(maxsize=128)(throw_arm)


@dataclass(frozen=True)
class Throws:
    """The same winding thrown by the arm as stated, by a slow and a fast one, and with the hinge at its ends."""

    best: ThrowHistory
    slow: ThrowHistory
    fast: ThrowHistory
    ends: tuple[ThrowHistory, ...]
    hinge: HingeFigures

    @property
    def every(self) -> tuple[ThrowHistory, ...]:
        """All of them, the arm as stated first."""
        return (self.best, self.slow, self.fast, *self.ends)

    @property
    def force_ratio(self) -> Interval:
        """Force of the slow and of the fast arm as multiples of the arm as stated.

        An arm with all its torques so many times as large goes through the same angles, its times shorter by the root
        of that number.
        """
        peak = float(self.best.speed_rad_s.max())
        low, high = (float((one.speed_rad_s.max() / peak) ** 2) for one in (self.slow, self.fast))
        return Interval(min(low, 1.0), 1.0, max(high, 1.0), "", Shape.LOG_UNIFORM, _RULE)


def throws_of(machine: Machine, load: ArmLoad, turns_turns: float) -> Throws | None:
    """Throw a loaded machine with so many turns, with its range; None if its numbers leave nothing for the inner arm.

    Parameters
    ----------
    machine : Machine
        Spring, inertia, hinge and friction.
    load : ArmLoad
        What stands on it.
    turns_turns : float
        Turns wound [turn].
    """
    hinge = hinge_figures(machine)
    weak, strong = (1.0, 1.0) if machine.calibrated else _UNMEASURED_DRIVE
    ends = () if hinge_measured(machine) else ((_low, _best, _best, 1.0), (_high, _best, _best, 1.0))
    ways = ((_best, _best, _best, 1.0), (_best, _low, _high, weak), (_best, _high, _low, strong), *ends)
    arms = [hinged_arm(machine, load, hinge, *way) for way in ways]
    if any(one is None for one in arms[:3]):
        return None
    best, slow, fast, *rest = (_throw(one, turns_turns, _FOLLOWED_S) for one in arms if one is not None)
    return Throws(best, slow, fast, tuple(rest), hinge)


def _best(figure: Figure) -> float:
    return figure.value


def _low(figure: Figure) -> float:
    return figure.low


def _high(figure: Figure) -> float:
    return figure.high


def throw_course(machine: Machine, load: ArmLoad, throws: Throws) -> ThrowCourse:
    """Return what a throw does over time, each figure with the range of all its throws.

    Parameters
    ----------
    machine, load
        As thrown.
    throws : Throws
        From :func:`throws_of`.
    """
    hinge, every = throws.hinge, throws.every
    flask_m = load.flask_mm.value / _MM_M
    inputs = _inputs(machine, load, hinge, throws.best.turns_turns)

    def over(unit: str, how: str, of: Callable[[ThrowHistory], float]) -> Figure | None:
        return _over(unit, how, [of(one) for one in every], inputs)

    runs = _over("s", "prepare.throw.runs", _running_s(throws, load), inputs)
    return ThrowCourse(
        turns_turns=throws.best.turns_turns,
        opens_s=over("s", "prepare.throw.opens", lambda one: one.opens_s),
        opens_deg=over("deg", "prepare.throw.opens-at", lambda one: degrees(one.opens_at_rad)),
        straight_s=over("s", "prepare.throw.straight", lambda one: one.straight_s),
        runs_s=runs,
        run_pull_gee=None if runs is None else _run_pull(throws, load, runs, inputs),
        peak_s=over("s", "prepare.throw.peak-at", lambda one: one.peak_s),
        speed_rpm=over("rpm", "prepare.throw.peak-speed", lambda one: arm.speed_rpm(float(one.speed_rad_s.max()))),
        pull_gee=over("gee", "prepare.throw.peak-pull", lambda one: _peak_pull_gee(one, flask_m)),
        holds_s=over("s", "prepare.throw.holds", lambda one: moments.coasts_until_s(one, HOLDING_PULL.value, flask_m)),
        line=_line(throws, flask_m, runs),
        not_measured=hinge.not_measured,
    )


def _inputs(machine: Machine, load: ArmLoad, hinge: HingeFigures, turns_turns: float) -> dict[str, Figure]:
    return {
        "torque_start_Nm": machine.torque_start_Nm,
        "torque_rate_Nm_turn": machine.torque_rate_Nm_turn,
        "turns_turns": given(turns_turns, "turns", "throw", how="prepare.throw.turns"),
        "friction_frac": machine.friction_frac,
        "inertia_kg_m2": machine.inertia_kg_m2,
        "hinge_radius_mm": hinge.hinge_radius_mm,
        "outer_kg": hinge.outer_kg,
        "flask_kg": load.flask_kg,
        "friction_dry_Nm": hinge.friction_dry_Nm,
        "friction_air_Nms2": hinge.friction_air_Nms2,
        "lip_deg": hinge.lip_deg,
    }


def _over(unit: str, how: str, values: Sequence[float], inputs: dict[str, Figure]) -> Figure | None:
    """Return the figure of one value for each throw, the first as stated; None if the arm as stated has none."""
    there = [one for one in values if not isnan(one)]
    if isnan(values[0]):
        return None
    return Figure(values[0], min(there), max(there), unit, how, inputs, _RULE)


def _running_s(throws: Throws, load: ArmLoad) -> list[float]:
    """Return when the metal runs: as stated, by the slow arm over a steep lip, by the fast one over a flat one."""
    lip = throws.hinge.lip_deg
    lips = (lip.value, lip.high, lip.low, *(lip.value for _ in throws.ends))
    return [
        moments.runs_at_s(one, load.crucible_mm.value / _MM_M - one.arm.hinge_m, radians(slope))
        for one, slope in zip(throws.every, lips, strict=True)
    ]


def _run_pull(throws: Throws, load: ArmLoad, runs: Figure, inputs: dict[str, Figure]) -> Figure | None:
    """Return the pull at the flask while the metal begins to run: the moment as stated, each throw at its own."""
    flask_m = load.flask_mm.value / _MM_M
    at_s = _running_s(throws, load)
    pulls = [
        float(moments.pull_at_gee(one, flask_m - one.arm.hinge_m, np.array([time_s]))[0])
        for one, time_s in zip(throws.every, at_s, strict=True)
        if not isnan(time_s)
    ]
    return _over("gee", "prepare.throw.run-pull", pulls, {**inputs, "runs_s": runs})


def _peak_pull_gee(throw: ThrowHistory, flask_m: float) -> float:
    return float((outer_speed_rad_s(throw) ** 2).max()) * flask_m / STANDARD_GRAVITY_M_S2


def _line(throws: Throws, flask_m: float, runs: Figure | None) -> ForceLine:
    """Return force over time at the flask for the chart, past the peak of the arm as stated."""
    time_s = np.linspace(0, _CHART_PAST_PEAK * throws.best.peak_s, _CHART_POINTS)

    def along(throw: ThrowHistory) -> NDArray[np.float64]:
        return moments.pull_at_gee(throw, flask_m - throw.arm.hinge_m, time_s)

    rest = np.array([along(one) for one in throws.every])
    best = throws.best
    across = force_across_m_s2(best, flask_m - best.arm.hinge_m) / STANDARD_GRAVITY_M_S2
    return ForceLine(
        time_s=_plain(time_s),
        along_gee=_plain(rest[0]),
        along_low_gee=_plain(rest.min(axis=0)),
        along_high_gee=_plain(rest.max(axis=0)),
        across_gee=_plain(np.interp(time_s, best.time_s, across)),
        runs_s=None if runs is None else runs.value,
    )


def check_run_down(course: ThrowCourse, solid_s: Figure, where: str) -> tuple[Finding, ...]:
    """Say whether the metal may still be liquid when the arm no longer holds it out, or surely is.

    Parameters
    ----------
    course : ThrowCourse
        The throw.
    solid_s : Figure
        From release until the gates and the button are solid [s], as a freezing run gives it.
    where : str
        The flask's name.
    """
    holds = course.holds_s
    params = {
        "solid": show(solid_s.value, "s"),
        "solid_late": show(solid_s.high, "s"),
        "pull": show(HOLDING_PULL.value, "gee", 0),
        "turns": show(course.turns_turns, "turns"),
    }
    if holds is None:
        return (Finding("prepare.throw-never-holds", Level.STOP, where, params, _RULE),)
    params |= {"holds": show(holds.high, "s"), "holds_least": show(holds.low, "s"), "soonest": show(solid_s.low, "s")}
    if holds.high < solid_s.low:
        return (Finding("prepare.throw-stops-early", Level.STOP, where, params, _RULE),)
    if holds.low < solid_s.high:
        return (Finding("prepare.throw-may-stop-early", Level.LOOK, where, params, _RULE),)
    return ()


def _plain(values: NDArray[np.float64]) -> tuple[float, ...]:
    return tuple(round(float(one), 4) for one in values)
