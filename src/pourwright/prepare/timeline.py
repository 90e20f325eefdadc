"""The day by the clock: what happens when, who does it, which cautions belong to it, when extraction runs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from pourwright.core.units import show, show_in
from pourwright.matter.safety import prompt
from pourwright.prepare.day_plan import PlannedFlask, TimelineEntry
from pourwright.prepare.mould.results import Burnout, Mix
from pourwright.prepare.roles import role_for
from pourwright.studio.day import Person
from pourwright.studio.profile import Habits, PrintUnits

# Common practice, no source: how long before the first pour the cold checks begin, how long a charge of this size
# is under the torch at most, and how long wax smokes after the kiln is lit.
_COLD_CHECKS = timedelta(minutes=75)
_MELT_EACH = timedelta(minutes=10)
_SMOKE = timedelta(hours=2)
_BOWL_PAUSE = timedelta(minutes=15)
_WEIGH_UP = timedelta(minutes=30)
_TAP_OUT = timedelta(minutes=3)
_FIRE_WATCH_MIN = 60.0  # tool default of the safety table, twice the regulation's least
_LEFT_TO_COOL = "prepare.quench-basis-hand-warm"


def build_timeline(
    mix: Mix,
    burnout: Burnout,
    flasks: Sequence[PlannedFlask],
    habits: Habits,
    units: PrintUnits,
    people: Sequence[Person] = (),
) -> tuple[TimelineEntry, ...]:
    """Return the day's entries in the order of the clock.

    Parameters
    ----------
    mix : Mix
        Bowls with their clocks.
    burnout : Burnout
        Programme with light-up and invest-by times.
    flasks : sequence of PlannedFlask
        With their pour times.
    habits : Habits
        Minutes a pour takes.
    units : PrintUnits
        Units the studio wants to read.
    people : sequence of Person
        Who is there: a step goes to a role that somebody has.
    """
    entries = [
        *_investing(mix, burnout, {one.id: str(one.number) for one in flasks}),
        *_kiln(burnout, units, {one.id: str(one.number) for one in flasks}),
        *_bench(burnout, flasks, habits, units),
        *_closing(flasks),
    ]
    staffed = [replace(one, role=role_for(one.role, people)) for one in entries]
    return tuple(sorted(staffed, key=lambda one: (one.start, one.end)))


def _investing(mix: Mix, burnout: Burnout, numbers: Mapping[str, str]) -> list[TimelineEntry]:
    entries = []
    end = burnout.invest_by
    for number, batch in reversed(list(enumerate(mix.batches, 1))):
        start = end - timedelta(minutes=batch.ends_min.value)
        params = {
            "number": str(number),
            "flasks": ", ".join(numbers.get(one, one) for one in batch.flasks),
            "powder": show(batch.powder_g.value, "g", 0),
            "water": show(batch.water_g.value, "g", 0),
        }
        prompts = ("sil.where", "sil.resp")
        entries.append(TimelineEntry(start, end, "prepare.timeline-mix", params, "pourer", prompts, extraction=True))
        end = start - _BOWL_PAUSE
    return entries


def _kiln(burnout: Burnout, units: PrintUnits, numbers: Mapping[str, str]) -> list[TimelineEntry]:
    light = TimelineEntry(
        burnout.light_at,
        burnout.light_at + _SMOKE,
        "prepare.timeline-light",
        {"kiln": burnout.kiln},
        "teacher",
        ("vent.kiln", "kiln.unattended", "fume.co"),
        extraction=True,
    )
    top = max(burnout.steps, key=lambda one: (one.to_C, one.kind == "hold"))
    hottest = {"temperature": show_in(top.to_C, "C", units.temperature)}
    hold = TimelineEntry(top.start, top.end, "prepare.timeline-top", hottest, "teacher", ("fume.so2",), True)
    return [light, hold, *_casting(burnout, units, numbers), *_dewax(burnout), *_ash(burnout)]


def _casting(burnout: Burnout, units: PrintUnits, numbers: Mapping[str, str]) -> list[TimelineEntry]:
    """Return the time in which the flasks even out before each set-point's pours, and the falls between them."""
    if not burnout.casting:
        soak = burnout.steps[-1]
        casting = {"temperature": show_in(soak.to_C, "C", units.temperature)}
        return [TimelineEntry(soak.start, soak.end, "prepare.timeline-soak", casting, "teacher")]
    entries = []
    for earlier, hold in zip((None, *burnout.casting), burnout.casting, strict=False):
        params = {
            "temperature": show_in(hold.temperature_C.value, "C", units.temperature),
            "reading": show_in(hold.reading_C.value, "C", units.temperature),
            "flasks": ", ".join(numbers.get(one, one) for one in hold.flasks),
        }
        if earlier:
            entries.append(TimelineEntry(earlier.done, hold.reached, "prepare.timeline-fall", params, "teacher"))
        entries.append(TimelineEntry(hold.reached, hold.first_pour, "prepare.timeline-soak", params, "teacher"))
    return entries


def _dewax(burnout: Burnout) -> list[TimelineEntry]:
    one = burnout.dewax
    if one is None:
        return []
    params = {"flasks": ", ".join(one.flasks), "into": f"{one.into_kiln_by:%H:%M}"}
    prompts = ("quench.scald", "ppe.hot")
    what = "prepare.timeline-steam" if one.kind == "steam" else "prepare.timeline-oven"
    return [TimelineEntry(one.start, one.end, what, params, "helper", prompts, extraction=True)]


def _ash(burnout: Burnout) -> list[TimelineEntry]:
    return [
        TimelineEntry(
            one.at,
            one.at + _TAP_OUT,
            "prepare.timeline-ash",
            {"flask": one.flask, "pattern": one.pattern, "reheat": show(one.reheat_min.low, "min")},
            "helper",
            ("dust.noblow", "sil.resp", "ppe.hot"),
            extraction=True,
        )
        for one in burnout.ash
    ]


def _bench(burnout: Burnout, flasks: Sequence[PlannedFlask], habits: Habits, units: PrintUnits) -> list[TimelineEntry]:
    first = burnout.first_pour
    entries = [
        TimelineEntry(
            first - _COLD_CHECKS,
            first - _MELT_EACH,
            "prepare.timeline-cold",
            {"count": str(len(flasks))},
            "pourer",
            ("spin.guard", "spin.wound"),
        )
    ]
    for one in flasks:
        entries += _pour(one, timedelta(minutes=habits.minutes_per_pour_min.value), units)
    return entries


def _pour(one: PlannedFlask, each: timedelta, units: PrintUnits) -> list[TimelineEntry]:
    charge = show_in(one.need.charge_g.value, "g", units.mass) if one.need.charge_g else "–"
    params = {"number": str(one.number), "flask": one.flask, "charge": charge}
    melt = min(_MELT_EACH, each) if each else _MELT_EACH
    return [
        TimelineEntry(
            one.pour_at - melt,
            one.pour_at,
            "prepare.timeline-melt",
            params,
            "pourer",
            ("steam.dry", "ppe.cloth", "eye.shade.braze"),
            extraction=True,
        ),
        TimelineEntry(
            one.pour_at,
            one.pour_at + timedelta(minutes=1),
            "prepare.timeline-pour",
            params,
            "caller",
            ("people.alone", "abort.path"),
            extraction=True,
        ),
        _after_the_throw(one, params),
    ]


def _after_the_throw(one: PlannedFlask, params: Mapping[str, str]) -> TimelineEntry:
    """Return the quench, or for a flask that must not be quenched the time until it can be touched."""
    early = one.pour_at + timedelta(minutes=one.quench.earliest_min.value)
    late = one.pour_at + timedelta(minutes=one.quench.latest_min.value)
    if one.quench.basis == _LEFT_TO_COOL:
        return TimelineEntry(one.pour_at, late, "prepare.timeline-hand-warm", params, "helper")
    return TimelineEntry(
        early, late, "prepare.timeline-quench", params, "helper", ("steam.quench", "quench.scald"), extraction=True
    )


def _closing(flasks: Sequence[PlannedFlask]) -> list[TimelineEntry]:
    if not flasks:
        return []
    last = max(one.pour_at for one in flasks)
    watch_min = max(_FIRE_WATCH_MIN, prompt("fire.watch").value or 0.0)
    quenched = max(one.pour_at + timedelta(minutes=one.quench.latest_min.value) for one in flasks)
    return [
        TimelineEntry(
            last,
            last + timedelta(minutes=watch_min),
            "prepare.timeline-watch",
            {"until": show(watch_min, "min")},
            "helper",
            ("fire.watch",),
        ),
        TimelineEntry(quenched, quenched + _WEIGH_UP, "prepare.timeline-weigh", {}, "pourer", ("acid.hot",)),
    ]


def last_of(entries: Sequence[TimelineEntry]) -> datetime:
    """Return when the day's last entry ends."""
    return max(one.end for one in entries)
