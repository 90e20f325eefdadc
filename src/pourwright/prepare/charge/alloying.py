"""Weigh a charge together from lots: the exact mixture, and weights that keep the worst case at the standard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pourwright.core.figure import Figure, given
from pourwright.core.findings import Finding, stops
from pourwright.matter.alloys import Alloy
from pourwright.prepare.charge import alloy_findings as say
from pourwright.prepare.charge.lots import MeltLot
from pourwright.prepare.charge.marks import MarkTask, in_steps, largest_remainder, marks_down, marks_up, whole_marks
from pourwright.prepare.charge.mixture import mix, mixed_permille, worst_permille
from pourwright.prepare.charge.order import Order, kept, order_for, recipe_of
from pourwright.prepare.charge.results import AlloyedCharge, Weighing

WEIGH_STEP_G = 0.0001
# How often the aimed mixture is sought again because a lot dropped out of it.
_MOST_TURNS_COUNT = 4


def alloy_charge(
    alloy: Alloy,
    mass_g: float,
    lots: Sequence[MeltLot],
    scale_error_g: float,
    scale_division_g: float,
    scrap_most_frac: float,
    where: str = "",
) -> tuple[AlloyedCharge | None, tuple[Finding, ...]]:
    """Work out what to weigh of each lot for a charge.

    Parameters
    ----------
    alloy : Alloy
        What the charge is to be.
    mass_g : float
        Mass of the charge [g].
    lots : sequence of MeltLot
        In the order of preference; scrap goes in first, up to its share, its stock and what the fineness allows.
    scale_error_g, scale_division_g : float
        Error of one weighing, and one mark of the scale [g].
    scrap_most_frac : float
        Largest share of scrap.
    where : str
        The flask or the command, for findings.

    Returns
    -------
    charge : AlloyedCharge or None
        None when a finding stops it.
    findings : tuple of Finding
        Why it cannot be done and what could be done instead; or what to know about it. The charge holds them too.

    Notes
    -----
    The noble metal is met exactly; the other metals come as near to the alloy as the lots allow. The weights to act
    on are the leanest whole marks whose worst case, each weighing off by the scale's error in the worst direction and
    each lot at the low end of its fineness, is at the standard. No tolerance of any law is used up for this.
    """
    order = order_for(alloy, mass_g, lots, scale_error_g, scale_division_g, scrap_most_frac)
    refused = say.wrong_order(order, where)
    if refused:
        return None, refused
    shares = mix(recipe_of(order), excess_most_frac=order.excess_most_frac)
    if shares is None:
        return None, say.not_to_be_mixed(order, where)
    used = kept(order, shares)
    masses_g = [mass_g * share for share in shares if share > 0]
    found = say.scale_too_coarse(used, masses_g, where) + say.composition_gaps(used, masses_g, where)
    if stops(found):
        return None, found
    return _aimed_charge(order, used, masses_g, found, where)


def _aimed_charge(
    order: Order, used: Order, masses_g: list[float], found: tuple[Finding, ...], where: str
) -> tuple[AlloyedCharge | None, tuple[Finding, ...]]:
    aimed, aimed_g = _to_whole_marks(order, used)
    if aimed is None:
        return None, (*found, *say.no_room_for_the_aim(order, where))
    found += say.scrap_left(order, aimed, aimed_g, where) + say.metal_that_boils(aimed, aimed_g, where)
    total_g = round(float(used.mass_g), 4)
    weigh = _weighings(used.lots, largest_remainder(masses_g, total_g, WEIGH_STEP_G))
    exact = _weighings(used.lots, masses_g)
    nominal, nominal_low = _fineness(used, exact, "prepare.alloy-nominal", "prepare.alloy-nominal-low")
    to_aim = _weighings(aimed.lots, aimed_g)
    aim, aim_low = _fineness(aimed, to_aim, "prepare.alloy-aim", "prepare.alloy-aim-low")
    scrap_g = sum(one.mass_g for one, lot in zip(to_aim, aimed.lots, strict=True) if lot.is_scrap)
    scrap_frac = scrap_g / sum(one.mass_g for one in to_aim)
    alloy_id = used.alloy.id
    charge = AlloyedCharge(alloy_id, weigh, total_g, nominal, nominal_low, aim, aim_low, to_aim, scrap_frac, found)
    return charge, found


def _weighings(lots: Sequence[MeltLot], masses_g: Sequence[float]) -> tuple[Weighing, ...]:
    return tuple(Weighing(lot.name, mass) for lot, mass in zip(lots, masses_g, strict=True))


def _to_whole_marks(order: Order, used: Order) -> tuple[Order | None, list[float]]:
    """Seek the aimed mixture over the lots it uses, and its whole marks; None if the lots have no room for it."""
    shares, used = _aimed_shares(order, used)
    if shares is None:
        return None, []
    masses_g = [order.mass_g * share for share in shares if share > 0]
    counts = whole_marks(_mark_task(used, masses_g, hold=True)) or whole_marks(_mark_task(used, masses_g, hold=False))
    if counts is None:
        return None, []
    return kept(used, counts), [in_steps(count, used.scale_division_g) for count in counts if count > 0]


def _aimed_shares(order: Order, used: Order) -> tuple[tuple[float, ...] | None, Order]:
    """Return the aimed mixture and its lots; the margin hangs on which lots are weighed, so it may take a few turns."""
    recipe = recipe_of(order, low_end=bool(order.standard_permille))
    for _ in range(_MOST_TURNS_COUNT):
        shares = mix(recipe, _margin_frac(used), excess_most_frac=1.0)
        if shares is None:
            return None, used
        now = kept(order, shares)
        settled, used = now.lots == used.lots, now
        if settled:
            break
    return shares, used


def _margin_frac(used: Order) -> float:
    """Return how far over its target the exact element must lie so that the scale cannot pull it below the standard."""
    if not used.standard_permille:
        return 0.0
    over = sum(abs(used.low_permille(lot) - used.standard_permille) for lot in used.lots)
    return used.scale_error_g * over / 1000.0 / used.mass_g


def _mark_task(used: Order, masses_g: Sequence[float], hold: bool) -> MarkTask:
    step_g, pairs = used.scale_division_g, list(zip(used.lots, masses_g, strict=True))
    total = marks_up(used.mass_g, step_g)
    most = tuple(total if lot.limit_g is None else marks_down(lot.limit_g.value, step_g) for lot in used.lots)
    used_up = tuple(lot.limit_g is not None and marks_down(mass, step_g) >= marks_down(lot.limit_g.value, step_g)
                    for lot, mass in pairs)  # fmt: skip
    held = tuple(hold and len(pairs) > 1 and (lot.is_scrap or up) for (lot, _), up in zip(pairs, used_up, strict=True))
    fine = tuple(used.low_permille(lot) for lot in used.lots)
    return MarkTask(
        tuple(masses_g),
        fine,
        most,
        held,
        total,
        step_g,
        used.scale_error_g,
        used.standard_permille,
    )


def _fineness(used: Order, weighings: Sequence[Weighing], how: str, how_low: str) -> tuple[Figure, Figure]:
    """Return the fineness of weighed lots with its range, and its worst case by itself."""
    masses_g = [one.mass_g for one in weighings]
    errors_g = [used.scale_error_g] * len(masses_g)
    counted = [used.counted_permille(lot) for lot in used.lots]
    low = worst_permille(masses_g, [used.low_permille(lot) for lot in used.lots], errors_g)
    high = worst_permille(masses_g, [used.high_permille(lot) for lot in used.lots], errors_g, direction=1)
    inputs = _trail(used, weighings)
    alone = {name: _alone(used, name, weighings) for name in inputs}
    mover = max(alone, key=lambda name: alone[name][1] - alone[name][0])
    settled = alone[mover][0] == alone[mover][1]  # lots and scale without a doubt about either
    value = mixed_permille(masses_g, counted)
    figure = Figure(value, min(low, value), max(high, value), "permille", how, inputs, ("derived",))
    figure = figure if settled else replace(figure, mover=mover, moved=alone[mover])
    return figure, Figure(low, low, low, "permille", how_low, inputs, ("derived",))


def _trail(used: Order, weighings: Sequence[Weighing]) -> dict[str, Figure]:
    error_g, trail = used.scale_error_g, {}
    for lot, one in zip(used.lots, weighings, strict=True):
        trail[one.lot] = given(
            one.mass_g, "g", "scale", one.mass_g - error_g, one.mass_g + error_g, how="prepare.alloy-weighed"
        )
        trail[f"{one.lot} fineness"] = lot.fineness_permille
    return trail


def _alone(used: Order, name: str, weighings: Sequence[Weighing]) -> tuple[float, float]:
    """Return between what the fineness lies [permille] where one input alone is at its ends."""
    masses_g = [one.mass_g for one in weighings]
    counted = [used.counted_permille(lot) for lot in used.lots]
    ends = []
    for sign in (-1, 1):
        moved_g = [
            mass + sign * used.scale_error_g * (name == one.lot) for mass, one in zip(masses_g, weighings, strict=True)
        ]
        moved_permille = [
            (used.high_permille(lot) if sign > 0 else used.low_permille(lot)) if name == f"{one.lot} fineness" else best
            for lot, one, best in zip(used.lots, weighings, counted, strict=True)
        ]
        ends.append(mixed_permille(moved_g, moved_permille))
    return min(ends), max(ends)
