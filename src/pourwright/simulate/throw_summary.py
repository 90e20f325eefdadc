"""What a plan keeps of a filled flask: for each piece how surely it fills, when, how warm, and what decides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.fill.results import Fate, TankFill
from pourwright.simulate.ranks import strongest
from pourwright.simulate.throw_conditions import ThrowCase
from pourwright.simulate.throw_regions import ThinPlace
from pourwright.simulate.throw_run import FULL_FRAC, ThrowRun, ThrowSamples, mould_at_K

Floats = NDArray[np.float64]
Point = tuple[float, float, float]

SOURCES = ("derived",)
_ZERO_C_K, _MM_M, _PA_KPA, _G_KG = 273.15, 1e3, 1e3, 1e3
_SOME_FRAC = (0.1, 0.9)
# From here on a piece is said to fill, and down to here to be open; below, to stay unfilled. Our own judgement, no
# source.
SURE_FRAC, OPEN_FRAC = 0.95, 0.5
# What each input of a case is called.
THROW_WORDS = {
    "pour_K": "simulate.input-pour",
    "flask_K": "simulate.input-flask",
    "release_s": "simulate.input-release",
    "open_s": "simulate.input-open",
    "force_ratio": "simulate.input-force",
    "vacuum_Pa": "simulate.input-vacuum",
    "lip_rad": "simulate.input-lip",
    "mouth_mm": "simulate.input-mouth",
    "dwell_K_s": "simulate.input-dwell",
    "contact_W_m2K": "simulate.input-contact",
    "conductivity_ratio": "simulate.input-mould",
    "permeability_m2": "simulate.input-permeability",
    "gate_frac": "simulate.input-gate",
    "mouth_frac": "simulate.input-mouth-flow",
}
FATE_WORDS = {
    Fate.FROZEN: "simulate.fate-frozen",
    Fate.CLOSED: "simulate.fate-closed",
    Fate.SHY: "simulate.fate-shy",
    Fate.GAS: "simulate.fate-gas",
    Fate.CUT_OFF: "simulate.fate-cut-off",
    Fate.STARVED: "simulate.fate-starved",
}
_NOT_SURE = {"open": "simulate.throw-state-open", "fails": "simulate.throw-state-fails"}
_MOST_POCKETS = 5
_POCKET_MM3 = 0.5


@dataclass(frozen=True)
class ThinFill:
    """A thin place of a piece: how thick, where in the flask, and in what share of the runs it filled."""

    thickness_mm: float
    volume_mm3: float
    place_mm: Point
    fill_probability_frac: float | None


@dataclass(frozen=True)
class PocketSummary:
    """Gas shut in by metal, as a person needs it: where, how large, and whether the metal drives it out."""

    piece: str
    place_mm: Point
    volume_mm3: float
    filled: bool


@dataclass(frozen=True)
class FillWindow:
    """Flask temperatures for a piece.

    Parameters
    ----------
    low_C : float or None
        Coldest at which it fills with the probability wanted [degC]; None: at none of those tried.
    high_C : float or None
        Hottest at which no liquid is cut off in it [degC]; None: at none of those tried, or not looked at.
    wanted_frac : float
        Probability of filling that was wanted.
    low_tried_C, high_tried_C : float
        Between what it was looked for [degC].
    frozen : bool
        Whether freezing was looked at for the upper end.
    """

    low_C: float | None
    high_C: float | None
    wanted_frac: float
    low_tried_C: float
    high_tried_C: float
    frozen: bool

    @property
    def none(self) -> bool:
        """Whether no temperature does: it must be gated otherwise."""
        if self.low_C is None:
            return True
        return self.frozen and (self.high_C is None or self.high_C < self.low_C)


@dataclass(frozen=True)
class PieceFill:
    """How a piece fills.

    Parameters
    ----------
    piece : str
        Which.
    filled_frac : float
        Share of it that fills at the best values.
    fill_probability_frac : float or None
        Share of the runs over the ranges in which it fills whole; None without runs.
    filled_count, runs_count : int
        Those runs.
    first_arrival_s : float or None
        When metal first comes, from release [s].
    last_arrival_s : Figure or None
        When its last place is full, from release [s], with what four fifths of the runs give; None: it gets no metal.
    coldest_C : float or None
        Coldest metal on arrival [degC].
    mould_C : float
        Its mould as the metal meets it, after the flask stood open [degC].
    misrun_ratio : float or None
        How near the metal comes to stopping in the worst fiftieth of it: at 1 it stops; None where none comes at all.
    stopped_by : str
        What stops it where it does not fill; empty where it fills.
    last_place_mm : (float, float, float)
        The place that fills last, or first fails, in the frame of the flask [mm].
    decided_by : str
        Input that decides; empty where none stands out of chance.
    speed_m_s, head_kPa, gas_kPa : float
        Fastest flow through its gate [m/s], largest head there, and largest gas pressure in it [kPa].
    trailing : bool
        Its gate is on the side to which the stream in the sprue is pressed.
    thin : tuple of ThinFill
        Its thin places.
    window : FillWindow or None
        Flask temperatures for it.
    """

    piece: str
    filled_frac: float
    fill_probability_frac: float | None
    filled_count: int
    runs_count: int
    first_arrival_s: float | None
    last_arrival_s: Figure | None
    coldest_C: float | None
    mould_C: float
    misrun_ratio: float | None
    stopped_by: str
    last_place_mm: Point
    decided_by: str
    speed_m_s: float
    head_kPa: float
    gas_kPa: float
    trailing: bool
    thin: tuple[ThinFill, ...]
    window: FillWindow | None = None

    @property
    def state(self) -> str:
        """How surely it fills, as the last word of a catalogue key: ``fills``, ``open`` or ``fails``."""
        share = self.fill_probability_frac
        if share is None:
            return "fills" if self.filled_frac >= FULL_FRAC else "fails"
        return "fills" if share >= SURE_FRAC else "open" if share >= OPEN_FRAC else "fails"


@dataclass(frozen=True)
class ThrowSummary:
    """A filled flask. Of the order and the heat of filling; not of splash, bubbles, slag and the last per cent.

    Parameters
    ----------
    key : str
        Hash of the tree it was reckoned for.
    head : str
        What drove the metal: ``spin``, ``vacuum`` or ``gravity``.
    turns_turns : float or None
        Turns wound [turn]; None where nothing turns.
    calibrated : bool
        Whether the machine was measured.
    flask_temperature_C, pour_temperature_C : Figure
        Of the mould as it leaves the kiln, and of the metal with the torch on it [degC].
    flask_out_s, release_delay_s : Figure
        From kiln to pour, and from torch off to release [s].
    side_mm : float
        Side of the cubes [mm].
    cells_count, samples_count : int
        Cubes of metal, and runs over the ranges.
    mass_error_frac : float
        Share of the metal that the books cannot account for.
    runs_from_s, runs_to_s : float or None
        When the first metal is in the flask and when the last place is full, from release [s].
    left_over_g : float
        Metal that finds no room in the mould [g].
    pieces : tuple of PieceFill
        In the order of the tree.
    pockets : tuple of PocketSummary
        Shut-in gas, the largest first.
    picture : str
        File name of the drawing, beside the plan.
    findings : tuple of Finding
        What to look at.
    """

    key: str
    head: str
    turns_turns: float | None
    calibrated: bool
    flask_temperature_C: Figure
    pour_temperature_C: Figure
    flask_out_s: Figure
    release_delay_s: Figure
    side_mm: float
    cells_count: int
    samples_count: int
    mass_error_frac: float
    runs_from_s: float | None
    runs_to_s: float | None
    left_over_g: float
    pieces: tuple[PieceFill, ...]
    pockets: tuple[PocketSummary, ...]
    picture: str = ""
    findings: tuple[Finding, ...] = field(default=())


@dataclass(frozen=True)
class Told:
    """What a summary is told and does not work out: hash of the tree, turns wound [turn], machine, file of the drawing.

    ``windows`` are flask temperatures by piece, where they were looked for.
    """

    key: str
    turns_turns: float | None
    calibrated: bool
    picture: str = ""
    windows: Mapping[str, FillWindow] = field(default_factory=dict)


def summarise_throw(
    run: ThrowRun, samples: ThrowSamples | None, places: Sequence[ThinPlace], told: Told
) -> ThrowSummary:
    """Return what a plan keeps.

    Parameters
    ----------
    run : ThrowRun
        The run at the best values.
    samples : ThrowSamples or None
        Runs over the ranges, the thin places looked at in the order given.
    places : sequence of ThinPlace
        Thin places of all pieces.
    told : Told
        The rest.
    """
    result, said = run.result, run.job.conditions
    origin = say("simulate.throw-origin", load=run.job.flask.id, side=show(run.job.hollow.voxels.side_mm, "mm", 2))
    pieces = tuple(_piece(run, samples, places, number, told, origin) for number in range(1, len(result.tanks)))
    times = result.arrival_s[np.isfinite(result.arrival_s)]
    density = run.job.conditions.charge_kg / result.book.start_m3
    summary = ThrowSummary(
        key=told.key,
        head=said.head.value,
        turns_turns=told.turns_turns,
        calibrated=told.calibrated,
        flask_temperature_C=_celsius(run, "flask_K", origin),
        pour_temperature_C=_celsius(run, "pour_K", origin),
        flask_out_s=_seconds(run, "open_s", origin),
        release_delay_s=_seconds(run, "release_s", origin),
        side_mm=run.job.hollow.voxels.side_mm,
        cells_count=run.job.hollow.cavity.count,
        samples_count=len(samples.cases) if samples else 0,
        mass_error_frac=result.book.error_frac,
        runs_from_s=float(times.min()) if len(times) else None,
        runs_to_s=float(times.max()) if len(times) else None,
        left_over_g=_G_KG * density * (result.book.crucible_m3 + result.book.flying_m3),
        pieces=pieces,
        pockets=_pockets(run),
        picture=told.picture,
    )
    return _with_findings(summary, run.job.flask.id)


def _celsius(run: ThrowRun, name: str, origin: str) -> Figure:
    value_K, span = getattr(run.case, name), getattr(run.job.conditions, name)
    low, high = min(span.low, value_K) - _ZERO_C_K, max(span.high, value_K) - _ZERO_C_K
    return Figure(value_K - _ZERO_C_K, low, high, "C", "simulate.how-condition", origin=origin)


def _seconds(run: ThrowRun, name: str, origin: str) -> Figure:
    value_s, span = getattr(run.case, name), getattr(run.job.conditions, name)
    return Figure(value_s, min(span.low, value_s), max(span.high, value_s), "s", "simulate.how-condition",
                  origin=origin)  # fmt: skip


def _piece(
    run: ThrowRun, samples: ThrowSamples | None, places: Sequence[ThinPlace], number: int, told: Told, origin: str
) -> PieceFill:
    tank: TankFill = run.result.tanks[number]
    inside = _own(run, number)
    got_metal = isfinite(tank.last_s)
    full = samples.tank_frac[:, number] >= FULL_FRAC if samples else np.zeros(0, dtype=bool)
    stops = tank.filled_frac < FULL_FRAC
    return PieceFill(
        piece=tank.name,
        filled_frac=tank.filled_frac,
        fill_probability_frac=float(full.mean()) if len(full) else None,
        filled_count=int(full.sum()),
        runs_count=len(full),
        first_arrival_s=tank.first_s if got_metal else None,
        last_arrival_s=_last(tank.last_s, samples, number, origin) if got_metal else None,
        coldest_C=tank.coldest_K - _ZERO_C_K if isfinite(tank.coldest_K) else None,
        mould_C=_mould_C(run, inside),
        misrun_ratio=_near_stopping(run, inside),
        stopped_by=_stopped_by(run, inside) if stops else "",
        last_place_mm=_last_place_mm(run, inside, stops),
        decided_by=_decided_by(samples, number),
        speed_m_s=tank.speed_m_s,
        head_kPa=tank.head_Pa / _PA_KPA,
        gas_kPa=tank.gas_Pa / _PA_KPA,
        trailing=tank.trailing,
        thin=tuple(_thin(samples, row, one) for row, one in enumerate(places) if one.piece == tank.name),
        window=told.windows.get(tank.name),
    )


def _own(run: ThrowRun, number: int) -> NDArray[np.int64]:
    """Return the voxels of a piece without its gate; of its whole tank where the cubes are too coarse to tell."""
    hollow = run.job.hollow
    tank = hollow.cavity.tank == number
    own = tank & hollow.voxels.of_part(hollow.cavity.names[number])
    return np.flatnonzero(own if own.any() else tank)


def _last(last_s: float, samples: ThrowSamples | None, number: int, origin: str) -> Figure:
    known = samples.last_s[:, number] if samples else np.zeros(0)
    known = known[np.isfinite(known)]
    low, high = np.quantile(known, _SOME_FRAC).tolist() if len(known) else (last_s, last_s)
    return Figure(last_s, min(low, last_s), max(high, last_s), "s", "simulate.how-last-arrival", sources=SOURCES,
                  origin=origin)  # fmt: skip


def _mould_C(run: ThrowRun, inside: NDArray[np.int64]) -> float:
    met_K = mould_at_K(run.job.hollow, run.open_flask)[inside]
    return float(np.average(met_K, weights=run.job.hollow.cavity.wall_m2[inside] + 1e-12)) - _ZERO_C_K


def _near_stopping(run: ThrowRun, inside: NDArray[np.int64]) -> float | None:
    """Return the misrun ratio that all but a fiftieth of a piece stays under."""
    ratio = np.nan_to_num(run.result.misrun_ratio[inside], nan=np.inf, posinf=np.inf)
    volume_m3 = run.job.hollow.cavity.volume_m3[inside]
    order = np.argsort(ratio)
    summed = np.cumsum(volume_m3[order])
    worst = float(ratio[order[np.searchsorted(summed, FULL_FRAC * summed[-1])]])
    return worst if isfinite(worst) else None


def _stopped_by(run: ThrowRun, inside: NDArray[np.int64]) -> str:
    """Return the fate that took most of what did not fill; what was only cut off counts where nothing else did."""
    fate, volume_m3 = run.result.fate[inside], run.job.hollow.cavity.volume_m3[inside]
    lost = np.bincount(fate, volume_m3, len(Fate))
    lost[Fate.FILLED] = 0.0
    own = lost.copy()
    own[Fate.CUT_OFF] = 0.0
    return Fate(int(np.argmax(own if own.any() else lost))).name


def _last_place_mm(run: ThrowRun, inside: NDArray[np.int64], stops: bool) -> Point:
    """Return the place that fills last, or of those that stop the metal the middle of all."""
    result, hollow = run.result, run.job.hollow
    if stops:
        empty = inside[result.fate[inside] != Fate.FILLED]
        weights = hollow.voxels.volume_mm3[empty]
        middle_mm = np.average(hollow.voxels.centre_mm[empty], axis=0, weights=weights)
        chosen = empty[np.argmin(((hollow.voxels.centre_mm[empty] - middle_mm) ** 2).sum(axis=1))]
    else:
        chosen = inside[np.argmax(np.nan_to_num(result.arrival_s[inside], nan=-1.0))]
    x, y, z = hollow.voxels.centre_mm[chosen].tolist()
    return (x, y, z)


def _decided_by(samples: ThrowSamples | None, number: int) -> str:
    """Return the input that goes best with how much of a piece fills, or if it always fills with when it is full."""
    if samples is None or not len(samples.cases):
        return ""
    drawn = {name: np.array([getattr(one, name) for one in samples.cases]) for name in ThrowCase.__dataclass_fields__}
    share, last_s = samples.tank_frac[:, number], samples.last_s[:, number]
    if np.all(share >= FULL_FRAC) and np.isfinite(last_s).all():
        return strongest(drawn, last_s)[0]
    return strongest(drawn, share)[0]


def _thin(samples: ThrowSamples | None, row: int, one: ThinPlace) -> ThinFill:
    share = float((samples.patch_frac[:, row] >= FULL_FRAC).mean()) if samples and len(samples.cases) else None
    return ThinFill(one.thickness_mm, one.volume_mm3, one.place_mm, share)


def _pockets(run: ThrowRun) -> tuple[PocketSummary, ...]:
    result, hollow = run.result, run.job.hollow
    found = []
    for one in result.pockets:
        volume_mm3 = _MM_M**3 * one.volume_m3
        if one.tank == 0 or volume_mm3 < _POCKET_MM3:
            continue
        along, across, up = (_MM_M * side for side in one.place_m)
        place_mm = (across, up, along - _MM_M * hollow.mouth_m)
        found.append(PocketSummary(hollow.cavity.names[one.tank], place_mm, volume_mm3, isfinite(one.filled_s)))
    return tuple(found[:_MOST_POCKETS])


def _with_findings(summary: ThrowSummary, load: str) -> ThrowSummary:
    found = [*_unsure(summary.pieces, load), *_no_window(summary.pieces, load)]
    shut = [one for one in summary.pockets if not one.filled]
    if shut:
        names = ", ".join(dict.fromkeys(one.piece for one in shut))
        found.append(Finding("simulate.throw-pockets", Level.LOOK, load, {"pieces": names}, SOURCES))
    return replace(summary, findings=tuple(found))


def _unsure(pieces: Sequence[PieceFill], load: str) -> list[Finding]:
    """Return one finding on all pieces that may or will stay unfilled; it speaks of the least sure."""
    unsure = sorted((one for one in pieces if one.state != "fills"), key=_sureness)
    if not unsure:
        return []
    worst = unsure[0]
    params = {
        "pieces": ", ".join(f"{one.piece} ({_counted(one)})" for one in unsure),
        "piece": worst.piece,
        "state": say(_NOT_SURE[worst.state]),
        "place": ", ".join(show(side, "mm", 0) for side in worst.last_place_mm),
        "why": say(FATE_WORDS[Fate[worst.stopped_by]]) if worst.stopped_by else say("simulate.throw-why-near"),
        "decides": say(THROW_WORDS[worst.decided_by]) if worst.decided_by else say("simulate.throw-nothing-decides"),
    }
    code = "simulate.throw-open" if worst.state == "open" else "simulate.throw-unfilled"
    return [Finding(code, Level.LOOK, load, params, SOURCES)]


def _sureness(one: PieceFill) -> float:
    return one.filled_frac if one.fill_probability_frac is None else one.fill_probability_frac


def _counted(one: PieceFill) -> str:
    if one.fill_probability_frac is None:
        return say("simulate.throw-share", share=f"{100 * one.filled_frac:.0f}")
    return say("simulate.throw-count", filled=one.filled_count, runs=one.runs_count)


def _no_window(pieces: Sequence[PieceFill], load: str) -> list[Finding]:
    """Return one finding for pieces that nothing fills, and one for those that are cut off where they fill."""
    found = []
    for code, cold in (("simulate.throw-window-none", False), ("simulate.throw-window-cold", True)):
        rows = [(one.piece, one.window) for one in pieces if one.window is not None and one.window.none]
        rows = [(piece, window) for piece, window in rows if (window.low_C is not None) is cold]
        if rows:
            window = rows[0][1]
            params = {
                "pieces": ", ".join(piece for piece, _ in rows),
                "low": show(window.low_tried_C, "C"),
                "high": show(window.high_tried_C, "C"),
                "wanted": f"{100 * window.wanted_frac:.0f}",
            }
            found.append(Finding(code, Level.LOOK, load, params, SOURCES))
    return found
