"""What must agree between the keys of ``studio.toml``, and what its rows may refer to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from pourwright.core.figure import Figure, from_interval, reckon
from pourwright.core.findings import Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import stock_metal, stock_metal_ids
from pourwright.matter.moulds import mould_ids
from pourwright.matter.practice import programme_ids, rule
from pourwright.studio.place import Place, near
from pourwright.studio.profile import SprueBase
from pourwright.studio.tables import Finish, Values, ids_of

SCRAP = "scrap"


def checks_for(content: Mapping[str, Any]) -> dict[str, Finish]:
    """Return what to do with each kind of row once all its keys are read."""
    flasks = ids_of(content, "flask")
    return {
        "base": lambda values, place: _check_base(values, place, flasks),
        "machine": _check_machine,
        "scale": _finish_scale,
        "powder": _check_powder,
        "cylinder": lambda values, place: _in_order(
            values, place, ("tare", "tare_g"), ("gross", "gross_g"), equal=True
        ),
        "lot": _finish_lot,
        "material": _check_material,
    }


def check_known(values: Values, key: str, known: Sequence[str], place: Place) -> bool:
    """Return whether a value is one of the known ids; adds a finding if it is another."""
    if not values[key]:
        return False
    if values[key] in known:
        return True
    place.note("studio.id-unknown", key, got=values[key], known=near(values[key], known))
    return False


def _check_base(values: Values, place: Place, flasks: Sequence[str]) -> None:
    for one in values["fits"] or ():
        if one not in flasks:
            place.note("studio.id-unknown", "fits", got=one, known=near(one, flasks))
    diameter, height, funnel = (values[one] for one in ("button_diameter_mm", "button_height_mm", "funnel_cm3"))
    if None in (diameter, height, funnel):
        return
    button = reckon(
        "cm3",
        "studio.button-cylinder",
        lambda diameter, height: math.pi / 4 * diameter**2 * height / 1000,
        {"diameter": diameter, "height": height},
    )
    if button.value > funnel.value:
        place.note(
            "studio.button-over-funnel",
            "funnel",
            button=show(button.value, "cm3"),
            funnel=show(funnel.value, "cm3"),
        )


def flasks_without_base(content: Mapping[str, Any], bases: Sequence[SprueBase], place: Place) -> None:
    """Add a finding for each flask that no base fits, once all bases could be read."""
    if len(bases) < len(content.get("base", ())) or not bases:
        return
    fitted = {flask for base in bases for flask in base.fits}
    for number, flask in enumerate(ids_of(content, "flask")):
        if flask not in fitted:
            row = place.inside(("flask", number), f"flask {flask}")
            row.note("studio.flask-without-base", "id", Level.LOOK, flask=flask)


def _check_machine(values: Values, place: Place) -> None:
    _in_order(values, place, ("turns_usual", "turns_usual_turns"), ("turns_limit", "turns_limit_turns"), equal=True)
    _in_order(values, place, ("weight_low", "weight_low_mm"), ("weight_high", "weight_high_mm"))
    _in_order(values, place, ("crucible_radius", "crucible_radius_mm"), ("metal_radius", "metal_in_flask_radius_mm"))
    hinge, outer = ("hinge_radius", "hinge_radius_mm"), ("outer_radius", "outer_radius_mm")
    _in_order(values, place, hinge, ("flask_radius", "flask_radius_mm"))
    _in_order(values, place, hinge, outer)


def _in_order(
    values: Values, place: Place, first: tuple[str, str], second: tuple[str, str], equal: bool = False
) -> None:
    low, high = values[first[1]], values[second[1]]
    if low is None or high is None:
        return
    if low.value < high.value or (equal and low.value == high.value):
        return
    got, limit = show(low.value, low.unit), show(high.value, high.unit)
    place.note("studio.not-below", first[0], got=got, other=second[0], limit=limit)


def _finish_scale(values: Values, place: Place) -> None:
    _in_order(values, place, ("division", "division_g"), ("capacity", "capacity_g"))
    if not place.says("error") and values["division_g"]:
        parts = {"division": values["division_g"]}
        values["error_g"] = reckon("g", "studio.half-division", lambda division: division / 2, parts)


def _check_powder(values: Values, place: Place) -> None:
    check_known(values, "mould", mould_ids(), place)
    _in_order(values, place, ("water_least", "water_low_ratio"), ("water", "water_ratio"), equal=True)
    _in_order(values, place, ("water", "water_ratio"), ("water_most", "water_high_ratio"), equal=True)
    if values["mould"] == "gypsum-bonded" and values["water_ratio"]:
        _look_at_water(values["water_ratio"], place)
    bought, opened = values["bought_on"], values["opened_on"]
    if bought and opened and opened < bought:
        place.note("studio.opened-before-bought", "opened", opened=opened, bought=bought)


def _look_at_water(water: Figure, place: Place) -> None:
    usual = rule("inv.wp.range")
    parts = water.value * 100
    if usual.low is not None and usual.high is not None and not usual.low - 1e-9 <= parts <= usual.high + 1e-9:
        low, high = f"{usual.low:.0f}", f"{usual.high:.0f}"
        place.note("studio.water-unusual", "water", Level.LOOK, got=f"{parts:.1f}", low=low, high=high)


def _finish_lot(values: Values, place: Place) -> None:
    if values["material"] == SCRAP:
        _check_scrap(values, place)
    elif check_known(values, "material", (SCRAP, *stock_metal_ids()), place):
        _from_tables(values, place)
    if values["solder"]:
        place.note("studio.lot-solder", "solder", Level.NOTE, lot=values["id"])


def _check_scrap(values: Values, place: Place) -> None:
    fineness = values["fineness_permille"]
    if not place.says("fineness"):
        place.note("studio.scrap-fineness", "fineness", lot=values["id"])
    elif fineness and values["certain"] is False and fineness.low == fineness.high:
        place.note("studio.scrap-range", "fineness", lot=values["id"])
    if not place.says("element"):
        place.note("studio.scrap-element", "element", lot=values["id"])


def _from_tables(values: Values, place: Place) -> None:
    metal = stock_metal(values["material"])
    if values["element"] and values["element"] != metal.element:
        place.note("studio.lot-element", "element", got=values["element"], material=metal.id)
    values["element"] = metal.element
    if not place.says("fineness"):
        origin = say("studio.metal-origin", material=metal.id)
        values["fineness_permille"] = from_interval(metal.fineness_permille, "permille", origin)


def _check_material(values: Values, place: Place) -> None:
    check_known(values, "programme", programme_ids(), place)
    rising = [one.temperature_C.value for one in values["steps"]]
    top = rising.index(max(rising)) if rising else 0
    if rising[: top + 1] != sorted(rising[: top + 1]):
        place.note("studio.steps-fall", "step", material=values["id"])
