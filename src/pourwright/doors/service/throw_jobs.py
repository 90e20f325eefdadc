"""From a planned flask to a filling job, and what was asked on the command line, read and checked."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.interval import Interval
from pourwright.core.units import show
from pourwright.doors.service.freeze_jobs import Asked, flask_K, job_of, pour_K, read_asked, typed
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.prepare.throw.course import Throws, throws_of
from pourwright.prepare.throw.hinged import hinge_figures
from pourwright.prepare.throw.setup import load_of
from pourwright.simulate.job import FlaskJob
from pourwright.simulate.throw_conditions import Head, ThrowConditions, throw_conditions
from pourwright.studio.profile import Machine

_ZERO_C_K, _ROOM_C = 273.15, 20.0
_MM_M, _G_KG, _PA_KPA = 1000.0, 1000.0, 1000.0
# Where the studio says nothing of them. Common practice, no source.
_RELEASE_S = Interval(0.5, 1.0, 3.0, "s", sources=("none",))
_OPEN_S = Interval(20.0, 30.0, 60.0, "s", sources=("none",))
# What a workshop pump leaves of the air under a flask. Common practice, no source.
_VACUUM_PA = Interval(65e3, 80e3, 90e3, "Pa", sources=("none",))
_GAUGE_EITHER_WAY_PA = 3e3
_MOST_VACUUM_KPA = 101.0


@dataclass(frozen=True)
class ThrowAsked:
    """What was asked for, read: temperatures, side and time as for freezing, turns, and what drives the metal.

    ``turns_turns`` is None for the plan's [turn], ``vacuum_Pa`` for the studio's [Pa].
    """

    common: Asked
    head: Head
    turns_turns: float | None = None
    vacuum_Pa: float | None = None


@dataclass(frozen=True, eq=False)
class Loaded:
    """A flask on the machine: its shape, what it is filled under, how it is thrown.

    ``mouth_m`` is its mouth along the arm from the hinge [m], ``crucible_mm`` the width of the crucible [mm]. Where
    nothing turns ``throws`` is None.
    """

    flask: FlaskJob
    conditions: ThrowConditions
    throws: Throws | None
    turns_turns: float | None
    calibrated: bool
    mouth_m: float
    crucible_mm: float


def read_throw_asked(
    turns: str, flask: str, pour: str, head: str, vacuum: str, side: str, granted: str
) -> tuple[ThrowAsked, tuple[Finding, ...]]:
    """Read what was typed behind the options; all that is wrong with it at once."""
    common, findings = read_asked(flask, pour, side, granted)
    found = list(findings)
    turns_turns = typed(turns if not _is_number(turns) else f"{turns} turns", "turns", "--turns", found)
    if turns_turns is not None and turns_turns <= 0:
        found.append(Finding("doors.throw-turns", Level.STOP, "--turns", {"turns": turns}))
    vacuum_kPa = typed(vacuum, "kPa", "--vacuum", found)
    if vacuum_kPa is not None and not 0 < vacuum_kPa <= _MOST_VACUUM_KPA:
        params = {"given": vacuum, "most": show(_MOST_VACUUM_KPA, "kPa")}
        found.append(Finding("doors.throw-vacuum", Level.STOP, "--vacuum", params))
    vacuum_Pa = None if vacuum_kPa is None else _PA_KPA * vacuum_kPa
    return ThrowAsked(common, Head(head), turns_turns, vacuum_Pa), tuple(found)


def _is_number(text: str) -> bool:
    """Return whether a text is a bare number: turns are counted, they need no unit."""
    return text.replace(".", "", 1).isdigit()


def load_flask(plan: DayPlan, one: PlannedFlask, asked: ThrowAsked) -> tuple[Loaded | None, tuple[Finding, ...]]:
    """Put a planned flask on the machine.

    Parameters
    ----------
    plan : DayPlan
        The day.
    one : PlannedFlask
        One of its flasks.
    asked : ThrowAsked
        What goes before the plan.
    """
    machine = next(row for row in plan.studio.machines if row.id == plan.day.machine)
    turns = (asked.turns_turns or one.throw.wind_turns.value) if asked.head is Head.SPIN else None
    if turns is not None and turns > machine.turns_limit_turns.value:
        return None, (_over_limit(machine, turns),)
    job, found = job_of(plan, one, asked.common)
    if job is None or one.need.charge_g is None:
        return None, found
    throws = None if turns is None else _throws(plan, one, machine, turns)
    if turns is not None and throws is None:
        return None, (*found, Finding("doors.throw-no-arm", Level.STOP, machine.id))
    crucible = next(row for row in plan.studio.crucibles if row.id == plan.day.crucible)
    loaded = Loaded(
        flask=job,
        conditions=_conditions(plan, one, asked, machine, throws),
        throws=throws,
        turns_turns=turns,
        calibrated=machine.calibrated,
        mouth_m=_mouth_m(machine, job, throws),
        crucible_mm=10.0 * float(crucible.volume_cm3.value) ** (1 / 3),
    )
    return loaded, found


def _over_limit(machine: Machine, turns: float) -> Finding:
    params = {"turns": show(turns, "turns"), "limit": show(machine.turns_limit_turns.value, "turns")}
    return Finding("doors.throw-over-limit", Level.STOP, machine.id, params)


def _throws(plan: DayPlan, one: PlannedFlask, machine: Machine, turns: float) -> Throws | None:
    dry_kg = next(mix.dry_kg for mix in plan.mix.flasks if mix.flask == one.id)
    assert one.need.charge_g is not None
    return throws_of(machine, load_of(machine, dry_kg, one.need.charge_g), turns)


def _mouth_m(machine: Machine, job: FlaskJob, throws: Throws | None) -> float:
    """Return where the flask's mouth lies, from the hinge [m]: half a flask nearer the shaft than its middle."""
    if throws is None:
        return 0.0
    return (machine.flask_radius_mm.value - job.height_mm / 2) / _MM_M - throws.best.arm.hinge_m


def _conditions(
    plan: DayPlan, one: PlannedFlask, asked: ThrowAsked, machine: Machine, throws: Throws | None
) -> ThrowConditions:
    habits, hinge = plan.studio.habits, hinge_figures(machine)
    room_C = plan.day.room_C.value if plan.day.room_C else _ROOM_C
    assert one.need.charge_g is not None
    return throw_conditions(
        alloy=plan.day.alloy,
        mould=next(row for row in plan.studio.powders if row.id == plan.day.powder).mould,
        head=asked.head,
        charge_kg=one.need.charge_g.value / _G_KG,
        room_K=room_C + _ZERO_C_K,
        pour_K=pour_K(plan, asked.common),
        flask_K=flask_K(plan, one, asked.common),
        release_s=_or_usual(habits.release_delay_s, _RELEASE_S),
        open_s=_or_usual(habits.flask_out_s, _OPEN_S),
        force_ratio=throws.force_ratio if throws else Interval.exact(1.0),
        mouth_mm=hinge.mouth_mm.as_interval(),
        lip_rad=hinge.lip_deg.as_interval().scaled(pi / 180, "rad"),
        vacuum_Pa=_vacuum_Pa(habits.vacuum_kPa, asked),
    )


def _or_usual(said: Figure | None, usual: Interval) -> Interval:
    return usual if said is None else said.as_interval()


def _vacuum_Pa(said_kPa: Figure | None, asked: ThrowAsked) -> Interval | None:
    if asked.head is not Head.VACUUM:
        return None
    if asked.vacuum_Pa is not None:
        best = asked.vacuum_Pa
        return Interval(max(best - _GAUGE_EITHER_WAY_PA, 0.0), best, best + _GAUGE_EITHER_WAY_PA, "Pa")
    return said_kPa.as_interval().scaled(_PA_KPA, "Pa") if said_kPa is not None else _VACUUM_PA
