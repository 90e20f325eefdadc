"""The flasks of the day: which pieces share one, how much metal each needs, of what it is weighed, how it is thrown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.ids import flask_load_id, issue_numbers
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.prepare.charge.alloying import alloy_charge
from pourwright.prepare.charge.amount import Vessel, button_cm3, cavity_cm3, charge_need
from pourwright.prepare.charge.capacity import usable_metal_g
from pourwright.prepare.charge.lots import MeltLot, lot_from_stock, take_from
from pourwright.prepare.charge.results import AlloyedCharge, ChargeNeed
from pourwright.prepare.day_plan import PlannedFlask, PlannedPiece, StockUse
from pourwright.prepare.densities import liquid_g_cm3, solid_g_cm3
from pourwright.prepare.flasking.choose import base_for, choose_flasks
from pourwright.prepare.flasking.results import FlaskGroup, Flasking
from pourwright.prepare.mould.results import FlaskMix
from pourwright.prepare.mould.wall_clock import before, on_the_wall
from pourwright.prepare.plan_pieces import PiecesOfDay
from pourwright.prepare.plan_pours import PourPlan
from pourwright.prepare.quench.cooling import calibrated_cooling
from pourwright.prepare.quench.window import quench_window
from pourwright.prepare.rule_figures import rule_figure
from pourwright.prepare.throw.setup import set_up_throw
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import Tree
from pourwright.studio.day import Day
from pourwright.studio.profile import Crucible, Flask, Machine, Scale, SprueBase, Studio

# Wax rods laid by hand differ from the drawing by about this much in volume; common practice, no source.
_HAND_LAID = 0.15
_ROOM_C = 20.0
_MARKS_KEPT_FREE = 2.0


@dataclass(frozen=True)
class Bench:
    """What the day is worked with: one each of machine, crucible and scale, the alloy and its pour temperature."""

    machine: Machine
    crucible: Crucible
    scale: Scale
    alloy: Alloy
    pour_C: Figure


@dataclass(frozen=True)
class FlaskDraft:
    """A group of pieces with its charge worked out; ``alloyed`` is None when the charge cannot be weighed.

    ``number`` is scratched into the investment; it is poured at ``flask_C``, so long after the first pour of the day.
    """

    load: str
    number: int
    after_min: float
    flask_C: Figure
    group: FlaskGroup
    flask: Flask
    base: SprueBase
    need: ChargeNeed
    alloyed: AlloyedCharge | None
    findings: tuple[Finding, ...]


def pour_temperature(alloy: Alloy, chosen_C: Figure | None) -> Figure:
    """Return the metal's temperature at the pour [degC]: the studio's, else liquidus plus the superheat of practice.

    Parameters
    ----------
    alloy : Alloy
        Its liquidus, with range.
    chosen_C : Figure or None
        What the studio wants [degC].
    """
    if chosen_C is not None:
        return chosen_C
    low, high = rule_figure("melt.superheat", "low", "K"), rule_figure("melt.superheat", "high", "K")
    superheat = replace(low, value=(low.value + high.value) / 2, high=high.value)
    melting = alloy.liquidus_K
    liquidus = given(
        melting.best, "K", f"alloys.toml {alloy.id} liquidus_C", melting.low, melting.high, melting.sources
    )
    return reckon(
        "C",
        "prepare.how-pour-temperature",
        lambda liquidus_K, superheat_K: liquidus_K + superheat_K - 273.15,
        {"liquidus_K": liquidus, "superheat_K": superheat},
    )


def group_pieces(studio: Studio, pieces: PiecesOfDay, bench: Bench) -> Flasking:
    """Group the pieces into the fewest flasks that take them, each with its tree.

    Parameters
    ----------
    studio : Studio
        Flasks, bases and clearances.
    pieces : PiecesOfDay
        Ready to place.
    bench : Bench
        Crucible and alloy bound what a flask may hold.
    """
    habits = studio.habits
    rules = tree_rules(
        habits.wall_clearance_mm.value, habits.end_clearance_per_diameter_ratio.value, habits.piece_clearance_mm.value
    )
    usable = {one.id: _usable_g(studio, one, bench) for one in studio.flasks}
    return choose_flasks(pieces.to_place, studio.flasks, studio.bases, usable, rules, solid_g_cm3(bench.alloy).value)


def _usable_g(studio: Studio, flask: Flask, bench: Bench) -> float:
    base = base_for(flask, studio.bases)
    if base is None:
        return 0.0
    vessel = reckon(
        "cm3",
        "prepare.how-vessel",
        lambda volume_cm3, fill_frac: volume_cm3 * fill_frac,
        {"volume_cm3": bench.crucible.volume_cm3, "fill_frac": bench.crucible.fill_frac},
    )
    button = button_cm3(base.button_diameter_mm, base.button_height_mm)
    limit_g = usable_metal_g(
        button,
        base.funnel_cm3,
        solid_g_cm3(bench.alloy),
        liquid_g_cm3(bench.alloy, bench.pour_C),
        vessel,
        studio.habits.loss_frac,
    )
    return max(0.0, limit_g - _MARKS_KEPT_FREE * bench.scale.division_g.value)


def draft_flasks(
    studio: Studio, day: Day, bench: Bench, pours: PourPlan, pieces: Mapping[str, PlannedPiece]
) -> tuple[tuple[FlaskDraft, ...], tuple[Finding, ...]]:
    """Work out the charge of each flask, one after the other from the same stock.

    Returns
    -------
    drafts : tuple of FlaskDraft
        In the order of the pours.
    findings : tuple of Finding
        About lots that may not be used.
    """
    lots, findings = _lots(studio, day, bench)
    drafts = []
    for number, group in zip(issue_numbers(len(pours.groups)), pours.groups, strict=True):
        draft = _draft(studio, day, bench, number, group, pours, pieces, lots)
        drafts.append(draft)
        if draft.alloyed:
            lots = take_from(lots, draft.alloyed.weigh_to_aim)
    return tuple(drafts), findings


def _lots(studio: Studio, day: Day, bench: Bench) -> tuple[tuple[MeltLot, ...], tuple[Finding, ...]]:
    by_id = {one.id: one for one in studio.lots}
    chosen = [by_id[one] for one in day.use_lots] if day.use_lots else list(studio.lots)
    lots: list[MeltLot] = []
    findings: list[Finding] = []
    for stock in chosen:
        lot, found = lot_from_stock(stock, bench.alloy)
        if lot:
            lots.append(lot)
        if day.use_lots:  # a lot nobody asked for is left in the drawer without a word
            findings += found
    return tuple(lots), tuple(findings)


def _draft(
    studio: Studio,
    day: Day,
    bench: Bench,
    number: int,
    group: FlaskGroup,
    pours: PourPlan,
    pieces: Mapping[str, PlannedPiece],
    lots: tuple[MeltLot, ...],
) -> FlaskDraft:
    load = flask_load_id(day.date, number)
    base = next(one for one in studio.bases if one.id == group.base)
    need = charge_need(
        _cavity(group, pieces),
        button_cm3(base.button_diameter_mm, base.button_height_mm),
        base.funnel_cm3,
        solid_g_cm3(bench.alloy),
        liquid_g_cm3(bench.alloy, bench.pour_C),
        Vessel(bench.crucible.volume_cm3, bench.crucible.fill_frac),
        studio.habits.loss_frac,
        bench.scale.division_g.value,
        where=load,
    )
    alloyed, found = _alloyed(studio, bench, need, lots, load)
    flask = next(one for one in studio.flasks if one.id == group.flask)
    findings = (*group.findings, *need.findings, *found, *_over_the_scale(bench.scale, need, load))
    after_min, flask_C = pours.after_min[group.flask], pours.temperature_C[group.flask]
    return FlaskDraft(load, number, after_min, flask_C, group, flask, base, need, alloyed, findings)


def _alloyed(
    studio: Studio, bench: Bench, need: ChargeNeed, lots: tuple[MeltLot, ...], load: str
) -> tuple[AlloyedCharge | None, tuple[Finding, ...]]:
    if need.charge_g is None:
        return None, ()
    return alloy_charge(
        bench.alloy,
        need.charge_g.value,
        lots,
        bench.scale.error_g.value,
        bench.scale.division_g.value,
        studio.habits.scrap_most_frac.value,
        load,
    )


def _over_the_scale(scale: Scale, need: ChargeNeed, load: str) -> tuple[Finding, ...]:
    if need.charge_g is None or need.charge_g.value <= scale.capacity_g.value:
        return ()
    params = {"charge": need.charge_g.value, "scale": scale.id, "capacity": scale.capacity_g.value}
    return (Finding("prepare.scale-too-small", Level.LOOK, load, params),)


def _cavity(group: FlaskGroup, pieces: Mapping[str, PlannedPiece]) -> Figure:
    volumes = {one: pieces[one].volume_cm3 for one in group.pieces}
    return cavity_cm3(volumes, _rod(group.tree, "sprue"), _rod(group.tree, "gates"))


def _rod(tree: Tree, part: str) -> Figure:
    volume_cm3 = (tree.sprue_volume_mm3 if part == "sprue" else tree.gates_volume_mm3) / 1000.0
    low, high = volume_cm3 * (1 - _HAND_LAID), volume_cm3 * (1 + _HAND_LAID)
    return given(volume_cm3, "cm3", f"tree: {part}", low, high, ("none",), "prepare.how-rods")


def finish_flask(
    studio: Studio, day: Day, bench: Bench, draft: FlaskDraft, mix: FlaskMix, stones: bool
) -> PlannedFlask | None:
    """Add arm, quench and pour time to a draft; None when it has no charge.

    Parameters
    ----------
    studio, day, bench : Studio, Day, Bench
        What the day is worked with.
    draft : FlaskDraft
        Pieces and charge.
    mix : FlaskMix
        Gives the dry mass of the burned-out flask.
    stones : bool
        Whether stones are cast in place.
    """
    charge = draft.need.charge_g
    if charge is None:
        return None
    throw = set_up_throw(bench.machine, mix.dry_kg, charge, bench.alloy, bench.pour_C, draft.load)
    room = given(_ROOM_C, "C", "room", how="prepare.how-room")
    cooling = calibrated_cooling(studio.calibration, draft.flask.id, room, bench.pour_C)
    quench = quench_window(draft.load, draft.flask.diameter_mm, bench.alloy, stones, cooling, studio.units)
    return PlannedFlask(
        id=draft.load,
        number=draft.number,
        flask=draft.flask.id,
        base=draft.base.id,
        pieces=draft.group.pieces,
        tree=draft.group.tree,
        need=draft.need,
        alloyed=draft.alloyed,
        throw=throw,
        quench=quench,
        pour_at=on_the_wall(before(day.first_pour, -draft.after_min), studio.zone),
        flask_temperature_C=draft.flask_C,
        findings=(*draft.findings, *throw.findings, *quench.findings, *_outside_its_window(draft)),
    )


def _outside_its_window(draft: FlaskDraft) -> tuple[Finding, ...]:
    """Stop where the day file gives pieces a span of flask temperatures and the kiln will not be in it."""
    window, flask_C = draft.group.window_C, draft.flask_C
    if window is None or window[0] <= flask_C.value <= window[1]:
        return ()
    params = {
        "flask": draft.flask.id,
        "low": show(window[0], "C"),
        "high": show(window[1], "C"),
        "chosen": show(flask_C.value, "C"),
    }
    return (Finding("prepare.flask-temperature-outside", Level.STOP, draft.load, params),)


def use_of_stock(studio: Studio, drafts: Sequence[FlaskDraft]) -> tuple[StockUse, ...]:
    """Return what the day takes from each lot that it touches, in the order of the profile."""
    rows = []
    for lot in studio.lots:
        taken = {
            draft.load: given(one.mass_g, "g", draft.load, how="prepare.how-weighed-out")
            for draft in drafts
            if draft.alloyed
            for one in draft.alloyed.weigh_to_aim
            if one.lot == lot.id and one.mass_g > 0
        }
        if taken:
            take = reckon("g", "prepare.how-lot-taken", lambda **parts: sum(parts.values()), taken)
            left = reckon(
                "g",
                "prepare.how-lot-left",
                lambda have_g, take_g: have_g - take_g,
                {"have_g": lot.mass_g, "take_g": take},
            )
            rows.append(StockUse(lot.id, lot.mass_g, take, left))
    return tuple(rows)
