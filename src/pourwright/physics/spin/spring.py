"""The spring: torque rises in a straight line with the turns still wound."""

from __future__ import annotations

from math import pi


def torque_Nm(torque_start_Nm: float, torque_rate_Nm_turn: float, turns_turns: float) -> float:
    """Return the spring's torque with some turns wound.

    Parameters
    ----------
    torque_start_Nm : float
        Torque left with nothing wound, from the spring's own tension [N*m].
    torque_rate_Nm_turn : float
        Torque added by each turn [N*m/turn].
    turns_turns : float
        Turns still wound [turn].
    """
    return torque_start_Nm + torque_rate_Nm_turn * turns_turns


def stored_energy_J(torque_start_Nm: float, torque_rate_Nm_turn: float, turns_turns: float) -> float:
    """Return the work that the spring gives back while it unwinds: the area under its torque line.

    Parameters
    ----------
    torque_start_Nm : float
        Torque with nothing wound [N*m].
    torque_rate_Nm_turn : float
        Torque added by each turn [N*m/turn].
    turns_turns : float
        Turns wound [turn].
    """
    mean_torque_Nm = torque_Nm(torque_start_Nm, torque_rate_Nm_turn, turns_turns / 2)
    return 2 * pi * turns_turns * mean_torque_Nm
