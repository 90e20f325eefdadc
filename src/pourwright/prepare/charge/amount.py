"""How much metal a flask needs: floor, ceiling, crucible, and the mass to weigh between them.

The floor goes by the density of sound solid metal, for the casting must be whole when it is cold. The ceiling and the
crucible go by the density of the melt at its low end, for what must fit at the throw is liquid. The button freezes
inside the funnel: it counts once in the floor, and the funnel once in the ceiling.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.prepare.charge.marks import in_steps, marks_down, marks_up
from pourwright.prepare.charge.results import ChargeNeed

_MM3_PER_CM3 = 1000.0
_MOST_PARTS_AT_ONCE = 8
_SHOWN_VOLUME_CM3 = 0.01
_SHOWN_MASS_G = 0.1


@dataclass(frozen=True)
class Vessel:
    """A crucible as the charge sees it: its volume, and the share of it that may be melt."""

    volume_cm3: Figure
    fill_frac: Figure


def button_cm3(diameter_mm: Figure, height_mm: Figure) -> Figure:
    """Return the volume of a round button [cm**3] from its diameter and height [mm]."""
    return reckon(
        "cm3",
        "prepare.charge-button-volume",
        lambda diameter, height: math.pi / 4 * diameter**2 * height / _MM3_PER_CM3,
        {"diameter": diameter_mm, "height": height_mm},
    )


def cavity_cm3(pieces_cm3: Mapping[str, Figure], sprue_cm3: Figure, gates_cm3: Figure) -> Figure:
    """Return the volume of all that is cast above the funnel [cm**3]: each copy of each piece, sprue and gates.

    Parameters
    ----------
    pieces_cm3 : mapping of str to Figure
        Volume of each copy by its id [cm**3].
    sprue_cm3, gates_cm3 : Figure
        Volume of the main sprue and of all gates [cm**3].
    """
    parts = {**pieces_cm3, "sprue": sprue_cm3, "gates": gates_cm3}
    while len(parts) > _MOST_PARTS_AT_ONCE:
        first = dict(list(parts.items())[:_MOST_PARTS_AT_ONCE])
        rest = {name: one for name, one in parts.items() if name not in first}
        parts = {f"{next(iter(first))} to {list(first)[-1]}": _sum_cm3(first), **rest}
    return _sum_cm3(parts)


def _sum_cm3(parts: Mapping[str, Figure]) -> Figure:
    return reckon("cm3", "prepare.charge-cavity", lambda **volumes: sum(volumes.values()), parts)


def usual_loss_frac() -> Figure:
    """Return the loss of a melt where the studio has no figure of its own: common practice, planned at its high end."""
    found = rule("melt.loss")
    if found.low is None or found.high is None:
        raise ValueError("rule melt.loss has no range")
    high_frac = found.high / 100.0
    origin = f"practice.toml {found.id}"
    return given(high_frac, "frac", origin, found.low / 100.0, high_frac, found.sources, how="core.table")


def charge_need(
    cavity_cm3: Figure,
    button_cm3: Figure,
    funnel_cm3: Figure,
    solid_g_cm3: Figure,
    liquid_g_cm3: Figure,
    crucible: Vessel,
    loss_frac: Figure | None,
    scale_division_g: float,
    offered_g: Figure | None = None,
    where: str = "",
) -> ChargeNeed:
    """Work out floor, ceiling, crucible limit and the charge to weigh for one flask.

    Parameters
    ----------
    cavity_cm3 : Figure
        Pieces, sprue and gates [cm**3], see :func:`cavity_cm3`.
    button_cm3, funnel_cm3 : Figure
        Button wanted, and funnel of the base it freezes in [cm**3].
    solid_g_cm3, liquid_g_cm3 : Figure
        Density of sound solid metal, and of the melt at the pour temperature [g/cm**3].
    crucible : Vessel
        Volume and usable share.
    loss_frac : Figure or None
        Share lost in melting; None takes common practice.
    scale_division_g : float
        The charge is weighed in whole marks of this scale [g].
    offered_g : Figure, optional
        A charge somebody wants to use [g]; it is judged instead of one being chosen.
    where : str
        The flask, for findings.

    Returns
    -------
    ChargeNeed
        ``charge_g`` is the high end of the floor's range in whole marks if that fits, else the most that fits above
        the floor; None when nothing fits or the charge offered does not.
    """
    loss = loss_frac or usual_loss_frac()
    melt = _low_end(liquid_g_cm3)
    floor = reckon(
        "g",
        "prepare.charge-floor",
        lambda cavity, button, solid, loss: (cavity + button) * solid / (1.0 - loss),
        {"cavity": cavity_cm3, "button": button_cm3, "solid": solid_g_cm3, "loss": loss},
        ("derived",),
    )
    ceiling = reckon(
        "g",
        "prepare.charge-ceiling",
        lambda cavity, funnel, liquid: (cavity + funnel) * liquid,
        {"cavity": cavity_cm3, "funnel": funnel_cm3, "liquid": melt},
        ("derived",),
    )
    holds = reckon(
        "g",
        "prepare.charge-crucible",
        lambda volume, fill, liquid: volume * fill * liquid,
        {"volume": crucible.volume_cm3, "fill": crucible.fill_frac, "liquid": melt},
        ("derived",),
    )
    funnel_needed = reckon(
        "cm3",
        "prepare.charge-funnel-needed",
        lambda floor, liquid, cavity: max(0.0, floor / liquid - cavity),
        {"floor": floor, "liquid": melt, "cavity": cavity_cm3},
        ("derived",),
    )
    fits = _Fits(floor, ceiling, holds, funnel_cm3, funnel_needed, crucible, melt, scale_division_g, where)
    charge, findings = _judge(fits, offered_g) if offered_g else _choose(fits)
    return ChargeNeed(
        cavity_cm3,
        button_cm3,
        _mass(cavity_cm3, solid_g_cm3),
        _mass(button_cm3, solid_g_cm3),
        floor,
        ceiling,
        holds,
        charge,
        funnel_needed,
        (*_button_in_funnel(button_cm3, funnel_cm3, where), *findings),
    )


@dataclass(frozen=True)
class _Fits:
    floor: Figure
    ceiling: Figure
    holds: Figure
    funnel: Figure
    funnel_needed: Figure
    crucible: Vessel
    melt: Figure
    division_g: float
    where: str

    @property
    def limit(self) -> Figure:
        return min(self.ceiling, self.holds, key=lambda one: one.value)

    def too_high(self, limit: Figure) -> bool:
        return marks_up(self.floor.value, self.division_g) > marks_down(limit.value, self.division_g)


def _low_end(density: Figure) -> Figure:
    return Figure(density.low, density.low, density.low, density.unit, "prepare.charge-low-end", {"range": density})


def _mass(volume_cm3: Figure, solid_g_cm3: Figure) -> Figure:
    inputs = {"volume": volume_cm3, "solid": solid_g_cm3}
    return reckon("g", "prepare.charge-solid-mass", lambda volume, solid: volume * solid, inputs, ("derived",))


def _choose(fits: _Fits) -> tuple[Figure | None, tuple[Finding, ...]]:
    impossible = _floor_over_limits(fits)
    if impossible:
        return None, impossible
    wanted = marks_up(fits.floor.high, fits.division_g)
    most = marks_down(fits.limit.value, fits.division_g)
    inputs = {"floor": fits.floor, "ceiling": fits.ceiling, "crucible": fits.holds}
    if wanted <= most:
        return _whole(wanted, fits, "prepare.charge-chosen", inputs), ()
    params = {
        "charge": show(in_steps(most, fits.division_g), "g"),
        "high": show(fits.floor.high, "g"),
        "limit": show(fits.limit.value, "g"),
    }
    tight = Finding("prepare.charge-tight", Level.LOOK, fits.where, params)
    return _whole(most, fits, "prepare.charge-chosen-tight", inputs), (tight,)


def _whole(marks_count: int, fits: _Fits, how: str, inputs: Mapping[str, Figure]) -> Figure:
    mass_g = in_steps(marks_count, fits.division_g)
    return Figure(mass_g, mass_g, mass_g, "g", how, inputs, ("derived",))


def _floor_over_limits(fits: _Fits) -> tuple[Finding, ...]:
    found = []
    if fits.too_high(fits.ceiling):
        params = {
            "floor": show(fits.floor.value, "g"),
            "ceiling": show(fits.ceiling.value, "g"),
            "funnel": show(fits.funnel.value, "cm3"),
            "needed": show(_volume_up(fits.funnel_needed.value), "cm3"),
        }
        found.append(Finding("prepare.charge-funnel-small", Level.STOP, fits.where, params))
    if fits.too_high(fits.holds):
        found.append(_crucible_small(fits, fits.floor.value))
    return tuple(found)


def _crucible_small(fits: _Fits, mass_g: float) -> Finding:
    melt_cm3 = mass_g / fits.melt.value
    params = {
        "mass": show(mass_g, "g"),
        "melt": show(melt_cm3, "cm3", 1),
        "limit": show(fits.crucible.volume_cm3.value * fits.crucible.fill_frac.value, "cm3", 1),
        "fill": show(100.0 * fits.crucible.fill_frac.value, "percent", 0),
        "volume": show(fits.crucible.volume_cm3.value, "cm3", 1),
        "most": show(in_steps(marks_down(fits.holds.value, _SHOWN_MASS_G), _SHOWN_MASS_G), "g", 1),
        "pours": str(math.ceil(mass_g / fits.holds.value)),
        "wanted": show(_volume_up(melt_cm3 / fits.crucible.fill_frac.value), "cm3", 1),
    }
    return Finding("prepare.charge-crucible-small", Level.STOP, fits.where, params, fits.crucible.fill_frac.sources)


def _volume_up(volume_cm3: float) -> float:
    return in_steps(marks_up(volume_cm3, _SHOWN_VOLUME_CM3), _SHOWN_VOLUME_CM3)


def _judge(fits: _Fits, offered: Figure) -> tuple[Figure | None, tuple[Finding, ...]]:
    found = list(_floor_over_limits(fits))
    over_g, under_g = offered.value - fits.ceiling.value, fits.floor.value - offered.value
    params = {
        "charge": show(offered.value, "g"),
        "ceiling": show(fits.ceiling.value, "g"),
        "floor": show(fits.floor.value, "g"),
    }
    if over_g > 0:
        over = {**params, "over": show(over_g, "g", 1)}
        found.append(Finding("prepare.charge-too-much", Level.STOP, fits.where, over))
    if under_g > 0:
        under = {**params, "under": show(under_g, "g", 1)}
        found.append(Finding("prepare.charge-too-little", Level.STOP, fits.where, under))
    if offered.value > fits.holds.value and not fits.too_high(fits.holds):
        found.append(_crucible_small(fits, offered.value))
    return (None if found else offered), tuple(found)


def _button_in_funnel(button_cm3: Figure, funnel_cm3: Figure, where: str) -> tuple[Finding, ...]:
    if button_cm3.value <= funnel_cm3.value:
        return ()
    params = {"button": show(button_cm3.value, "cm3"), "funnel": show(funnel_cm3.value, "cm3")}
    return (Finding("prepare.charge-button-big", Level.STOP, where, params),)
