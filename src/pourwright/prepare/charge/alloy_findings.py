"""What stands in the way of a charge, and what to know about one: findings for alloying."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.elements import element
from pourwright.matter.practice import rule
from pourwright.matter.safety import prompt
from pourwright.prepare.charge.lots import MeltLot
from pourwright.prepare.charge.marks import marks_down
from pourwright.prepare.charge.mixture import largest_charge_frac, mix
from pourwright.prepare.charge.order import Order, recipe_of, target_frac

# Our own choices; common practice, no source. A scale may cost this much fineness and no more, and a charge is at least
# so many of its marks; an alloy whose other metals are this far off is looked at, or is another alloy.
SCALE_COSTS_MOST_PERMILLE = 2.0
CHARGE_LEAST_MARKS_COUNT = 100
GAP_LOOK_PERMILLE = 5.0
GAP_STOP_PERMILLE = 20.0
_SCALE_STEPS = (5, 2, 1)
_SHOWN_STEP_G = 0.01
_MOSTLY_FRAC = 0.5


def wrong_order(order: Order, where: str) -> tuple[Finding, ...]:
    """Find what makes an order impossible to work on at all."""
    found = []
    if order.mass_g <= 0:
        found.append(Finding("prepare.alloy-mass", Level.STOP, where, {"mass": show(order.mass_g, "g")}))
    if not order.lots:
        found.append(Finding("prepare.alloy-no-lots", Level.STOP, where, {"alloy": order.alloy.title}))
    if order.scale_division_g <= 0 or order.scale_error_g < 0:
        params = {"division": show(order.scale_division_g, "g", 3), "error": show(order.scale_error_g, "g", 3)}
        found.append(Finding("prepare.alloy-scale", Level.STOP, where, params))
    if order.alloy.refuse_in_teaching:
        found.append(Finding("prepare.alloy-not-in-class", Level.STOP, where, {"alloy": order.alloy.title}))
    names = [one.name for one in order.lots]
    twice = sorted({one for one in names if names.count(one) > 1})
    return (*found, *(Finding("prepare.alloy-lot-twice", Level.STOP, where, {"lot": one}) for one in twice))


def not_to_be_mixed(order: Order, where: str) -> tuple[Finding, ...]:
    """Say which limit keeps a charge from being mixed, and the nearest one that can be."""
    freed = replace(order, lots=tuple(replace(one, limit_g=None) for one in order.lots))
    if not _can(replace(freed, scrap_most_frac=1.0)):
        return (_never(order, where),)
    params = {
        "mass": show(order.mass_g, "g"),
        "alloy": order.alloy.title,
        "nearest": _nearest(order),
        "most": show(100.0 * order.scrap_most_frac, "percent", 0),
        "lots": ", ".join(_short_lots(order)),
    }
    if all(one.is_scrap for one in order.lots):
        return (Finding("prepare.alloy-only-scrap", Level.STOP, where, params, rule("melt.scrap").sources),)
    if not _can(freed):
        return (Finding("prepare.alloy-needs-new", Level.STOP, where, params, rule("melt.scrap").sources),)
    return (Finding("prepare.alloy-stock", Level.STOP, where, params),)


def _name(symbol: str) -> str:
    return element(symbol).title


def _beside(order: Order) -> str:
    return ", ".join(_name(one) for one in order.alloy.composition_frac if one != order.elements[0])


def _can(order: Order) -> bool:
    return mix(recipe_of(order), excess_most_frac=order.excess_most_frac) is not None


def _never(order: Order, where: str) -> Finding:
    fineness = {one.name: order.counted_permille(one) for one in order.lots}
    lean = max(fineness.values()) < order.exact_permille
    name = max(fineness, key=lambda one: fineness[one]) if lean else min(fineness, key=lambda one: fineness[one])
    params = {
        "metal": _name(order.elements[0]),
        "others": _beside(order),
        "lot": name,
        "fineness": show(fineness[name], "permille"),
        "standard": show(order.exact_permille, "permille"),
    }
    return Finding("prepare.alloy-too-lean" if lean else "prepare.alloy-too-rich", Level.STOP, where, params)


def _nearest(order: Order) -> str:
    most_g = order.mass_g * largest_charge_frac(recipe_of(order))
    return show(marks_down(most_g, _SHOWN_STEP_G) * _SHOWN_STEP_G, "g")


def _short_lots(order: Order) -> list[str]:
    """Return the lots of which more would do by itself, or all that are limited if no single one would."""
    limited = [one for one in order.lots if one.limit_g is not None]
    short = [one.name for one in limited if _can(_freed(order, one))]
    return short or [one.name for one in limited] or [one.name for one in order.lots]


def _freed(order: Order, lot: MeltLot) -> Order:
    return replace(order, lots=tuple(replace(one, limit_g=None) if one is lot else one for one in order.lots))


def scale_too_coarse(used: Order, masses_g: Sequence[float], where: str) -> tuple[Finding, ...]:
    """Find whether the scale's marks are too coarse for the charge, or its error alone moves the fineness too far."""
    if used.mass_g < CHARGE_LEAST_MARKS_COUNT * used.scale_division_g:
        return (_charge_in_few_marks(used, where),)
    moves = [
        used.scale_error_g * abs(used.counted_permille(lot) - used.exact_permille) / used.mass_g for lot in used.lots
    ]
    total_permille = sum(moves)
    if total_permille <= SCALE_COSTS_MOST_PERMILLE:
        return ()
    worst = max(range(len(moves)), key=lambda lot: moves[lot])
    finer_g = used.scale_division_g * SCALE_COSTS_MOST_PERMILLE / total_permille
    params = {
        "division": _plain_g(used.scale_division_g),
        "error": _plain_g(used.scale_error_g),
        "moves": show(total_permille, "permille"),
        "most": show(SCALE_COSTS_MOST_PERMILLE, "permille", 0),
        "lot": used.lots[worst].name,
        "mass": show(masses_g[worst], "g"),
        "marks": f"{masses_g[worst] / used.scale_division_g:.0f}",
        "finer": _plain_g(_scale_below(finer_g)),
    }
    return (Finding("prepare.alloy-scale-coarse", Level.STOP, where, params, ("none",)),)


def _charge_in_few_marks(used: Order, where: str) -> Finding:
    params = {
        "division": _plain_g(used.scale_division_g),
        "mass": show(used.mass_g, "g"),
        "marks": f"{used.mass_g / used.scale_division_g:.3g}",
        "least": CHARGE_LEAST_MARKS_COUNT,
        "finer": _plain_g(_scale_below(used.mass_g / CHARGE_LEAST_MARKS_COUNT)),
    }
    return Finding("prepare.alloy-scale-charge", Level.STOP, where, params, ("none",))


def _plain_g(mass_g: float) -> str:
    return f"{mass_g:.6f}".rstrip("0").rstrip(".") + "\u00a0g"


def _scale_below(division_g: float) -> float:
    """Return the coarsest usual scale (5, 2 or 1 of a decade) that is no coarser than wanted [g]."""
    decade = 1.0
    while decade > division_g:
        decade /= 10.0
    return next(step * decade for step in _SCALE_STEPS if step * decade <= division_g * (1 + 1e-9))


def composition_gaps(used: Order, masses_g: Sequence[float], where: str) -> tuple[Finding, ...]:
    """Say which of the other metals are off the alloy, and by how much."""
    target, found = target_frac(used), []
    for symbol in used.elements[1:]:
        held_g = sum(
            mass * lot.composition_frac.get(symbol, 0.0) for lot, mass in zip(used.lots, masses_g, strict=True)
        )
        gap_permille = 1000.0 * (held_g / used.mass_g - target[symbol])
        if abs(gap_permille) <= GAP_LOOK_PERMILLE:
            continue
        params = {
            "metal": _name(symbol),
            "has": show(100.0 * held_g / used.mass_g, "percent"),
            "wanted": show(100.0 * target[symbol], "percent"),
            "alloy": used.alloy.title,
        }
        far = abs(gap_permille) > GAP_STOP_PERMILLE
        code = "prepare.alloy-other-alloy" if far else "prepare.alloy-other-metal"
        found.append(Finding(code, Level.STOP if far else Level.LOOK, where, params, ("none",)))
    return tuple(found)


def no_room_for_the_aim(order: Order, where: str) -> tuple[Finding, ...]:
    """Say that the lots reach the standard but leave no room to keep the worst case there."""
    params = {
        "standard": show(order.exact_permille, "permille"),
        "error": _plain_g(order.scale_error_g),
        "metal": _name(order.elements[0]),
    }
    return (Finding("prepare.alloy-no-margin", Level.STOP, where, params),)


def scrap_left(order: Order, used: Order, masses_g: Sequence[float], where: str) -> tuple[Finding, ...]:
    """Say how much scrap stays behind, and why; and which lots were not needed."""
    mass_of = {lot.name: mass for lot, mass in zip(used.lots, masses_g, strict=True)}
    scrap_frac = sum(mass_of.get(one.name, 0.0) for one in order.lots if one.is_scrap) / order.mass_g
    capped = scrap_frac > order.scrap_most_frac - 1e-6
    notes = [_left_note(order, one, mass_of.get(one.name, 0.0), capped, where) for one in order.lots if one.is_scrap]
    idle = ", ".join(one.name for one in order.lots if one.name not in mass_of and not one.is_scrap)
    if idle:
        notes.append(Finding("prepare.alloy-lot-idle", Level.NOTE, where, {"lots": idle}))
    return tuple(one for one in notes if one is not None)


def _left_note(order: Order, lot: MeltLot, mass_g: float, capped: bool, where: str) -> Finding | None:
    if lot.limit_g is None or lot.limit_g.value - mass_g < _SHOWN_STEP_G / 2:
        return None
    params = {
        "lot": lot.name,
        "used": show(mass_g, "g"),
        "has": show(lot.limit_g.value, "g"),
        "most": show(100.0 * order.scrap_most_frac, "percent", 0),
    }
    if capped:
        return Finding("prepare.alloy-scrap-capped", Level.NOTE, where, params, rule("melt.scrap").sources)
    return Finding("prepare.alloy-scrap-left", Level.NOTE, where, params)


def metal_that_boils(used: Order, masses_g: Sequence[float], where: str) -> tuple[Finding, ...]:
    """Warn where zinc itself goes into a charge: it boils below the melt it goes into, and its fume is a hazard."""
    zinc_g = sum(
        mass
        for lot, mass in zip(used.lots, masses_g, strict=True)
        if lot.composition_frac.get("Zn", 0.0) > _MOSTLY_FRAC
    )
    if not zinc_g:
        return ()
    boils, fume = rule("melt.zn"), prompt("fume.zn")
    params = {
        "zinc": show(zinc_g, "g"),
        "boils": show(boils.value or 0.0, "C"),
        "limit": f"{fume.value:g} {fume.unit}",
        "alloy": used.alloy.title,
    }
    return (Finding("prepare.alloy-zinc", Level.LOOK, where, params, (*boils.sources, *fume.sources)),)
