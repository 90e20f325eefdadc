"""Gas, flux, crucible, powder and energy of a day, held against what is there."""

from __future__ import annotations

from datetime import date, timedelta

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.prepare.store.checks import equipment_due
from pourwright.prepare.store.results import Supplies, SupplyUse
from pourwright.studio.profile import Consumable, Crucible, Cylinder, Kiln, Powder, Studio


def plan_supplies(
    studio: Studio, on: date, melts_count: int, kiln: Kiln, burnout_min: Figure, crucible: Crucible, powder: Powder
) -> Supplies:
    """Return what the day uses up besides metal, and which equipment checks are due.

    Parameters
    ----------
    studio : Studio
        Cylinders, consumables and checks.
    on : date
        The day.
    melts_count : int
        How many flasks are poured.
    kiln, crucible, powder : Kiln, Crucible, Powder
        Those of the day.
    burnout_min : Figure
        Length of the whole burnout [minute].
    """
    used: list[Cylinder | Consumable] = [*studio.cylinders, *studio.consumables]
    uses = tuple(_use(one, melts_count) for one in used)
    checks, overdue = equipment_due(studio.checks, on, studio.habits.overdue_stops)
    findings = (*_short(uses), *_shut(crucible), *_worn(crucible, melts_count), *powder_age(powder, on), *overdue)
    return Supplies(uses, energy_kWh(kiln, burnout_min), checks, findings)


def _use(one: Cylinder | Consumable, melts_count: int) -> SupplyUse:
    have, title = (_gas(one), one.gas) if isinstance(one, Cylinder) else (one.stock_g, one.title)
    melts = given(float(melts_count), "count", "plan", how="prepare.how-melts")
    take = reckon(
        "g",
        "prepare.how-supply-taken",
        lambda per_melt_g, melts_count: per_melt_g * melts_count,
        {"per_melt_g": one.per_melt_g, "melts_count": melts},
    )
    parts = {"have_g": have, "take_g": take}
    left = reckon("g", "prepare.how-supply-left", lambda have_g, take_g: have_g - take_g, parts)
    return SupplyUse(one.id, title, have, take, left)


def _gas(one: Cylinder) -> Figure:
    parts = {"gross_g": one.gross_g, "tare_g": one.tare_g}
    return reckon("g", "prepare.how-gas", lambda gross_g, tare_g: gross_g - tare_g, parts)


def _short(uses: tuple[SupplyUse, ...]) -> list[Finding]:
    found = []
    for one in uses:
        if one.left_g.low >= 0:
            continue
        params = {"what": one.title, "id": one.id, "have": show(one.have_g.value, "g", 0)}
        params["take"] = show(one.take_g.value, "g", 0)
        level = Level.STOP if one.left_g.value < 0 else Level.LOOK
        found.append(Finding("prepare.supply-short", level, one.id, params))
    return found


def _shut(crucible: Crucible) -> list[Finding]:
    """Stop where the crucible was put aside after an odd melt: what is in its glaze goes into the next charge."""
    if not crucible.shut:
        return []
    return [
        Finding("prepare.crucible-shut", Level.STOP, crucible.id, {"crucible": crucible.id, "reason": crucible.shut})
    ]


def _worn(crucible: Crucible, melts_count: int) -> list[Finding]:
    most, after = crucible.melts_most_count, crucible.melts_count + melts_count
    if most is None or after <= most:
        return []
    params = {"crucible": crucible.id, "melts": crucible.melts_count, "today": melts_count, "most": most}
    return [Finding("prepare.crucible-worn", Level.LOOK, crucible.id, params)]


def powder_age(powder: Powder, on: date) -> list[Finding]:
    """Return what is to be said of a powder's age on a day: past its time, or nobody dated it."""
    since = powder.opened_on or powder.bought_on
    sources = rule("inv.storage").sources
    if since is None:
        return [Finding("prepare.powder-undated", Level.NOTE, powder.id, {"powder": powder.id}, sources)]
    if powder.keeps_h is None or on - since <= timedelta(hours=powder.keeps_h.value):
        return []
    params = {
        "powder": powder.id,
        "since": since,
        "days": (on - since).days,
        "keeps": f"{powder.keeps_h.value / 24:.0f}",
    }
    return [Finding("prepare.powder-old", Level.LOOK, powder.id, params, sources)]


def energy_kWh(kiln: Kiln, burnout_min: Figure) -> Figure | None:
    """Return the energy of a burnout [kWh], or None where the studio gives no power or no duty of its kiln.

    Parameters
    ----------
    kiln : Kiln
        Power of its elements and the share of the time that they are on.
    burnout_min : Figure
        Length of the burnout [minute].
    """
    if kiln.power_kW is None or kiln.duty_frac is None:
        return None
    return reckon(
        "kWh",
        "prepare.how-energy",
        lambda power_kW, duty_frac, burnout_min: power_kW * duty_frac * burnout_min / 60,
        {"power_kW": kiln.power_kW, "duty_frac": kiln.duty_frac, "burnout_min": burnout_min},
    )
