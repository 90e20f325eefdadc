"""From a planned flask to a freezing job, and what was asked on the command line, read and checked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from math import isfinite

from pourwright.core.errors import UnitError
from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.interval import Interval
from pourwright.core.units import SUFFIXES, UnclearUnitError, read, show
from pourwright.matter.alloys import Alloy
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.moulds import mould as find_mould
from pourwright.matter.practice import rule
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.prepare.plan_flasks import pour_temperature
from pourwright.prepare.quench.colour import DAYLIGHT, last_red_C
from pourwright.shape.pattern import mass
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate.conditions import conditions_for
from pourwright.simulate.cooling import QuenchLimits
from pourwright.simulate.job import FlaskJob, StartField, piece_skin
from pourwright.simulate.tree_solid import TreeSolid, join_tree

_ZERO_C_K = 273.15
_MM3_CM3 = 1000.0
_ROOM_C = 20.0
# A pyrometer or a thermocouple in the melt of a small torch-heated crucible is no better than this; common practice,
# no source.
_POUR_EITHER_WAY_K = 15.0
# More superheat than this burns flux, mould and alloy; nobody pours so. Common practice, no source.
_MOST_SUPERHEAT_K = 300.0
_SIDE_LEAST_MM, _SIDE_MOST_MM = 0.1, 3.0


@dataclass(frozen=True)
class Asked:
    """What was asked for, read: temperatures [degC], side of the cells [mm], time granted [s]; None: not said."""

    flask_C: float | None = None
    pour_C: float | None = None
    side_mm: float | None = None
    granted_s: float | None = None


def read_asked(flask: str, pour: str, side: str, granted: str) -> tuple[Asked, tuple[Finding, ...]]:
    """Read what was typed behind the options; all that is wrong with it at once."""
    found: list[Finding] = []
    asked = Asked(
        typed(flask, "C", "--flask-temperature", found),
        typed(pour, "C", "--pour-temperature", found),
        typed(side, "mm", "--side", found),
        typed(granted, "s", "--time", found),
    )
    if asked.side_mm is not None and not _SIDE_LEAST_MM <= asked.side_mm <= _SIDE_MOST_MM:
        span = {"least": show(_SIDE_LEAST_MM, "mm"), "most": show(_SIDE_MOST_MM, "mm")}
        found.append(Finding("doors.freeze-side", Level.STOP, "--side", {"side": side, **span}))
    if asked.granted_s is not None and asked.granted_s <= 0:
        found.append(Finding("doors.freeze-time", Level.STOP, "--time", {"text": granted}))
    return asked, tuple(found)


def typed(text: str, suffix: str, where: str, found: list[Finding]) -> float | None:
    """Return an amount as typed behind an option, in a suffix's unit; None if nothing was, or it makes no sense."""
    if not text:
        return None
    try:
        return read(text, SUFFIXES[suffix], where)
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        found.append(Finding("doors.freeze-amount", level, where, {"reason": str(problem)}))
        return None


def absurd(asked: Asked, alloy: Alloy, mould_id: str) -> tuple[Finding, ...]:
    """Refuse temperatures at which nobody can cast: a mould that would melt the metal or fall apart, a cold melt."""
    found = []
    liquidus_C, solidus_C = (one.best - _ZERO_C_K for one in (alloy.liquidus_K, alloy.solidus_K))
    most_C = min(solidus_C, find_mould(mould_id).hold_limit_C.high)
    if asked.flask_C is not None and not _ROOM_C <= asked.flask_C <= most_C:
        params = {"given": show(asked.flask_C, "C"), "least": show(_ROOM_C, "C"), "most": show(most_C, "C")}
        found.append(Finding("doors.freeze-flask-absurd", Level.STOP, "--flask-temperature", params))
    if asked.pour_C is not None and not liquidus_C <= asked.pour_C <= liquidus_C + _MOST_SUPERHEAT_K:
        params = {
            "given": show(asked.pour_C, "C"),
            "least": show(liquidus_C, "C"),
            "most": show(liquidus_C + _MOST_SUPERHEAT_K, "C"),
            "alloy": alloy.title,
        }
        found.append(Finding("doors.freeze-pour-absurd", Level.STOP, "--pour-temperature", params))
    return tuple(found)


def pick_flasks(plan: DayPlan, wanted: str) -> tuple[tuple[PlannedFlask, ...], tuple[Finding, ...]]:
    """Return the flasks meant: all, or one by its load's id or the end of it, its number, or its steel flask."""
    if not wanted:
        return plan.flasks, ()
    names = {one.id: {one.id, one.id.rpartition("-")[2], str(one.number), one.flask} for one in plan.flasks}
    hits = tuple(one for one in plan.flasks if wanted.strip() in names[one.id])
    if hits:
        return hits, ()
    known = "; ".join(f"{one.id} ({one.flask})" for one in plan.flasks)
    return (), (Finding("doors.freeze-flask-unknown", Level.STOP, "--flask", {"flask": wanted, "known": known}),)


def tree_key(plan: DayPlan, one: PlannedFlask) -> str:
    """Return the hash of a flask's metal and mould: a freezing answer holds for the plan that has the same."""
    by_id = {piece.id: piece for piece in plan.pieces}
    flask = next(steel for steel in plan.studio.flasks if steel.id == one.flask)
    base = next(row for row in plan.studio.bases if row.id == one.base)
    said = {
        "tree": asdict(one.tree),
        "patterns": [_pattern_of(by_id[piece]) for piece in one.pieces],
        "flask_mm": [flask.diameter_mm.value, flask.height_mm.value, flask.wall_mm.value],
        "button_mm": [base.button_diameter_mm.value, base.button_height_mm.value],
        "alloy": plan.day.alloy,
        "mould": _mould_id(plan),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _pattern_of(piece: PlannedPiece) -> list[object]:
    pattern = piece.pattern
    return [piece.id, pattern.sha256 if pattern else "", round(piece.volume_cm3.value, 6)]


def _mould_id(plan: DayPlan) -> str:
    return next(one for one in plan.studio.powders if one.id == plan.day.powder).mould


def job_of(
    plan: DayPlan, one: PlannedFlask, asked: Asked, start: StartField | None = None
) -> tuple[FlaskJob | None, tuple[Finding, ...]]:
    """Return the job of a planned flask, or findings that say why there is none.

    Parameters
    ----------
    plan : DayPlan
        The day.
    one : PlannedFlask
        One of its flasks.
    asked : Asked
        Temperatures that go before those of the plan.
    start : StartField or None
        How warm the metal came to each place.
    """
    by_id = {piece.id: piece for piece in plan.pieces}
    flask = next(steel for steel in plan.studio.flasks if steel.id == one.flask)
    base = next(row for row in plan.studio.bases if row.id == one.base)
    pieces = [_tree_piece(placed, by_id[placed.id]) for placed in one.tree.placed]
    volumes = {piece: by_id[piece].volume_cm3.value * _MM3_CM3 for piece in one.pieces}
    button = base.button_diameter_mm.value, base.button_height_mm.value
    solid, findings = join_tree(one.tree, pieces, volumes, *button)
    if solid is None:
        return None, tuple(replace(finding, where=f"{one.id} {finding.where}") for finding in findings)
    skins = {
        placed.id: piece_skin(
            placed, by_id[placed.id].pattern, volumes[placed.id], mass.area_mm2(solid.pieces[placed.id])
        )
        for placed in one.tree.placed
    }
    room_C = plan.day.room_C.value if plan.day.room_C else _ROOM_C
    conditions = conditions_for(
        plan.day.alloy, _mould_id(plan), pour_K(plan, asked), flask_K(plan, one, asked), room_C + _ZERO_C_K
    )
    job = FlaskJob(
        one.id,
        one.flask,
        flask.diameter_mm.value / 2,
        flask.height_mm.value,
        flask.wall_mm.value,
        solid,
        skins,
        _thinnest_mm(solid, [by_id[piece] for piece in one.pieces]),
        conditions,
        start,
    )
    return job, tuple(replace(finding, where=one.id) for finding in findings)


def _tree_piece(placed: Placed, piece: PlannedPiece) -> TreePiece:
    box_mm = [0.0, 0.0, 0.0]
    for place, axis in enumerate(placed.turn):
        box_mm[axis] = placed.box_mm[place]
    return TreePiece(
        piece.id,
        (box_mm[0], box_mm[1], box_mm[2]),
        placed.gate_diameter_mm,
        piece.pattern.mesh if piece.pattern is not None else None,
    )


def _thinnest_mm(solid: TreeSolid, pieces: Sequence[PlannedPiece]) -> float:
    walls = [
        one.pattern.wall.thickness_mm for one in pieces if one.pattern is not None and one.pattern.wall is not None
    ]
    return min([*walls, *(2 * one.radius_mm for one in solid.bars)])


def pour_K(plan: DayPlan, asked: Asked) -> Interval:
    """Return the metal's temperature as it enters the mould [K], with what the thermometer may be off."""
    if asked.pour_C is not None:
        return _about(asked.pour_C, -_POUR_EITHER_WAY_K, _POUR_EITHER_WAY_K)
    planned = pour_temperature(find_alloy(plan.day.alloy), plan.studio.habits.pour_temperature_C)
    if planned.low < planned.high:
        return _figure_K(planned)
    return _about(planned.value, -_POUR_EITHER_WAY_K, _POUR_EITHER_WAY_K)


def flask_K(plan: DayPlan, one: PlannedFlask, asked: Asked) -> Interval:
    """Return the mould's true temperature [K], with what the kiln's offset is uncertain by."""
    offset = next(kiln for kiln in plan.studio.kilns if kiln.id == plan.day.kiln).offset_C
    chosen_C = asked.flask_C if asked.flask_C is not None else one.flask_temperature_C.value
    return _about(chosen_C, offset.low - offset.value, offset.high - offset.value)


def _about(value_C: float, below_K: float, above_K: float) -> Interval:
    best = value_C + _ZERO_C_K
    return Interval(best + below_K, best, best + above_K, "K")


def _figure_K(figure: Figure) -> Interval:
    low, best, high = (end + _ZERO_C_K for end in (figure.low, figure.value, figure.high))
    return Interval(low, best, high, "K", sources=figure.sources)


def quench_limits() -> QuenchLimits:
    """Return the temperatures that the quench goes by: the last red in daylight, and the ends of the practice rule."""
    gate = rule("quench.temp")
    assert gate.low is not None and gate.high is not None and isfinite(gate.high)
    return QuenchLimits(last_red_C(DAYLIGHT) + _ZERO_C_K, gate.high + _ZERO_C_K, gate.low + _ZERO_C_K)
