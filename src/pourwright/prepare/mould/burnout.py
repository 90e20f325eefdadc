"""The burnout of one kiln, planned backwards from the first pour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import accumulate, pairwise

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Level
from pourwright.core.text import say
from pourwright.prepare.mould.bench_set import bench_set_needed
from pourwright.prepare.mould.burnout_checks import BurnCase, check_burnout
from pourwright.prepare.mould.core_lag import core_lag, mould_diffusivity
from pourwright.prepare.mould.dewaxing import soak_for, with_ash, with_dewax
from pourwright.prepare.mould.loads import NO_SHEET, BurnWish, KilnLoad, PowderSheet
from pourwright.prepare.mould.programmes import Hold, demands_of, merge, merge_refusals
from pourwright.prepare.mould.reading import as_set, controller_reading
from pourwright.prepare.mould.results import Burnout, BurnStep, CoreLag
from pourwright.prepare.mould.stops import with_stops
from pourwright.prepare.mould.wall_clock import before, on_the_wall
from pourwright.prepare.rule_figures import rule_figure, total_of
from pourwright.studio.profile import Kiln, PrintUnits

_ROOM_C = 20.0


@dataclass(frozen=True)
class _Piece:
    """A piece of the curve before it has times."""

    kind: str
    from_C: Figure
    to_C: Figure
    length_min: Figure
    because: str


def plan_burnout(
    kiln: Kiln,
    loads: Sequence[KilnLoad],
    first_pour: datetime,
    zone: str,
    wish: BurnWish,
    mould: str = "gypsum-bonded",
    units: PrintUnits | None = None,
    sheet: PowderSheet = NO_SHEET,
) -> Burnout:
    """Plan one programme for all flasks in a kiln and its times, backwards from the first pour and on to the last.

    Parameters
    ----------
    kiln : Kiln
        With its limits and how far its reading is off.
    loads : sequence of KilnLoad
        The flasks, with what their patterns are made of.
    first_pour : datetime
        With a zone.
    zone : str
        Name of the studio's time zone.
    wish : BurnWish
        Casting temperature, soak and habits.
    mould : str
        Id of the mould material.
    units : PrintUnits, optional
        Units for the sentences.
    sheet : PowderSheet
        What the powder's own data sheet asks of the kiln.

    Returns
    -------
    Burnout
        Without steps when the load is refused.

    Raises
    ------
    ValueError
        ``first_pour`` has no zone.
    DataError
        The mould is not in the tables.
    """
    if first_pour.tzinfo is None:
        raise ValueError("first_pour needs a time zone")
    units = units or PrintUnits()
    demands, findings = demands_of(loads, rapid_allowed=sheet.rapid_allowed)
    findings = (*findings, *merge_refusals(demands, units))
    refused = not demands or any(one.level in (Level.STOP, Level.ASK) for one in findings)
    pieces = () if refused else _pieces(kiln, merge(demands), wish, loads)
    needed = bench_set_needed(loads, signed=wish.small_flasks_signed, sheet_min=sheet.bench_set_min)
    plan = _timed(kiln, loads, pieces, first_pour, zone, wish, mould, needed)
    plan = with_ash(with_dewax(plan, loads, wish, needed, zone), loads, zone)
    plan = with_stops(plan, wish.stops, kiln, loads, mould, zone)
    case = BurnCase(kiln, tuple(loads), demands, wish, mould, zone, units, sheet)
    return replace(plan, findings=(*findings, *check_burnout(case, plan)))


def _pieces(kiln: Kiln, holds: Sequence[Hold], wish: BurnWish, loads: Sequence[KilnLoad]) -> tuple[_Piece, ...]:
    """Join the holds by ramps, then go to casting temperature and stay there."""
    ramp, ramp_because = _heating(kiln, wish)
    now = wish.room_C or given(_ROOM_C, "C", "", sources=("none",), how="prepare.assumed-room")
    pieces = []
    for hold in holds:
        gentle = hold.ramp_C_h is not None and hold.ramp_C_h.value < ramp.value
        rate, because = (hold.ramp_C_h or ramp, hold.ramp_because) if gentle else (ramp, ramp_because)
        pieces.append(_slope("ramp", now, hold.temperature_C, rate, because))
        now = hold.temperature_C
        pieces.append(_Piece("hold", now, now, hold.length_min, hold.because))
    casting = as_set(wish.casting_C)
    pieces.append(_to_casting(kiln, now, casting, ramp, ramp_because))
    slowest = max(loads, key=lambda one: one.diameter_mm.value).flask
    length, because = soak_for(loads, wish.soak_min) or (wish.soak_min, say("prepare.because-soak", flask=slowest))
    pieces.append(_Piece("soak", casting, casting, length, because))
    return tuple(one for one in pieces if one.length_min.value > 0)


def _heating(kiln: Kiln, wish: BurnWish) -> tuple[Figure, str]:
    """Return the heating rate and why: the one asked, or the rule's, and never more than the kiln can."""
    asked = wish.ramp_C_h or rule_figure("burn.ramp", "high", "C_h")
    if kiln.ramp_limit_C_h.value < asked.value:
        return kiln.ramp_limit_C_h, say("prepare.because-ramp-kiln", kiln=kiln.id)
    return asked, say("prepare.because-ramp-asked" if wish.ramp_C_h else "prepare.because-ramp-rule")


def _to_casting(kiln: Kiln, top: Figure, casting: Figure, ramp: Figure, ramp_because: str) -> _Piece:
    if casting.value > top.value:
        return _slope("ramp", top, casting, ramp, ramp_because)
    return _slope("cool", top, casting, kiln.cooling_C_h, say("prepare.because-cool", kiln=kiln.id))


def _slope(kind: str, start: Figure, end: Figure, rate: Figure, because: str) -> _Piece:
    length = reckon(
        "min",
        "prepare.how-slope",
        lambda from_C, to_C, rate_C_h: 60 * abs(to_C - from_C) / rate_C_h,
        {"from_C": start, "to_C": end, "rate_C_h": rate},
    )
    return _Piece(kind, start, end, length, because)


def _timed(
    kiln: Kiln,
    loads: Sequence[KilnLoad],
    pieces: Sequence[_Piece],
    first_pour: datetime,
    zone: str,
    wish: BurnWish,
    mould: str,
    needed: Figure,
) -> Burnout:
    """Give the pieces their times: the last ends at the pour, and each mark is a whole second."""
    total = total_of(
        "min",
        "prepare.how-burnout-total",
        {f"{number} {one.kind}": one.length_min for number, one in enumerate(pieces, 1)},
    )
    lengths_min = [one.length_min.value for one in pieces]
    passed_min = accumulate(lengths_min, initial=0.0)
    marks = [on_the_wall(before(first_pour, sum(lengths_min) - passed), zone) for passed in passed_min]
    steps = [_step(kiln, one, start, end) for one, (start, end) in zip(pieces, pairwise(marks), strict=True)]
    top = max((one.to_C for one in pieces), key=lambda one: one.value, default=wish.casting_C)
    return Burnout(
        kiln.id,
        tuple(steps),
        marks[0],
        on_the_wall(first_pour, zone),
        total,
        _true_top(kiln, top),
        wish.casting_C,
        _lags(loads, top, as_set(wish.casting_C), mould) if pieces else (),
        on_the_wall(before(marks[0], needed.value), zone),
        (),
    )


def _step(kiln: Kiln, piece: _Piece, start: datetime, end: datetime) -> BurnStep:
    reading = controller_reading(piece.to_C, kiln.offset_C)
    return BurnStep(piece.kind, start, end, piece.from_C.value, piece.to_C.value, piece.because, reading)


def _true_top(kiln: Kiln, top: Figure) -> Figure:
    """Return the hottest the kiln may truly get: its set-point is exact, its offset is not."""
    reading = controller_reading(top, given(kiln.offset_C.value, "C", kiln.offset_C.origin))
    return reckon(
        "C",
        "prepare.how-true-top",
        lambda reading_C, offset_C: reading_C + offset_C,
        {"reading_C": reading, "offset_C": kiln.offset_C},
    )


def _lags(loads: Sequence[KilnLoad], top: Figure, casting: Figure, mould: str) -> tuple[CoreLag, ...]:
    diffusivity = mould_diffusivity(mould, (top.value + casting.value) / 2)
    return tuple(core_lag(one.flask, one.diameter_mm, diffusivity, top, casting) for one in loads)
