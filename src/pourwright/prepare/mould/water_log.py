"""Water as it was really weighed, and a room that is warmer than the data sheet's."""

from __future__ import annotations

from dataclasses import replace

from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.studio.profile import Powder

_ROUNDING = 1e-9


def weighed_ratio(powder_g: Figure, water_g: Figure) -> Figure:
    """Return the water really weighed per powder, as a ratio.

    Parameters
    ----------
    powder_g, water_g : Figure
        As weighed [g].
    """
    parts = {"water_g": water_g, "powder_g": powder_g}
    return reckon("ratio", "prepare.how-weighed-ratio", lambda water_g, powder_g: water_g / powder_g, parts)


def check_weighed_water(
    powder_g: Figure, water_g: Figure, low_ratio: Figure, high_ratio: Figure, where: str
) -> tuple[Figure, tuple[Finding, ...]]:
    """Hold the water really weighed against what is used here.

    Parameters
    ----------
    powder_g, water_g : Figure
        As weighed [g].
    low_ratio, high_ratio : Figure
        Least and most water to powder that this studio uses.
    where : str
        The bowl or flask, for the finding.

    Returns
    -------
    ratio : Figure
        Water to powder.
    findings : tuple of Finding
        One to look at when the ratio is outside.
    """
    ratio = weighed_ratio(powder_g, water_g)
    if low_ratio.value - _ROUNDING <= ratio.value <= high_ratio.value + _ROUNDING:
        return ratio, ()
    params = {
        "water": show(water_g.value, "g", 0),
        "powder": show(powder_g.value, "g", 1),
        "ratio": show(100 * ratio.value, "count", 1),
        "low": show(100 * low_ratio.value, "count", 0),
        "high": show(100 * high_ratio.value, "count", 0),
    }
    code = "prepare.water-weighed-more" if ratio.value > high_ratio.value else "prepare.water-weighed-less"
    return ratio, (Finding(code, Level.LOOK, where, params),)


def at_room(powder: Powder, room_C: Figure | None) -> tuple[Powder, tuple[Finding, ...]]:
    """Return the powder with its working time at the day's temperature, and what is to be said of a warm room.

    Parameters
    ----------
    powder : Powder
        Its working time, the temperature that holds at, and how much a degree changes it, if the studio timed that.
    room_C : Figure or None
        Temperature of powder, water and room [degC].
    """
    usual_C = powder.working_at_C
    if room_C is None or usual_C is None or room_C.value <= usual_C.high:
        return powder, ()
    params = {"powder": powder.id, "room": show(room_C.value, "C"), "usual": show(usual_C.value, "C")}
    params["told"] = show(powder.working_min.value, "min", 1)
    per_degree = powder.working_per_degree_min_K
    if per_degree is None:
        return powder, (Finding("prepare.room-warm", Level.LOOK, powder.id, params, rule("inv.temp").sources),)
    shorter = reckon(
        "min",
        "prepare.how-working-warm",
        lambda working_min, per_degree_min_K, room_C, usual_C: max(
            0.0, working_min + per_degree_min_K * (room_C - usual_C)
        ),
        {"working_min": powder.working_min, "per_degree_min_K": per_degree, "room_C": room_C, "usual_C": usual_C},
    )
    params["now"] = show(shorter.value, "min", 1)
    return replace(powder, working_min=shorter), (Finding("prepare.room-shortens", Level.LOOK, powder.id, params),)
