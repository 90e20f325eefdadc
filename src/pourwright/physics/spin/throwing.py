"""Follows one throw of the hinged arm: released, cocked, swinging out, straight, run down.

Two bodies and one hinge by Lagrange's equations; the hinge's two stops can only push. Between events the motion is
smooth and integrated by scipy; at an event (a stop lets go or is met, the spring is run down, the arm rests) it is
taken up anew. A blow on a stop keeps the angular momentum about the shaft and gives back a share of the hinge's speed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil, cos, nan, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.spin.arm import peak_speed_rad_s
from pourwright.physics.spin.history import HingedArm, ThrowHistory
from pourwright.physics.spin.motion import (
    Hinge,
    Phase,
    State,
    accelerations,
    given_J,
    kinetic_J,
    motion,
    pull_of_stop_Nm,
    torque_Nm,
)
from pourwright.physics.spin.spring import stored_energy_J

_RTOL, _ATOL = 1e-9, 1e-11
# No step turns the arm further than this while the hinge is free, so that no blow is stepped over; a coasting arm has
# no blows to miss.
_STEP_RAD, _COAST_STEP_S = 0.4, 1.0
_SAMPLE_S, _MOST_SAMPLES = 2e-3, 600
_BLOW_S = 1e-9  # between the samples before and after a blow
_SLACK_RAD, _SLACK_NM = 1e-9, 1e-9  # keep a hinge that starts on a stop from meeting or leaving it at once
_STICKS_RAD_S = 0.01  # a rebound slower than this is none
_MOST_PIECES = 400


def throw_arm(arm: HingedArm, turns_turns: float, until_s: float = 120.0) -> ThrowHistory:
    """Release a cocked arm and follow it until it rests.

    Parameters
    ----------
    arm : HingedArm
        Spring, bodies, friction and stops.
    turns_turns : float
        Turns wound [turn].
    until_s : float
        Followed no longer than this [s].

    Returns
    -------
    ThrowHistory
        With the energy book; the spring drives only while it is wound, then the arm runs on alone.

    Raises
    ------
    ValueError
        The arm has no inertia, or the numbers make no motion that can be followed.
    """
    if turns_turns <= 0 or until_s <= 0:
        raise ValueError(f"a throw needs turns and time, not {turns_turns} turns and {until_s} s")
    if min(arm.inner_kg_m2, arm.outer_kg_m2, arm.coupling_kg_m2) <= 0:
        raise ValueError("both bodies of the arm need mass beyond their axes")
    pieces = _follow(Phase(arm, turns_turns, Hinge.COCKED, True), until_s)
    return _history(arm, turns_turns, pieces)


@dataclass(frozen=True)
class _Piece:
    """A smooth part of the throw: its phase, its times and states, and the event that ended it."""

    phase: Phase
    time_s: NDArray[np.float64]
    states: NDArray[np.float64]
    ended_by: str


def _follow(phase: Phase, until_s: float) -> list[_Piece]:
    pieces: list[_Piece] = []
    now_s, state = 0.0, np.array([0.0, 0.0, -phase.arm.cocked_rad, 0.0, 0.0])
    if torque_Nm(phase, 0.0, 0.0) <= 0:
        return [_Piece(phase, np.array([0.0, _BLOW_S]), np.array([state, state]).T, "rest")]
    for _ in range(_MOST_PIECES):
        phase = _let_off(phase, state)
        piece = _integrate(phase, state, now_s, until_s)
        pieces.append(piece)
        now_s, state = float(piece.time_s[-1]), piece.states[:, -1]
        if piece.ended_by in ("rest", "time"):
            return pieces
        phase, state, blow = _after(phase, piece.ended_by, state)
        now_s += _BLOW_S if blow else 0.0
    raise ValueError("the hinge meets its stops too often to be followed")


def _let_off(phase: Phase, state: State) -> Phase:
    """Return the phase with the hinge free if the stop that holds it would have to pull."""
    held = phase.hinge is not Hinge.FREE
    return replace(phase, hinge=Hinge.FREE) if held and pull_of_stop_Nm(phase, state) > _SLACK_NM else phase


def _after(phase: Phase, event: str, state: State) -> tuple[Phase, State, bool]:
    """Return phase and state after an event, and whether it was a blow."""
    if event == "let_go":
        return replace(phase, driven=False), state, False
    if event == "opens":
        return replace(phase, hinge=Hinge.FREE), state, False
    stop = Hinge.STRAIGHT if event == "straight" else Hinge.COCKED
    return _blow(phase, stop, state)


def _blow(phase: Phase, stop: Hinge, state: State) -> tuple[Phase, State, bool]:
    arm, (angle, speed, _, swing, work) = phase.arm, state
    hinge = 0.0 if stop is Hinge.STRAIGHT else -arm.cocked_rad
    back = -arm.restitution_frac * swing
    if abs(back) < _STICKS_RAD_S:
        back = 0.0
    mixed = arm.outer_kg_m2 + arm.coupling_kg_m2 * cos(hinge)
    after = speed + mixed * (swing - back) / arm.whole_kg_m2(hinge)
    held = Hinge.FREE if back else stop
    return replace(phase, hinge=held), np.array([angle, after, hinge, back, work]), True


def _integrate(phase: Phase, state: State, now_s: float, until_s: float) -> _Piece:
    from scipy.integrate import solve_ivp

    events = _events(phase)
    longest_s = _COAST_STEP_S if phase.hinge is Hinge.STRAIGHT else _longest_step_s(phase)
    path = solve_ivp(
        lambda _, now: motion(phase, now),
        (now_s, until_s),
        state,
        "DOP853",
        events=[one for _, one in events],
        dense_output=True,
        rtol=_RTOL,
        atol=_ATOL,
        max_step=longest_s,
    )
    if path.status < 0 or path.sol is None or path.t_events is None:
        raise ValueError(f"the throw cannot be followed: {path.message}")
    end_s = float(path.t[-1])
    count = min(_MOST_SAMPLES, max(2, ceil((end_s - now_s) / _SAMPLE_S) + 1))
    time_s = np.linspace(now_s, end_s, count)
    states = np.asarray(path.sol(time_s))
    states[:, -1] = path.y[:, -1]
    return _Piece(phase, time_s, states, _ended_by(events, path.t_events))


def _longest_step_s(phase: Phase) -> float:
    arm = phase.arm
    energy_J = stored_energy_J(arm.torque_start_Nm, arm.torque_rate_Nm_turn, phase.turns_turns)
    return _STEP_RAD / peak_speed_rad_s(energy_J, arm.whole_kg_m2(0.0), 0.0)


def _ended_by(events: Sequence[tuple[str, Any]], times: Sequence[NDArray[np.float64]]) -> str:
    first = [(times[i][0], name) for i, (name, _) in enumerate(events) if len(times[i])]
    return min(first)[1] if first else "time"


def _events(phase: Phase) -> list[tuple[str, Callable[[float, State], float]]]:
    """Return the events that end a phase, each with its name."""
    arm = phase.arm
    found = [("rest", _event(lambda _, now: now[1], -1))]
    if phase.driven:
        wound_rad = 2 * pi * phase.turns_turns
        found.append(("let_go", _event(lambda _, now: now[0] - wound_rad, 1)))
    if phase.hinge is Hinge.FREE:
        found.append(("straight", _event(lambda _, now: now[2] - _SLACK_RAD, 1)))
        found.append(("cocked", _event(lambda _, now: now[2] + arm.cocked_rad + _SLACK_RAD, -1)))
    else:
        found.append(("opens", _event(lambda _, now: pull_of_stop_Nm(phase, now) - _SLACK_NM, 1)))
    return found


def _event(what: Callable[[float, State], float], direction: int) -> Callable[[float, State], float]:
    def event(time_s: float, state: State) -> float:
        return what(time_s, state)

    event.terminal, event.direction = True, direction  # type: ignore[attr-defined]
    return event


def _history(arm: HingedArm, turns_turns: float, pieces: list[_Piece]) -> ThrowHistory:
    keep = [slice(None, None if _jumps(one) else -1) for one in pieces[:-1]] + [slice(None)]
    time_s = np.concatenate([one.time_s[part] for one, part in zip(pieces, keep, strict=True)])
    states = np.concatenate([one.states[:, part] for one, part in zip(pieces, keep, strict=True)], axis=1)
    rates = [_rates(one) for one in pieces]
    speedup, swing_up = np.concatenate([one[:, part] for one, part in zip(rates, keep, strict=True)], axis=1)
    angle, speed, hinge, swing, friction_J = states
    peak = int(np.argmax(speed))
    opens_s, opens_at_rad = _first(pieces, "opens", 0)
    return ThrowHistory(
        arm=arm,
        turns_turns=turns_turns,
        time_s=time_s,
        angle_rad=angle,
        speed_rad_s=speed,
        speedup_rad_s2=speedup,
        hinge_rad=hinge,
        hinge_rad_s=swing,
        hinge_rad_s2=swing_up,
        spring_J=given_J(arm, turns_turns, angle),
        kinetic_J=kinetic_J(arm, speed, hinge, swing),
        friction_J=friction_J,
        impact_J=_impacts_J(arm, pieces, keep),
        opens_s=opens_s,
        opens_at_rad=opens_at_rad,
        straight_s=_first(pieces, "straight", 0)[0],
        let_go_s=_first(pieces, "let_go", 0)[0],
        peak_s=float(time_s[peak]) if speed[peak] > 0 else nan,
        rest_s=_first(pieces, "rest", 0)[0],
    )


def _rates(piece: _Piece) -> NDArray[np.float64]:
    angle, speed, hinge, swing, _ = piece.states
    return np.array(accelerations(piece.phase, angle, speed, swing, np.cos(hinge), np.sin(hinge)))


def _jumps(piece: _Piece) -> bool:
    return piece.ended_by in ("straight", "cocked")


def _first(pieces: Sequence[_Piece], event: str, row: int) -> tuple[float, float]:
    """Return time and a row of the state where an event first happens; NaN where it does not."""
    found = next((one for one in pieces if one.ended_by == event), None)
    return (float(found.time_s[-1]), float(found.states[row, -1])) if found else (nan, nan)


def _impacts_J(arm: HingedArm, pieces: Sequence[_Piece], keep: Sequence[slice]) -> NDArray[np.float64]:
    """Return the energy lost in blows so far, from the states before and after each."""
    lost_J, parts = 0.0, []
    for number, (piece, part) in enumerate(zip(pieces, keep, strict=True)):
        parts.append(np.full(len(piece.time_s[part]), lost_J))
        if _jumps(piece) and number + 1 < len(pieces):
            before, after = piece.states[1:4, -1], pieces[number + 1].states[1:4, 0]
            lost_J += float(kinetic_J(arm, *before) - kinetic_J(arm, *after))
    return np.concatenate(parts)
