"""When the last red of a cooling flask goes out of sight: a matter of the lamp, so a hint and no more."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure, given
from pourwright.prepare.quench.cooling import Cooling, minutes_to

# Heat at which a glow is first seen, by the light around; handbook figures, from memory.
_FIRST_SEEN_C = {
    "prepare.light-dark": 400.0,
    "prepare.light-twilight": 474.0,
    "prepare.light-daylight": 524.0,
    "prepare.light-sun": 581.0,
}


DAYLIGHT = "prepare.light-daylight"


def last_red_C(light: str) -> float:
    """Return the heat at which the last red is lost in a light [degC]; ``light`` is a catalogue key."""
    return _FIRST_SEEN_C[light]


@dataclass(frozen=True)
class ColourHint:
    """When red is gone in one light: ``light`` is a catalogue key, ``fades_C`` the heat of the last glow."""

    light: str
    fades_C: Figure
    gone_min: Figure


def colour_hints(cooling: Cooling) -> tuple[ColourHint, ...]:
    """Return when the last red goes, in the dark, twilight, daylight and sun, in min after the throw.

    The same flask seems black minutes earlier in a bright room: never quench by colour alone.
    """
    hints = []
    for light, fades_C in _FIRST_SEEN_C.items():
        fades = given(fades_C, "C", "", sources=("memory",), how="prepare.assumed-glow")
        hints.append(ColourHint(light, fades, minutes_to(cooling, fades)))
    return tuple(hints)
