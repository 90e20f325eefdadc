"""What a plan keeps of a frozen flask: times, hot spots and verdicts as figures with their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite, nan

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.interval import Interval
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.freeze.hot_spots import HotSpot
from pourwright.physics.freeze.verdicts import SMALL_VOID_M3, Feeding
from pourwright.simulate.cooling import CoolingTimes, QuenchLimits, cooling_times
from pourwright.simulate.run import Assessment
from pourwright.simulate.sweep import Holding, Spread, Sweep

Point = tuple[float, float, float]

SOURCES = ("derived",)
# What each input of a case is called.
INPUT_WORDS = {
    "pour_K": "simulate.input-pour",
    "flask_K": "simulate.input-flask",
    "conductivity_ratio": "simulate.input-mould",
    "contact_W_m2K": "simulate.input-contact",
    "after_gap_W_m2K": "simulate.input-gap",
    "shrinkage_frac": "simulate.input-shrinkage",
}
# Books that miss more than this share of the metal's heat are not to be trusted.
MOST_ENERGY_ERROR_FRAC = 5e-4
_MM3_M3, _MM_M, _S_MIN = 1e9, 1e3, 60.0
_SHOWN_SPOTS = 9


@dataclass(frozen=True)
class SpotSummary:
    """A hot spot as a person needs it; places in the flask, from the middle of its mouth [mm].

    ``part`` is the part of the tree it lies in, ``neck`` the one in which the way to the button closed.
    """

    part: str
    place_mm: Point
    cut_off_s: float
    last_freezing_s: float
    liquid_mm3: float
    liquid_frac: float
    void_mm3: Figure
    neck: str


@dataclass(frozen=True)
class VerdictSummary:
    """How a heavy section was fed: in words; how many of the runs over the ranges say it is, and what decides it."""

    piece: str
    section: int
    fed: bool
    words: str
    void_mm3: Figure
    fed_count: int = 0
    runs_count: int = 0
    decided_by: str = ""


@dataclass(frozen=True)
class FreezeSummary:
    """A frozen flask; of shrinkage only.

    Parameters
    ----------
    key : str
        Hash of the tree it was reckoned for.
    flask_temperature_C, pour_temperature_C : Figure
        Of mould and metal, as reckoned with [degC].
    side_mm : float
        Side of the cells [mm].
    cells_count : int
        Of the grid.
    energy_error_frac : float
        Share of the metal's heat that the books cannot account for.
    last_solid_s : Figure
        When the last metal was solid, from the pour [s].
    black_heat_min, quench_from_min, quench_to_min : Figure or None
        When the button is at black heat, and when the hottest metal is cool enough, and still hot enough, for the
        quench [min]; None where the flask was not followed so far.
    hot_spots : tuple of SpotSummary
        The largest void first.
    verdicts : tuple of VerdictSummary
        Of the heavy sections.
    samples_count : int
        Runs over the ranges that stand behind the ranges of the times; 0 if none: the ranges are points then.
    picture : str
        File name of the cut, beside the plan.
    findings : tuple of Finding
        What to look at.
    moved_by : mapping of str to str
        The input of the runs that moves each time most, where one stands out of chance.
    """

    key: str
    flask_temperature_C: Figure
    pour_temperature_C: Figure
    side_mm: float
    cells_count: int
    energy_error_frac: float
    last_solid_s: Figure
    black_heat_min: Figure | None
    quench_from_min: Figure | None
    quench_to_min: Figure | None
    hot_spots: tuple[SpotSummary, ...]
    verdicts: tuple[VerdictSummary, ...]
    samples_count: int
    picture: str = ""
    findings: tuple[Finding, ...] = field(default=())
    moved_by: Mapping[str, str] = field(default_factory=dict)


def summarise(
    assessment: Assessment, limits: QuenchLimits, key: str, sweep: Sweep | None = None, picture: str = ""
) -> FreezeSummary:
    """Return what a plan keeps.

    Parameters
    ----------
    assessment : Assessment
        A finished run.
    limits : QuenchLimits
        Temperatures that the quench goes by.
    key : str
        Hash of the tree.
    sweep : Sweep or None
        Runs over the ranges.
    picture : str
        File name of the cut.
    """
    run = assessment.run
    times = cooling_times(run.result.histories, limits)
    origin = say("simulate.origin", load=run.job.id, side=show(run.side_mm, "mm", 2))
    holdings = {(one.piece, one.section): one for one in sweep.sections} if sweep else {}
    verdicts = tuple(_verdict(one, holdings.get((one.piece, one.section)), origin) for one in assessment.verdicts)
    error_frac = _energy_error_frac(assessment)
    black_heat, quench_from, quench_to = _minutes(times, sweep, origin)
    return FreezeSummary(
        key=key,
        flask_temperature_C=_celsius(run.case.flask_K, run.job.conditions.flask_K, origin),
        pour_temperature_C=_celsius(run.case.pour_K, run.job.conditions.pour_K, origin),
        side_mm=run.side_mm,
        cells_count=run.result.effort.cells_count,
        energy_error_frac=error_frac,
        last_solid_s=_time("s", run.result.last_solid_s, sweep.last_solid if sweep else None,
                           "simulate.how-last-solid", origin),
        black_heat_min=black_heat,
        quench_from_min=quench_from,
        quench_to_min=quench_to,
        hot_spots=tuple(_spot(one, assessment, origin) for one in assessment.found.spots[:_SHOWN_SPOTS]),
        verdicts=verdicts,
        samples_count=sweep.runs_count if sweep else 0,
        picture=picture,
        findings=(*_unsound(run.job.id, error_frac), *_verdict_findings(assessment, run.job.id)),
        moved_by=_moved_by(sweep) if sweep else {},
    )  # fmt: skip


def _moved_by(sweep: Sweep) -> dict[str, str]:
    spreads = {
        "last_solid_s": sweep.last_solid,
        "black_heat_min": sweep.black_heat,
        "quench_from_min": sweep.quench_from,
    }
    return {name: one.mover for name, one in spreads.items() if one.mover}


def _energy_error_frac(assessment: Assessment) -> float:
    result = assessment.run.result
    books = [result.heat] + ([result.cooling_heat] if result.cooling_heat else [])
    return max(one.error_frac for one in books)


def _celsius(value_K: float, span_K: Interval, origin: str) -> Figure:
    low, high = min(span_K.low, value_K), max(span_K.high, value_K)
    zero = 273.15
    return Figure(value_K - zero, low - zero, high - zero, "C", "simulate.how-condition", origin=origin)


def _minutes(
    times: CoolingTimes, sweep: Sweep | None, origin: str
) -> tuple[Figure | None, Figure | None, Figure | None]:
    def shown(value_s: float, spread: Spread | None, how: str) -> Figure | None:
        return _time("min", value_s, spread, how, origin) if isfinite(value_s) else None

    return (
        shown(times.black_heat_s, sweep.black_heat if sweep else None, "simulate.how-black-heat"),
        shown(times.quench_from_s, sweep.quench_from if sweep else None, "simulate.how-quench-from"),
        shown(times.quench_to_s, None, "simulate.how-quench-to"),
    )


def _time(unit: str, value_s: float, spread: Spread | None, how: str, origin: str) -> Figure:
    """Return a time with the range that a tenth to nine tenths of the runs give it, and in its origin what moves it.

    The runs vary all inputs at once, so that no range by one input alone is known: the figure itself has no mover.
    """
    per = _S_MIN if unit == "min" else 1.0
    low_s, high_s = (spread.low_s, spread.high_s) if spread else (nan, nan)
    low, high = (end if isfinite(end) else value_s for end in (low_s, high_s))
    ends = min(low, value_s) / per, max(high, value_s) / per
    return Figure(value_s / per, *ends, unit, how, sources=SOURCES, origin=_origin(origin, spread))


def _origin(origin: str, spread: Spread | None) -> str:
    if spread is None or not isfinite(spread.low_s):
        return origin
    if not spread.mover:
        return say("simulate.origin-runs", origin=origin, runs=spread.runs_count)
    mover = say(INPUT_WORDS[spread.mover])
    return say("simulate.origin-runs-mover", origin=origin, runs=spread.runs_count, mover=mover)


def _void(void_m3: Interval, origin: str) -> Figure:
    low, best, high = (_MM3_M3 * one for one in (void_m3.low, void_m3.best, void_m3.high))
    return Figure(best, low, high, "mm3", "simulate.how-void", sources=(*SOURCES, *void_m3.sources), origin=origin)


def _spot(one: HotSpot, assessment: Assessment, origin: str) -> SpotSummary:
    names, of_cell = assessment.regions.names, assessment.regions.of_cell
    x, y, z = (_MM_M * side for side in one.place_m)
    return SpotSummary(
        part=names[of_cell[one.cell]],
        place_mm=(x, y, z),
        cut_off_s=one.cut_off_s,
        last_freezing_s=one.last_freezing_s,
        liquid_mm3=_MM3_M3 * one.liquid_m3,
        liquid_frac=one.liquid_frac,
        void_mm3=_void(one.void_m3, origin),
        neck=names[of_cell[one.neck_cell]] if one.neck_cell >= 0 else "",
    )


def _verdict(one: Feeding, holding: Holding | None, origin: str) -> VerdictSummary:
    counted = (holding.fed_count, holding.runs_count, holding.mover) if holding else (0, 0, "")
    return VerdictSummary(one.piece, one.section, one.fed, one.words, _void(one.void_m3, origin), *counted)


def _unsound(where: str, error_frac: float) -> tuple[Finding, ...]:
    if error_frac <= MOST_ENERGY_ERROR_FRAC:
        return ()
    params = {"error": f"{error_frac:.1e}", "most": f"{MOST_ENERGY_ERROR_FRAC:.0e}"}
    return (Finding("simulate.energy-lost", Level.STOP, where, params),)


def _verdict_findings(assessment: Assessment, load: str) -> tuple[Finding, ...]:
    """Return one finding for each piece that is not fed, and one for hot spots in sprue and gates."""
    found = []
    for piece in dict.fromkeys(one.piece for one in assessment.verdicts):
        starved = [one for one in assessment.verdicts if one.piece == piece and not one.fed]
        if starved:
            worst = max(starved, key=lambda one: one.void_m3.best)
            place = ", ".join(show(_MM_M * side, "mm", 0) for side in worst.place_m)
            params = {"piece": piece, "count": len(starved), "verdict": worst.words, "place": place}
            found.append(Finding(_starved_code(worst), Level.LOOK, f"{load} {piece}", params, SOURCES))
    return (*found, *_last_in_pieces(assessment, load), *_in_the_tree(assessment, load))


def _last_in_pieces(assessment: Assessment, load: str) -> tuple[Finding, ...]:
    """Say which pieces hold liquid longer than the button, though their mush locked in time."""
    regions, freeze_s = assessment.regions, assessment.run.result.freeze_s
    button_s = float(freeze_s[regions.feeder].max()) if regions.feeder.any() else 0.0
    last_s = {
        name: float(freeze_s[regions.of_cell == number].max(initial=0.0))
        for number, name in enumerate(regions.names)
        if name in assessment.run.job.solid.pieces
    }
    late = [name for name, one_s in last_s.items() if one_s > button_s]
    if not late:
        return ()
    params = {
        "pieces": ", ".join(late),
        "last": show(max(last_s.values()), "s"),
        "button": show(button_s, "s"),
    }
    return (Finding("simulate.last-liquid-in-piece", Level.LOOK, load, params, SOURCES),)


def _starved_code(worst: Feeding) -> str:
    return "simulate.starved-in-piece" if worst.neck == worst.piece else "simulate.starved-by-tree"


def _in_the_tree(assessment: Assessment, load: str) -> tuple[Finding, ...]:
    names, of_cell = assessment.regions.names, assessment.regions.of_cell
    pieces = assessment.run.job.solid.pieces
    outside = [
        one
        for one in assessment.found.spots
        if names[of_cell[one.cell]] not in pieces and one.void_m3.best >= SMALL_VOID_M3
    ]
    if not outside:
        return ()
    void = show(sum(_MM3_M3 * one.void_m3.best for one in outside), "mm3")
    return (Finding("simulate.hot-spot-in-tree", Level.NOTE, load, {"count": len(outside), "void": void}, SOURCES),)
