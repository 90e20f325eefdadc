"""First pages: the day at a glance, by the clock, and what the plan warns of."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import alloy
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, TimelineEntry
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import cautions, short_name
from pourwright.sheet.lots import division_of
from pourwright.sheet.quench import quench

# Nobody turns the fan off for less.
_NOT_WORTH_A_STOP = timedelta(minutes=15)
_ROLES = {
    "teacher": "sheet.role.teacher",
    "pourer": "sheet.role.pourer",
    "caller": "sheet.role.caller",
    "helper": "sheet.role.helper",
}
# The timeline's sentences in a word or two; one that is not here is printed whole.
_EXTRACTION = {
    "prepare.timeline-mix": "sheet.extraction.mix",
    "prepare.timeline-light": "sheet.extraction.light",
    "prepare.timeline-top": "sheet.extraction.top",
    "prepare.timeline-melt": "sheet.extraction.melt",
    "prepare.timeline-pour": "sheet.extraction.pour",
    "prepare.timeline-quench": "sheet.extraction.quench",
    "prepare.timeline-steam": "sheet.extraction.steam",
    "prepare.timeline-oven": "sheet.extraction.oven",
    "prepare.timeline-ash": "sheet.extraction.ash",
}


def cover(plan: DayPlan) -> dict[str, object]:
    """Return the page that lets a stand-in run the day: times, people, flasks, hazards."""
    zone, day = plan.studio.zone, plan.day.date
    return {
        "date": paper.long_date(day),
        "studio": paper.user_text(plan.studio.name),
        "first_pour": paper.clock(plan.burnout.first_pour, zone),
        "light": paper.clock_with_day(plan.burnout.light_at, zone, day),
        "invest_by": paper.clock_with_day(plan.burnout.invest_by, zone, day),
        "alloy": alloy(plan.day.alloy).title,
        "people": people(plan),
        "flasks": [flask_row(plan, one) for one in plan.flasks],
        "extraction": extraction_windows(plan),
        "hazards": cautions("people.alone", "spin.guard", "steam.dry", "sil.resp"),
        "put_out": put_out(plan),
        "done": done_line(plan),
        "stops": stop_line(plan.findings),
        "unlike": unlike_line(plan),
    }


def people(plan: DayPlan) -> list[dict[str, str]]:
    """Return each role with who has it; an empty name is printed as a line to write on."""
    named = {role: [one.name for one in plan.day.people if one.role == role] for role in _ROLES}
    wanted = {"pourer", "caller"} | {one.role for one in plan.timeline}
    others = [one for one in plan.day.people if one.role not in _ROLES]
    rows = [
        {"role": role_name(role), "names": paper.user_text(", ".join(names))}
        for role, names in named.items()
        if names or role in wanted
    ]
    return rows + [{"role": role_name(one.role), "names": paper.user_text(one.name)} for one in others]


def role_name(role: str) -> str:
    """Return a role in the reader's language, or as the day file wrote it."""
    return say(_ROLES[role]) if role in _ROLES else paper.user_text(role)


def flask_row(plan: DayPlan, one: PlannedFlask) -> dict[str, object]:
    """Return a flask's line of the day's table."""
    units = plan.studio.units
    uncalibrated = [] if one.throw.calibrated else ["uncalibrated"]
    return {
        "number": one.number,
        "flask": one.flask,
        "pieces": ", ".join(paper.short_id(piece) for piece in one.pieces),
        "charge": charge_text(plan, one),
        "flask_temperature": paper.shown(one.flask_temperature_C, units),
        "winding": winding(one),
        "mark": paper.shown(one.throw.balance.mark_mm, units, marks=uncalibrated),
        "pour": paper.clock(one.pour_at, plan.studio.zone),
        "quench": quench(one, plan.studio.zone),
    }


def charge_text(plan: DayPlan, one: PlannedFlask) -> str:
    """Return the mass to melt as fine as the day's scale, or the words for none."""
    charge = one.need.charge_g
    if charge is None:
        return say("sheet.no-charge")
    return paper.mass(charge.value, plan.studio.units, division_of(plan))


def winding(one: PlannedFlask) -> paper.Shown:
    """Return the turns to wind and the range round them, never past the most."""
    throw = one.throw
    low, usual, most = (
        paper.trimmed(turns.value) for turns in (throw.wind_low_turns, throw.wind_turns, throw.wind_limit_turns)
    )
    marks = paper.source_marks((*throw.wind_low_turns.sources, *throw.wind_turns.sources))
    return {
        "text": usual,
        "range": f"{low}–{most}",
        "most": most,
        "marks": [*([] if throw.calibrated else ["uncalibrated"]), *marks],
    }


def extraction_windows(plan: DayPlan) -> list[dict[str, str]]:
    """Return the times when extraction runs, those close together joined."""
    zone, day = plan.studio.zone, plan.day.date
    return [
        {
            "from": paper.clock_with_day(start, zone, day),
            "to": paper.clock(end, zone),
            "why": "; ".join(reasons),
        }
        for start, end, reasons in joined_windows(plan.timeline)
    ]


def joined_windows(entries: Iterable[TimelineEntry]) -> list[tuple[datetime, datetime, list[str]]]:
    """Join extraction windows that overlap or nearly touch; each keeps the kinds of work it covers, each once."""
    windows: list[tuple[datetime, datetime, list[str]]] = []
    for entry in sorted((one for one in entries if one.extraction), key=lambda one: (one.start, one.end)):
        reason = _short_reason(entry)
        if windows and entry.start <= windows[-1][1] + _NOT_WORTH_A_STOP:
            start, end, reasons = windows[-1]
            windows[-1] = (start, max(end, entry.end), reasons if reason in reasons else [*reasons, reason])
        else:
            windows.append((entry.start, entry.end, [reason]))
    return windows


def _short_reason(entry: TimelineEntry) -> str:
    key = _EXTRACTION.get(entry.what)
    return say(entry.what, **entry.params) if key is None else say(key)


def put_out(plan: DayPlan) -> list[dict[str, str]]:
    """Return what must lie ready: powder, water, and each lot of metal with the mass to take."""
    units, powder = plan.studio.units, plan.mix.batches
    rows = [
        {
            "what": say("sheet.put-out.powder", powder=plan.day.powder),
            "much": _total(one.powder_g.value for one in powder),
        },
        {"what": say("sheet.put-out.water"), "much": _total(one.water_g.value for one in powder)},
    ]
    metal = [
        {"what": say("sheet.put-out.lot", lot=one.lot), "much": paper.mass(one.take_g.value, units, division_of(plan))}
        for one in plan.stock
        if one.take_g.value > 0
    ]
    return rows + metal


def _total(masses_g: Iterable[float]) -> str:
    return show(sum(masses_g), "g", 0)


def stop_line(findings: Iterable[Finding]) -> str:
    """Return the warning for the head of the sheet when a finding stops the day, else an empty text."""
    stops = sum(one.level in (Level.STOP, Level.ASK) for one in findings)
    return say("sheet.stops.one" if stops == 1 else "sheet.stops.many", count=stops) if stops else ""


def done_line(plan: DayPlan) -> str:
    """Return when the last pour is done, and what is left of the class or lacking, where the plan knows it."""
    pouring = plan.pouring
    if pouring is None:
        return ""
    done = paper.clock(pouring.done_at, plan.studio.zone)
    if pouring.done_by is None or pouring.spare_min is None:
        return say("sheet.cover.done", done=done)
    spare_min = pouring.spare_min.value
    key = "sheet.cover.done-spare" if spare_min >= 0 else "sheet.cover.done-over"
    end = paper.clock(pouring.done_by, plan.studio.zone)
    return say(key, done=done, end=end, minutes=show(abs(spare_min), "min", 0))


def unlike_line(plan: DayPlan) -> str:
    """Return that something is not as it was on the earlier day most like this one, else an empty text."""
    count = len(plan.differences)
    if not count:
        return ""
    then = paper.long_date(date.fromisoformat(plan.repeats))
    return say("sheet.cover.unlike.one" if count == 1 else "sheet.cover.unlike.many", count=count, day=then)


def by_the_clock(plan: DayPlan) -> list[dict[str, object]]:
    """Return the day's entries, each day under its date; in full their cautions stand at the work."""
    days: list[dict[str, object]] = []
    rows: list[dict[str, object]] = []
    for entry in sorted(plan.timeline, key=lambda one: (one.start, one.end)):
        its_date = paper.long_date(paper.local(entry.start, plan.studio.zone).date())
        if not days or days[-1]["date"] != its_date:
            rows = []
            days.append({"date": its_date, "rows": rows})
        rows.append(_clock_row(plan, entry))
    return days


def _clock_row(plan: DayPlan, entry: TimelineEntry) -> dict[str, object]:
    return {
        "from": paper.clock(entry.start, plan.studio.zone),
        "to": paper.clock(entry.end, plan.studio.zone),
        "what": say(entry.what, **entry.params),
        "role": role_name(entry.role),
        "extraction": entry.extraction,
        "cautions": [short_name(one) for one in entry.prompts],
    }
