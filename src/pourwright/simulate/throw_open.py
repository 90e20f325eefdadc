"""How far the mould cools while the flask stands open between kiln and pour.

Heat leaves through the steel round the mould and through its two bare ends. Each way is followed on a line of its own,
from the surface inward; where both count, what each leaves of the heat is multiplied, which is exact for a round flask
as long as the loss goes with the temperature and close to it while radiation is a little steeper.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.matter.laws import mould_law, surrounding, wall_emissivity, wall_law

Floats = NDArray[np.float64]

_STEFAN_W_M2K4 = 5.670374419e-8  # CODATA
_SHELLS = 60
_STEP_S = 0.5
_LEAST_STEPS, _MOST_STEPS = 20, 600
# Shells get thinner towards the surface, where the temperature bends.
_CROWDED_POWER = 2.0


@dataclass(frozen=True)
class OpenFlask:
    """What is left of the mould's heat after it stood in the room.

    Parameters
    ----------
    flask_K, room_K : float
        The mould as it left the kiln, and the room [K].
    radius_m, height_m : float
        Of the mould [m].
    shell_m : array, shape (n,)
        Middles of the shells, as radius for ``round_frac`` and as depth under an end for ``end_frac`` [m].
    round_frac, end_frac : array, shape (n,)
        Share of the excess over the room left there, by what left through the steel and through an end.
    depth_m : array, shape (n,)
        Depths that belong to ``end_frac`` [m].
    """

    flask_K: float
    room_K: float
    radius_m: float
    height_m: float
    shell_m: Floats
    round_frac: Floats
    depth_m: Floats
    end_frac: Floats

    def temp_K(self, from_axis_m: Floats, from_mouth_m: Floats) -> Floats:
        """Return the mould's temperature at places [K].

        Parameters
        ----------
        from_axis_m, from_mouth_m : array, shape (n,)
            Distance from the flask's axis and from its mouth [m].
        """
        left = np.interp(from_axis_m, self.shell_m, self.round_frac)
        for depth_m in (from_mouth_m, self.height_m - from_mouth_m):
            left = left * np.interp(depth_m, self.depth_m, self.end_frac)
        return np.asarray(self.room_K + (self.flask_K - self.room_K) * left)


def stand_open(
    mould_id: str,
    flask_K: float,
    room_K: float,
    open_s: float,
    radius_mm: float,
    height_mm: float,
    wall_mm: float,
    wall_id: str = "stainless-steel",
    conductivity_ratio: float = 1.0,
) -> OpenFlask:
    """Follow a flask that stands in the room.

    Parameters
    ----------
    mould_id, wall_id : str
        As in the tables.
    flask_K, room_K : float
        Its even temperature as it leaves the kiln, and the room [K].
    open_s : float
        From the kiln to the pour [s].
    radius_mm, height_mm, wall_mm : float
        Inside of the flask, and its steel [mm].
    conductivity_ratio : float
        Of the mould, as multiple of the tables' value.
    """
    radius_m, height_m = 1e-3 * radius_mm, 1e-3 * height_mm
    law = mould_law(mould_id, conductivity_ratio=conductivity_ratio)
    conductivity = float(np.interp(flask_K, law.temp_K, law.conductivity_W_mK))
    capacity = float(np.interp(flask_K, law.temp_K, law.heat_capacity_J_m3K))
    steel = wall_law(wall_id)
    steel_J_m2K = 1e-3 * wall_mm * float(np.interp(flask_K, steel.temp_K, steel.heat_capacity_J_m3K))
    air = surrounding("convection").best
    round_m, round_K = _cooled(flask_K, room_K, open_s, radius_m, True, conductivity, capacity,
                               wall_emissivity(wall_id).best, air, steel_J_m2K)  # fmt: skip
    end_m, end_K = _cooled(flask_K, room_K, open_s, height_m / 2, False, conductivity, capacity,
                           surrounding("mould_emissivity").best, air, 0.0)  # fmt: skip
    over_K = max(flask_K - room_K, 1e-9)
    depth_m, ended_K = (height_m / 2 - end_m)[::-1], end_K[::-1]
    return OpenFlask(
        flask_K, room_K, radius_m, height_m, round_m, (round_K - room_K) / over_K, depth_m, (ended_K - room_K) / over_K
    )


def _cooled(
    start_K: float,
    room_K: float,
    time_s: float,
    reach_m: float,
    is_round: bool,
    conductivity_W_mK: float,
    capacity_J_m3K: float,
    emissivity_frac: float,
    convection_W_m2K: float,
    skin_J_m2K: float,
) -> tuple[Floats, Floats]:
    """Return places from the middle outward [m] and their temperatures [K], by implicit steps on thinning shells."""
    edges_m = reach_m * (1 - (1 - np.linspace(0, 1, _SHELLS + 1)) ** _CROWDED_POWER)
    middle_m = (edges_m[1:] + edges_m[:-1]) / 2
    face = edges_m if is_round else np.ones_like(edges_m)
    size = (edges_m[1:] ** 2 - edges_m[:-1] ** 2) / 2 if is_round else np.diff(edges_m)
    through = conductivity_W_mK * face[1:-1] / np.diff(middle_m)
    held = capacity_J_m3K * size
    held[-1] += skin_J_m2K * face[-1]
    temp_K = np.full(_SHELLS, start_K)
    steps = int(np.clip(np.ceil(time_s / _STEP_S), _LEAST_STEPS, _MOST_STEPS))
    for _ in range(steps if time_s > 0 else 0):
        skin_K = temp_K[-1]
        glow = emissivity_frac * _STEFAN_W_M2K4 * (skin_K**2 + room_K**2) * (skin_K + room_K)
        temp_K = _step(temp_K, room_K, through, held * steps / time_s, (convection_W_m2K + glow) * face[-1])
    return middle_m, temp_K


def _step(temp_K: Floats, room_K: float, through: Floats, held: Floats, lost: float) -> Floats:
    from scipy.linalg.lapack import dgtsv  # for three bands alone, and without the checks of its comfortable kin

    middle = held.copy()
    middle[:-1] += through
    middle[1:] += through
    middle[-1] += lost
    right = held * temp_K
    right[-1] += lost * room_K
    return np.asarray(dgtsv(-through, middle, -through, right)[3])
