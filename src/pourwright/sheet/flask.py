"""The pages of one flask: build and weigh, set the machine cold, pour."""

from __future__ import annotations

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show, show_in
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.prepare.throw.results import Balance, Winding
from pourwright.sheet import show as paper
from pourwright.sheet import steps
from pourwright.sheet.cautions import way_back
from pourwright.sheet.cover import charge_text, flask_row, people, role_name
from pourwright.sheet.freeze import freeze_part
from pourwright.sheet.kiln import load_of
from pourwright.sheet.lots import fineness, pans
from pourwright.sheet.throw import throw_part
from pourwright.sheet.tree import tree_drawing
from pourwright.sheet.warnings import worst_level
from pourwright.sheet.why import reasons
from pourwright.studio.profile import Machine, PrintUnits


def flask_pages(plan: DayPlan, one: PlannedFlask, pictures: dict[str, dict[str, object]]) -> dict[str, object]:
    """Return all that the pages of one flask print.

    Parameters
    ----------
    plan : DayPlan
        The day.
    one : PlannedFlask
        One of its flasks.
    pictures : mapping
        File name and width in millimetres of each picture, by piece id and, for the tree, by load id; the cut through
        a frozen tree by :func:`cut_key`.
    """
    return {
        **flask_row(plan, one),
        "id": one.id,
        "base": one.base,
        "label": label_words(one),
        "people": [row for row in people(plan) if row["role"] in (role_name("caller"), role_name("pourer"))],
        "pieces": [_piece(plan, one, piece, pictures) for piece in _pieces(plan, one)],
        "tree": {**tree_drawing(plan, one), "picture": pictures[one.id]["file"]},
        "metal": _metal(plan, one),
        "mould": _mould(plan, one),
        "arm": _arm(plan, one),
        "cold": steps.cold_steps(plan, one),
        "melt": steps.melt_steps(plan, one),
        "to_cradle": steps.flask_steps(plan, one),
        "release": steps.release(plan, one),
        "way_back": way_back(),
        "why": reasons(plan, one),
        "freeze": freeze_part(one, pictures.get(cut_key(one))),
        "fill": throw_part(one, pictures.get(throw_key(one)), pictures.get(chart_key(one))),
    }


def cut_key(one: PlannedFlask) -> str:
    """Return the key of a flask's cut among the pictures; no piece's id has a blank."""
    return f"freeze {one.id}"


def throw_key(one: PlannedFlask) -> str:
    """Return the key of the cut that shows how a flask fills among the pictures."""
    return f"fill {one.id}"


def chart_key(one: PlannedFlask) -> str:
    """Return the key of a flask's force over time among the pictures."""
    return f"force {one.id}"


def label_words(one: PlannedFlask) -> str:
    """Return the charge in whole grams as scratched beside the number."""
    return "–" if one.need.charge_g is None else show(one.need.charge_g.value, "g", 0)


def _pieces(plan: DayPlan, one: PlannedFlask) -> list[PlannedPiece]:
    by_id = {piece.id: piece for piece in plan.pieces}
    return [by_id[piece] for piece in one.pieces]


def _piece(
    plan: DayPlan, one: PlannedFlask, piece: PlannedPiece, pictures: dict[str, dict[str, object]]
) -> dict[str, object]:
    units = plan.studio.units
    gate_mm = next(placed.gate_diameter_mm for placed in one.tree.placed if placed.id == piece.id)
    return {
        "id": piece.id,
        "short": paper.short_id(piece.id),
        "warned": worst_level(piece),
        "title": paper.user_text(piece.title),
        "owner": paper.user_text(piece.owner),
        "mass": paper.shown(piece.cast_g, units, 1 if units.mass == "g" else 2),
        "gate": show_in(gate_mm, "mm", units.length),
        "stones": piece.stones,
        "picture": pictures.get(piece.id),
    }


def _metal(plan: DayPlan, one: PlannedFlask) -> dict[str, object]:
    units, need = plan.studio.units, one.need
    return {
        "charge": charge_text(plan, one),
        "pans": pans(plan, one),
        "fineness": None if one.alloyed is None else fineness(one.alloyed),
        "floor": paper.shown(need.floor_g, units, 1),
        "ceiling": paper.shown(need.ceiling_g, units, 1),
        "crucible": paper.shown(need.crucible_g, units, 1),
        "crucible_id": plan.day.crucible,
        "possible": need.charge_g is not None,
    }


def _mould(plan: DayPlan, one: PlannedFlask) -> dict[str, object] | None:
    mine = next((mix for mix in plan.mix.flasks if load_of(plan, mix.flask) is one), None)
    if mine is None:
        return None
    return {
        "powder": show(mine.powder_g.value, "g", 0),
        "water": show(mine.water_g.value, "g", 0),
        "dry": paper.shown(mine.dry_kg, plan.studio.units),
    }


def _arm(plan: DayPlan, one: PlannedFlask) -> dict[str, object]:
    units, balance = plan.studio.units, one.throw.balance
    machine = next(machine for machine in plan.studio.machines if machine.id == plan.day.machine)
    return {
        "machine": machine.id,
        "drawing": _arm_lines(machine, balance, units),
        "start_mark": paper.shown(balance.start_mark_mm, units),
        "start_force": paper.shown(balance.start_force_N, units, 0),
        "stated_speed": _stated_speed(balance.start_force_N),
        "pulls": _pulls(balance),
        "windings": [_winding(row, one) for row in one.throw.windings],
        "calibrated": one.throw.calibrated,
    }


def _stated_speed(force_N: Figure) -> str:
    """Return the speed at which a force was worked out, or an empty text."""
    speed = force_N.inputs.get("stated_rpm")
    return "" if speed is None else show(speed.value, "rpm", 0)


def _pulls(balance: Balance) -> str:
    """Return what may be left at the peak and what the swing pulls, or an empty text where it was not worked out."""
    left, swing, grade = balance.left_force_N, balance.swing_force_N, balance.grade_m_s
    if left is None or swing is None or grade is None:
        return ""
    return say(
        "sheet.machine.pulls",
        left=show(left.high, "N", 0),
        grade=f"{1000 * grade.value:.0f}",
        swing=show(swing.high, "N", 0),
    )


def _arm_lines(machine: Machine, balance: Balance, units: PrintUnits) -> dict[str, object]:
    """Return distances from the shaft [mm]; a second weight stands at the end of the reach, with the first."""
    second = balance.second_kg
    high_mm = machine.weight_high_mm.value
    return {
        "mark_mm": balance.mark_mm.value if second is None else high_mm,
        "weight_low_mm": machine.weight_low_mm.value,
        "weight_high_mm": high_mm,
        "crucible_mm": machine.crucible_radius_mm.value,
        "flask_mm": machine.flask_radius_mm.value,
        "hinge_mm": None if machine.hinge_radius_mm is None else machine.hinge_radius_mm.value,
        "second": "" if second is None else say("sheet.machine.second", mass=show(1000 * second.value, "g", 0)),
        "stands": show_in(high_mm, "mm", units.length) if second is not None else "",
    }


def _winding(row: Winding, one: PlannedFlask) -> dict[str, object]:
    return {
        "turns": paper.trimmed(row.turns_turns),
        "chosen": abs(row.turns_turns - one.throw.wind_turns.value) < 1e-9,
        "speed": _span(row.speed_rpm.low, row.speed_rpm.high, "rpm", 0),
        "pull": show(row.flask_gee.value, "gee", 0),
        "head": show(row.head_kPa.value, "kPa", 0),
    }


def _span(low_ratio: float, high_ratio: float, unit: str, digits: int) -> str:
    low, high = show(low_ratio, unit, digits), show(high_ratio, unit, digits)
    return high if low == high else say("sheet.span", low=low.split("\u00a0")[0], high=high)
