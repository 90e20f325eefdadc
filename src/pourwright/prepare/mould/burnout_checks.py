"""What must be said of a planned burnout: too hot, too fast, too wet, too short, too long."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show, show_in
from pourwright.matter.practice import rule
from pourwright.matter.safety import prompt
from pourwright.prepare.mould.bench_set import bench_set_needed
from pourwright.prepare.mould.loads import NO_SHEET, BurnWish, KilnLoad, PowderSheet
from pourwright.prepare.mould.programmes import Demand
from pourwright.prepare.mould.results import Burnout
from pourwright.prepare.mould.wall_clock import hours_text, minutes_between_min, on_the_wall
from pourwright.prepare.rule_figures import rule_figure
from pourwright.studio.profile import Kiln, PrintUnits

_GYPSUM = "gypsum-bonded"
_RATE_UNITS = {"C": "C_h", "F": "F_h"}


@dataclass(frozen=True)
class BurnCase:
    """What was asked, beside the plan that came of it."""

    kiln: Kiln
    loads: tuple[KilnLoad, ...]
    demands: tuple[Demand, ...]
    wish: BurnWish
    mould: str
    zone: str
    units: PrintUnits
    sheet: PowderSheet = NO_SHEET

    def shown(self, temperature_C: float) -> str:
        """Return a temperature [degC] in the studio's unit."""
        return show_in(temperature_C, "C", self.units.temperature)

    def shown_rate(self, rate_C_h: float) -> str:
        """Return a heating rate [delta_degC/hour] in the studio's unit."""
        return show_in(rate_C_h, "C_h", _RATE_UNITS[self.units.temperature])

    def clock(self, moment: datetime) -> str:
        """Return a moment by the studio's wall clock, with its date."""
        return f"{on_the_wall(moment, self.zone):%Y-%m-%d %H:%M}"


def check_burnout(case: BurnCase, plan: Burnout) -> list[Finding]:
    """Return all findings about a burnout; those about its curve only where there is one."""
    found = [*_room_in_kiln(case), *_ramp(case)]
    if not plan.steps:
        return found
    return [
        *found,
        *_ceiling(case, plan),
        *_sheet_limit(case, plan),
        *_dewaxing(case, plan),
        *_stones(case, plan),
        *_top_for_wax(case, plan),
        *_top_of_sheet(case),
        *_casting(case),
        *_soak(case, plan),
        *_bench_set(case, plan),
        *_hours(case, plan),
    ]


def _room_in_kiln(case: BurnCase) -> list[Finding]:
    if len(case.loads) <= case.kiln.flasks_count:
        return []
    params = {"kiln": case.kiln.id, "count": str(len(case.loads)), "room": str(case.kiln.flasks_count)}
    return [Finding("prepare.kiln-full", Level.STOP, case.kiln.id, params)]


def _ramp(case: BurnCase) -> list[Finding]:
    asked = case.wish.ramp_C_h
    if asked is None:
        return []
    found = []
    limit = rule_figure("burn.ramp", "high", "C_h")
    shown = {"asked": case.shown_rate(asked.value), "kiln": case.kiln.id}
    if asked.value > case.kiln.ramp_limit_C_h.value:
        shown_kiln = case.shown_rate(case.kiln.ramp_limit_C_h.value)
        found.append(Finding("prepare.ramp-beyond-kiln", Level.LOOK, case.kiln.id, {**shown, "can": shown_kiln}))
    if min(asked.value, case.kiln.ramp_limit_C_h.value) > limit.value:
        params = {**shown, "limit": case.shown_rate(limit.value)}
        found.append(Finding("prepare.ramp-fast", Level.LOOK, case.kiln.id, params, limit.sources))
    return found


def _ceiling(case: BurnCase, plan: Burnout) -> list[Finding]:
    """Hold the hottest the kiln may truly get against the two ceilings of gypsum-bonded moulds."""
    if case.mould != _GYPSUM:
        return []
    hard = rule_figure("burn.hardmax", "value", "C")
    usual = rule_figure("burn.max", "high", "C")
    for code, level, limit in (
        ("prepare.top-too-hot", Level.STOP, hard),
        ("prepare.top-warm", Level.LOOK, usual),
    ):
        if plan.top_true_C.high > limit.value:
            return [Finding(code, level, case.kiln.id, _heat_params(case, plan, limit.value), limit.sources)]
    return []


def _sheet_limit(case: BurnCase, plan: Burnout) -> list[Finding]:
    """Hold the hottest the kiln may truly get against the powder's own data sheet."""
    limit = case.sheet.top_limit_C
    if limit is None or plan.top_true_C.high <= limit.value:
        return []
    level = Level.STOP if plan.top_true_C.value > limit.value else Level.LOOK
    return [Finding("prepare.top-over-sheet", level, case.kiln.id, _heat_params(case, plan, limit.value))]


def _dewaxing(case: BurnCase, plan: Burnout) -> list[Finding]:
    if plan.dewax is None:
        return []
    longest, carry = rule_figure("burn.steam.max", "high", "min", 60.0), rule("burn.transfer")
    flasks = ", ".join(plan.dewax.flasks)
    params = {
        "flasks": flasks,
        "start": case.clock(plan.dewax.start),
        "end": case.clock(plan.dewax.end),
        "into": case.clock(plan.dewax.into_kiln_by),
        "longest": show(longest.value, "min"),
    }
    found = [Finding("prepare.dewax-then-kiln", Level.NOTE, case.kiln.id, params, carry.sources)]
    if plan.dewax.kind == "steam" and case.wish.dewax_min and case.wish.dewax_min.value > longest.value:
        params = {**params, "asked": show(case.wish.dewax_min.value, "min")}
        found.append(Finding("prepare.steam-long", Level.LOOK, flasks, params, longest.sources))
    return found


def _heat_params(case: BurnCase, plan: Burnout, limit_C: float) -> dict[str, str]:
    return {
        "kiln": case.kiln.id,
        "top": case.shown(plan.top_true_C.value),
        "high": case.shown(plan.top_true_C.high),
        "limit": case.shown(limit_C),
        "set": case.shown(limit_C - case.kiln.offset_C.high),
    }


def _stones(case: BurnCase, plan: Burnout) -> list[Finding]:
    with_stones = [one.flask for one in case.loads if one.stones]
    if not with_stones:
        return []
    limit = rule_figure("burn.stoneplace", "value", "C")
    unsure_C = case.kiln.offset_C.high - case.kiln.offset_C.value
    if max(plan.top_true_C.high, case.wish.casting_C.value + unsure_C) <= limit.value:
        return []
    flasks = ", ".join(with_stones)
    params = {
        **_heat_params(case, plan, limit.value),
        "flasks": flasks,
        "casting": case.shown(case.wish.casting_C.value),
    }
    return [Finding("prepare.stones-too-hot", Level.STOP, flasks, params, limit.sources)]


def _top_for_wax(case: BurnCase, plan: Burnout) -> list[Finding]:
    least = rule_figure("burn.min.top", "value", "C")
    low = [one.flask for one in case.demands if one.family == "wax" and one.ceiling_C is None]
    if not low or plan.top_true_C.value >= least.value:
        return []
    params = {"flasks": ", ".join(dict.fromkeys(low)), "least": case.shown(least.value)}
    params["top"] = case.shown(plan.top_true_C.value)
    return [Finding("prepare.top-low-for-wax", Level.LOOK, case.kiln.id, params, least.sources)]


def _top_of_sheet(case: BurnCase) -> list[Finding]:
    """Point out a data sheet that ends too cool to burn anything clean: most likely its last step is missing."""
    least = rule_figure("burn.min.top", "value", "C")
    low = {
        one.pattern: one.top_C for one in case.demands if one.own and one.family != "wax" and one.top_C < least.value
    }
    if not low:
        return []
    params = {
        "patterns": ", ".join(low),
        "least": case.shown(least.value),
        "top": case.shown(min(low.values())),
    }
    return [Finding("prepare.top-low-on-sheet", Level.LOOK, case.kiln.id, params, least.sources)]


def _casting(case: BurnCase) -> list[Finding]:
    """Warn when the kiln falls through the cristobalite inversion before the pour."""
    inversion = rule_figure("burn.cristobalite", "high", "C")
    coolest_C = min((one.temperature_C.value for one in case.wish.stops), default=case.wish.casting_C.value)
    if coolest_C > inversion.value:
        return []
    params = {"casting": case.shown(coolest_C), "limit": case.shown(inversion.value)}
    return [Finding("prepare.casting-too-cool", Level.LOOK, case.kiln.id, params, rule("burn.no.cooldown").sources)]


def _soak(case: BurnCase, plan: Burnout) -> list[Finding]:
    """Hold the soak before each set-point's first pour against the slowest core; name the one that lacks most."""
    soaked = [(one.soak_min, hold.lags) for one, hold in zip(case.wish.stops, plan.casting, strict=True)]
    soaked = soaked or [(case.wish.soak_min, plan.lags)]
    waits = [(one, soak.value) for soak, lags in soaked for one in lags]
    slowest, soak_min = max(waits, key=lambda pair: pair[0].lag_min.value - pair[1])
    lacking_min = slowest.lag_min.value - soak_min
    if lacking_min <= 0:
        return []
    params = {
        "flask": slowest.flask,
        "lag": show(slowest.lag_min.value, "min"),
        "low": show(slowest.lag_min.low, "min"),
        "high": show(slowest.lag_min.high, "min"),
        "soak": show(soak_min, "min"),
        "lacking": show(lacking_min, "min"),
    }
    return [Finding("prepare.soak-short", Level.LOOK, slowest.flask, params, rule("burn.equalise").sources)]


def _bench_set(case: BurnCase, plan: Burnout) -> list[Finding]:
    """Refuse to light the kiln before the flasks have set; ask to keep them damp where they wait long."""
    invested = case.wish.invested_at
    if invested is None:
        return []
    needed = bench_set_needed(case.loads, signed=case.wish.small_flasks_signed, sheet_min=case.sheet.bench_set_min)
    set_min = minutes_between_min(invested, min(plan.light_at, plan.dewax.start) if plan.dewax else plan.light_at)
    params = {
        "kiln": case.kiln.id,
        "invested": case.clock(invested),
        "light": case.clock(plan.light_at),
        "by": case.clock(plan.invest_by),
        "set": hours_text(max(0.0, set_min)),
        "needed": hours_text(needed.value),
    }
    if set_min < needed.value:
        return [Finding("prepare.bench-set-short", Level.STOP, case.kiln.id, params, needed.sources)]
    if set_min > rule_figure("inv.bench.min", "high", "min", 60.0).value:
        return [Finding("prepare.keep-damp", Level.NOTE, case.kiln.id, params, rule("inv.keep.damp").sources)]
    return []


def _hours(case: BurnCase, plan: Burnout) -> list[Finding]:
    found = []
    params = {
        "kiln": case.kiln.id,
        "total": hours_text(plan.total_min.value),
        "longest": hours_text(60 * case.wish.longest_h),
        "light": case.clock(plan.light_at),
        "pour": case.clock(plan.first_pour),
    }
    if plan.total_min.value > 60 * case.wish.longest_h:
        found.append(Finding("prepare.programme-long", Level.LOOK, case.kiln.id, params))
    if plan.light_at.date() != plan.first_pour.date():
        sources = prompt("kiln.unattended").sources
        found.append(Finding("prepare.kiln-overnight", Level.LOOK, case.kiln.id, params, sources))
    if case.kiln.controller == "dial":
        turns = ", ".join(f"{one.start:%H:%M}" for one in plan.steps)
        found.append(Finding("prepare.kiln-dial", Level.LOOK, case.kiln.id, {**params, "turns": turns}))
    return found
