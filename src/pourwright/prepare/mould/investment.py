"""Powder and water for each flask and each bowl, the stock that is left, and what the burned-out flask weighs."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pourwright.core.figure import Figure, from_interval, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show, show_in
from pourwright.matter.moulds import Mould, mould
from pourwright.matter.practice import rule
from pourwright.physics.spin.balance import dry_flask_kg
from pourwright.prepare.mould.loads import MouldLoad
from pourwright.prepare.mould.mix_clock import (
    bowl_clock,
    bowl_ends,
    finish_limit,
    most_flasks_in_bowl,
    split_into_bowls,
)
from pourwright.prepare.mould.results import Batch, FlaskMix, Mix
from pourwright.prepare.rule_figures import rule_figure, total_of
from pourwright.studio.profile import Habits, Powder, PrintUnits

_PERCENT_ratio = 0.01
# Decimals such as 0.38 and 38 times 0.01 differ in their last binary digit.
_ROUNDING = 1e-9


def plan_mix(loads: Sequence[MouldLoad], powder: Powder, habits: Habits, units: PrintUnits | None = None) -> Mix:
    """Plan all investment work of the day.

    Parameters
    ----------
    loads : sequence of MouldLoad
        The flasks, in the order of filling.
    powder : Powder
        The studio's powder, with its water ratio, working time and stock.
    habits : Habits
        Times of the mixing and the share that is spilled.
    units : PrintUnits, optional
        Units for the sentences.

    Returns
    -------
    Mix
        Amounts for each flask without spill, for each bowl with it, and findings.

    Raises
    ------
    DataError
        The powder's mould material is not in the tables.
    """
    units = units or PrintUnits()
    material = mould(powder.mould)
    flasks = tuple(_flask_mix(load, powder, material) for load in loads)
    batches = _batches({one.flask: one for one in flasks}, powder, habits)
    left = _powder_left(powder, batches)
    findings = (
        *_room(flasks),
        *_ratio(powder),
        *_clock(batches),
        *_stock(powder, left, units),
    )
    return Mix(flasks, batches, left, findings)


def _flask_mix(load: MouldLoad, powder: Powder, material: Mould) -> FlaskMix:
    fill = fill_volume(load)
    mass = powder_mass(fill, powder, material)
    return FlaskMix(load.flask, fill, mass, _water(mass, powder.water_ratio), dry_mass(load.steel_g, mass, material))


def fill_volume(load: MouldLoad) -> Figure:
    """Return the volume that investment fills: the inside of the flask less all that stands in it, in cm3."""
    return reckon(
        "cm3",
        "prepare.how-fill",
        lambda diameter_mm, height_mm, displaced_cm3: math.pi / 4 * diameter_mm**2 * height_mm / 1000 - displaced_cm3,
        {"diameter_mm": load.diameter_mm, "height_mm": load.height_mm, "displaced_cm3": load.displaced_cm3},
    )


def powder_mass(fill_cm3: Figure, powder: Powder, material: Mould) -> Figure:
    """Return the powder for a volume of slurry, in g.

    Parameters
    ----------
    fill_cm3 : Figure
        Volume of slurry [cm**3].
    powder : Powder
        Water ratio, and the slurry's density where the studio measured it.
    material : Mould
        Gives the density of the grain where it did not.
    """
    if powder.slurry_g_cm3 is not None:
        return reckon(
            "g",
            "prepare.how-powder-slurry",
            lambda fill_cm3, slurry_g_cm3, water_ratio: fill_cm3 * slurry_g_cm3 / (1 + water_ratio),
            {"fill_cm3": fill_cm3, "slurry_g_cm3": powder.slurry_g_cm3, "water_ratio": powder.water_ratio},
        )
    grain = from_interval(
        material.powder_grain_kg_m3.scaled(1e-3, "g_cm3"), "g_cm3", f"moulds.toml {material.id} powder_grain_kg_m3"
    )
    return reckon(
        "g",
        "prepare.how-powder-grain",
        lambda fill_cm3, grain_g_cm3, water_ratio: fill_cm3 / (1 / grain_g_cm3 + water_ratio),
        {"fill_cm3": fill_cm3, "grain_g_cm3": grain, "water_ratio": powder.water_ratio},
        rule("inv.powder.mass").sources,
    )


def dry_mass(steel_g: Figure, powder_g: Figure, material: Mould) -> Figure:
    """Return the mass of the burned-out flask: steel and powder less the powder's own bound water, in kg."""
    hemihydrate = from_interval(material.hemihydrate_frac, "frac", f"moulds.toml {material.id} hemihydrate_frac")
    return reckon(
        "kg",
        "prepare.how-dry",
        lambda steel_g, powder_g, hemihydrate_frac: dry_flask_kg(steel_g / 1000, powder_g / 1000, hemihydrate_frac),
        {"steel_g": steel_g, "powder_g": powder_g, "hemihydrate_frac": hemihydrate},
    )


def _water(powder_g: Figure, water_ratio: Figure) -> Figure:
    return reckon(
        "g",
        "prepare.how-water",
        lambda powder_g, water_ratio: powder_g * water_ratio,
        {"powder_g": powder_g, "water_ratio": water_ratio},
    )


def _batches(flasks: Mapping[str, FlaskMix], powder: Powder, habits: Habits) -> tuple[Batch, ...]:
    limit = finish_limit(powder.working_min)
    most = most_flasks_in_bowl(len(flasks), habits, limit.value)
    return tuple(
        _batch([flasks[one] for one in bowl], powder, habits, limit) for bowl in split_into_bowls(list(flasks), most)
    )


def _batch(flasks: Sequence[FlaskMix], powder: Powder, habits: Habits, limit: Figure) -> Batch:
    names = tuple(one.flask for one in flasks)
    bare = total_of("g", "prepare.how-bowl-powder", {one.flask: one.powder_g for one in flasks})
    mass = reckon(
        "g",
        "prepare.how-spill",
        lambda flasks_g, spill_frac: flasks_g * (1 + spill_frac),
        {"flasks_g": bare, "spill_frac": habits.spill_frac},
    )
    return Batch(
        names,
        mass,
        _water(mass, powder.water_ratio),
        bowl_clock(names, habits),
        bowl_ends(len(names), habits),
        limit,
    )


def _powder_left(powder: Powder, batches: Sequence[Batch]) -> Figure:
    parts = {f"bowl {number}": one.powder_g for number, one in enumerate(batches, 1)}
    used = total_of("g", "prepare.how-powder-used", parts)
    return reckon(
        "g",
        "prepare.how-powder-left",
        lambda stock_g, used_g: stock_g - used_g,
        {"stock_g": powder.stock_g, "used_g": used},
    )


def _room(flasks: Sequence[FlaskMix]) -> list[Finding]:
    return [
        Finding(
            "prepare.mould-no-room",
            Level.STOP,
            one.flask,
            {"flask": one.flask, "over": show(-one.fill_cm3.value, "cm3", 1)},
        )
        for one in flasks
        if one.fill_cm3.value <= 0
    ]


def _ratio(powder: Powder) -> list[Finding]:
    """Hold the water ratio against the powder's data sheet and, where that allows it, against usual practice."""
    ratio = powder.water_ratio.value
    low, high = powder.water_low_ratio.value, powder.water_high_ratio.value
    if not low - _ROUNDING <= ratio <= high + _ROUNDING:
        return [_ratio_finding("prepare.water-outside-powder", Level.LOOK, powder, (low, high))]
    if powder.mould != "gypsum-bonded":
        return []
    usual = tuple(rule_figure("inv.wp.range", end, "ratio", _PERCENT_ratio).value for end in ("low", "high"))
    if usual[0] - _ROUNDING <= ratio <= usual[1] + _ROUNDING:
        return []
    return [_ratio_finding("prepare.water-unusual", Level.NOTE, powder, usual, rule("inv.wp.range").sources)]


def _ratio_finding(
    code: str, level: Level, powder: Powder, band: Sequence[float], sources: tuple[str, ...] = ()
) -> Finding:
    shown = {"ratio": powder.water_ratio.value, "low": band[0], "high": band[1]}
    params = {name: show(100 * number, "count", 1) for name, number in shown.items()} | {"powder": powder.id}
    return Finding(code, level, powder.id, params, sources)


def _clock(batches: Sequence[Batch]) -> list[Finding]:
    found = []
    for number, one in enumerate(batches, 1):
        late = one.ends_min.value - one.limit_min.value
        spare = one.limit_min.low - one.ends_min.value
        if late > _ROUNDING:
            found.append(_clock_finding("prepare.mix-too-slow", Level.STOP, number, one, late))
        elif spare > _ROUNDING:
            found.append(_clock_finding("prepare.mix-early", Level.NOTE, number, one, spare))
    return found


def _clock_finding(code: str, level: Level, number: int, batch: Batch, gap_min: float) -> Finding:
    params = {
        "bowl": str(number),
        "flasks": ", ".join(batch.flasks),
        "ends": clock_text(batch.ends_min.value),
        "earliest": clock_text(batch.limit_min.low),
        "limit": clock_text(batch.limit_min.value),
        "gap": clock_text(gap_min),
    }
    return Finding(code, level, ", ".join(batch.flasks), params, rule("inv.finish").sources)


def clock_text(minutes_min: float) -> str:
    """Return minutes [minute] as a kitchen timer shows them, ``8:30``."""
    seconds = round(60 * minutes_min)
    return f"{seconds // 60}:{seconds % 60:02d}"


def _stock(powder: Powder, left: Figure, units: PrintUnits) -> list[Finding]:
    if left.low >= 0:
        return []
    short = left.value < 0
    lacking = -left.value if short else -left.low
    params = {
        "powder": powder.id,
        "stock": show_in(powder.stock_g.value, "g", units.mass),
        "lacking": show_in(lacking, "g", units.mass),
    }
    if short:
        return [Finding("prepare.powder-short", Level.STOP, powder.id, params)]
    return [Finding("prepare.powder-tight", Level.LOOK, powder.id, params)]
