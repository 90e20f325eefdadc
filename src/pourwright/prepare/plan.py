"""Puts the parts of the plan together, and nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.core.errors import DataError
from pourwright.core.figure import reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.work import Report, tell_nobody
from pourwright.matter.alloys import Alloy
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.pattern_materials import pattern_material
from pourwright.prepare.casting_temperature import Window
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.investment import plan_mix
from pourwright.prepare.mould.loads import BurnWish, CastingStop, KilnLoad, MouldLoad, PatternBurn, PowderSheet
from pourwright.prepare.mould.results import Burnout
from pourwright.prepare.mould.water_log import at_room
from pourwright.prepare.plan_after import plan_aftercare
from pourwright.prepare.plan_flasks import (
    Bench,
    FlaskDraft,
    draft_flasks,
    finish_flask,
    group_pieces,
    pour_temperature,
    use_of_stock,
)
from pourwright.prepare.plan_pieces import Measure, PiecesOfDay, plan_pieces
from pourwright.prepare.plan_pours import PourPlan, plan_pours
from pourwright.prepare.store.supplies import plan_supplies
from pourwright.prepare.throw.setup import compare_marks, say_over_time
from pourwright.prepare.timeline import build_timeline
from pourwright.shape.pattern.report import PatternReport
from pourwright.studio.day import Day, PieceOrder
from pourwright.studio.profile import Kiln, Powder, Studio

_LEAST_PEOPLE = 2
# A material of the studio without a programme of its own is burned out like its family's usual one.
_USUAL = {
    "wax": "casting-wax",
    "resin": "castable-resin",
    "wax-resin": "wax-like-resin",
    "thermoplastic": "pla",
    "organic": "organic",
}


@dataclass(frozen=True)
class PlanOutcome:
    """The plan, or None when something stops it before it is whole; and all findings, each once."""

    plan: DayPlan | None
    findings: tuple[Finding, ...]


def plan_day(
    studio: Studio,
    day: Day,
    measure: Measure,
    report: Report = tell_nobody,
    windows: Mapping[str, Window] | None = None,
) -> PlanOutcome:
    """Plan a whole day.

    Parameters
    ----------
    studio : Studio
        The profile.
    day : Day
        The day.
    measure : callable
        Returns the report of an order's pattern file, or None if it has none.
    report : callable
        Is told the share done and what is being done.
    windows : mapping of str to Window, optional
        Flask temperatures that go before the tables of practice, by piece.

    Returns
    -------
    PlanOutcome
        Never raises for what a user can mend.
    """
    try:
        alloy = find_alloy(day.alloy)
    except DataError as unknown:
        return PlanOutcome(None, (Finding("prepare.alloy-unknown", Level.STOP, "day.toml", {"reason": str(unknown)}),))
    pieces = plan_pieces(studio, day, alloy, _telling(measure, len(day.pieces), report))
    pieces = replace(pieces, windows={**pieces.windows, **(windows or {})})
    early = (*_people(studio, day), *pieces.findings)
    if not pieces.to_place:
        return PlanOutcome(None, _once(early or (Finding("prepare.no-pieces", Level.STOP, "day.toml"),)))
    report(0.85, say("prepare.doing-flasks"))
    bench = _bench(studio, day, alloy)
    flasking = group_pieces(studio, pieces, bench)
    if not flasking.groups:
        return PlanOutcome(None, _once((*early, *flasking.findings)))
    pours, pour_findings = plan_pours(studio, day, flasking.groups, pieces.windows)
    findings = (*early, *flasking.findings, *pour_findings)
    if pours is None:
        return PlanOutcome(None, _once(findings))
    by_id = {one.id: one for one in pieces.planned}
    drafts, lot_findings = draft_flasks(studio, day, bench, pours, by_id)
    return _whole(studio, day, bench, pieces, pours, drafts, (*findings, *lot_findings))


def _whole(
    studio: Studio,
    day: Day,
    bench: Bench,
    pieces: PiecesOfDay,
    pours: PourPlan,
    drafts: Sequence[FlaskDraft],
    findings: tuple[Finding, ...],
) -> PlanOutcome:
    by_id = {one.id: one for one in pieces.planned}
    powder, warm = at_room(_powder(studio, day), day.room_C)
    mix = plan_mix([_mould_load(one) for one in drafts], powder, studio.habits, studio.units)
    burnout = _burnout(studio, day, drafts, by_id, _stops(pours, drafts))
    mixes = {one.flask: one for one in mix.flasks}
    finished = [finish_flask(studio, day, bench, one, mixes[one.load], _stones(one, by_id)) for one in drafts]
    flasks = tuple(one for one in finished if one is not None)
    late = (*(one for draft in drafts for one in draft.findings), *(one for flask in flasks for one in flask.findings))
    marks = _arm_through_the_day(flasks, bench)
    kiln_on = {"burnout_min": burnout.total_min, "pours_min": pours.pouring.total_min}
    kiln_on_min = reckon("min", "prepare.how-kiln-on", lambda burnout_min, pours_min: burnout_min + pours_min, kiln_on)
    supplies = plan_supplies(studio, day.date, len(flasks), _kiln(studio, day), kiln_on_min, bench.crucible, powder)
    everything = _once((*findings, *warm, *mix.findings, *burnout.findings, *late, *marks, *supplies.findings))
    plan = DayPlan(
        studio=studio,
        day=day,
        pieces=pieces.planned,
        flasks=flasks,
        mix=mix,
        burnout=burnout,
        stock=use_of_stock(studio, drafts),
        timeline=build_timeline(mix, burnout, flasks, studio.habits, studio.units, day.people) if burnout.steps else (),
        findings=everything,
        supplies=supplies,
        aftercare=plan_aftercare(studio, day, bench.alloy, pieces.planned, flasks),
        pouring=pours.pouring,
    )
    return PlanOutcome(plan, everything)


def _arm_through_the_day(flasks: Sequence[PlannedFlask], bench: Bench) -> tuple[Finding, ...]:
    """Say how the mark moves from flask to flask, and once when the metal runs and when the arm is fast."""
    courses = [one.throw.course for one in flasks if one.throw.course is not None]
    speed_rpm = courses[0].speed_rpm if courses else None
    marks = [(one.id, one.throw.balance.mark_mm) for one in flasks]
    moves = compare_marks(marks, weight_kg=bench.machine.weight_kg, speed_rpm=speed_rpm)
    return (*moves, *say_over_time(bench.machine, courses))


def _telling(measure: Measure, count: int, report: Report) -> Measure:
    done = 0

    def told(order: PieceOrder) -> PatternReport | None:
        nonlocal done
        report(0.8 * done / max(1, count), say("prepare.doing-pattern", piece=order.id, title=order.title))
        done += 1
        return measure(order)

    return told


def _bench(studio: Studio, day: Day, alloy: Alloy) -> Bench:
    return Bench(
        machine=next(one for one in studio.machines if one.id == day.machine),
        crucible=next(one for one in studio.crucibles if one.id == day.crucible),
        scale=next(one for one in studio.scales if one.id == day.scale),
        alloy=alloy,
        pour_C=pour_temperature(alloy, studio.habits.pour_temperature_C),
    )


def _powder(studio: Studio, day: Day) -> Powder:
    return next(one for one in studio.powders if one.id == day.powder)


def _kiln(studio: Studio, day: Day) -> Kiln:
    return next(one for one in studio.kilns if one.id == day.kiln)


def _people(studio: Studio, day: Day) -> tuple[Finding, ...]:
    if len(day.people) >= _LEAST_PEOPLE or studio.habits.alone_allowed_by:
        return ()
    return (Finding("prepare.alone", Level.STOP, "day.toml", {"count": len(day.people)}, ("none",)),)


def _stops(pours: PourPlan, drafts: Sequence[FlaskDraft]) -> tuple[CastingStop, ...]:
    """Return the set-points of the day with the ids of the loads in place of the steel flasks."""
    load_of = {one.flask.id: one.load for one in drafts}
    return tuple(replace(one, flasks=tuple(load_of[flask] for flask in one.flasks)) for one in pours.stops)


def _mould_load(draft: FlaskDraft) -> MouldLoad:
    displaced = reckon(
        "cm3",
        "prepare.how-displaced",
        lambda cavity_cm3, funnel_cm3: cavity_cm3 + funnel_cm3,
        {"cavity_cm3": draft.need.cavity_cm3, "funnel_cm3": draft.base.funnel_cm3},
    )
    flask = draft.flask
    return MouldLoad(draft.load, flask.diameter_mm, flask.height_mm, displaced, flask.steel_g)


def _burnout(
    studio: Studio,
    day: Day,
    drafts: Sequence[FlaskDraft],
    pieces: Mapping[str, PlannedPiece],
    stops: tuple[CastingStop, ...],
) -> Burnout:
    kiln = _kiln(studio, day)
    loads = [_kiln_load(studio, day, one, pieces) for one in drafts]
    habits, powder = studio.habits, _powder(studio, day)
    wish = BurnWish(
        stops[0].temperature_C,
        habits.soak_at_casting_min,
        invested_at=day.invested_at,
        stops=stops,
        dewax=habits.dewax,
        dewax_min=habits.dewax_min,
    )
    sheet = PowderSheet(powder.bench_set_min, powder.top_limit_C, powder.rapid_allowed)
    return plan_burnout(kiln, loads, day.first_pour, studio.zone, wish, powder.mould, studio.units, sheet)


def _kiln_load(studio: Studio, day: Day, draft: FlaskDraft, pieces: Mapping[str, PlannedPiece]) -> KilnLoad:
    orders = [day.pieces[pieces[one].order] for one in draft.group.pieces]
    names = {name: None for order in orders for name in _material_names(order)}
    patterns = tuple(_pattern_burn(studio, name) for name in names)
    return KilnLoad(draft.load, draft.flask.diameter_mm, patterns, _stones(draft, pieces))


def _material_names(order: PieceOrder) -> tuple[str, ...]:
    return tuple(one.material for one in order.parts) or (order.material,)


def _pattern_burn(studio: Studio, name: str) -> PatternBurn:
    own = next((one for one in studio.materials if one.id == name), None)
    if own and (own.programme or own.steps):
        return PatternBurn(own.id, own.family, own.programme, own.steps, own.steps_diameter_mm, own.ash)
    table = pattern_material(_USUAL[own.family] if own else name)
    return PatternBurn(name, table.family, table.programme, ash=own.ash if own else False)


def _stones(draft: FlaskDraft, pieces: Mapping[str, PlannedPiece]) -> bool:
    return any(pieces[one].stones for one in draft.group.pieces)


def _once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return the findings without repeats, in their order."""
    seen: dict[str, Finding] = {}
    for one in findings:
        seen.setdefault(repr((one.code, one.level, one.where, dict(one.params))), one)
    return tuple(seen.values())
