"""One burnout programme for all flasks of a kiln: the hardest demand of each stage, and who makes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.core.errors import DataError
from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show_in
from pourwright.matter.practice import HoldScaling, Programme, hold_scaling, programme, rule
from pourwright.prepare.mould.loads import KilnLoad, PatternBurn
from pourwright.prepare.mould.wall_clock import hours_text
from pourwright.prepare.rule_figures import rule_figure
from pourwright.studio.profile import PrintUnits

STONES_PROGRAMME = "prog.stone"
RAPID_PROGRAMME = "prog.wax.fast"
# Stages of a burnout: drying, wax vapour, charring, top. The first takes the lowest temperature asked (steam cracks
# moulds), the others the highest.
_DRYING, _VAPOUR, _CHARRING, _TOP = range(4)
_SHORTEST_EXTRA_min = 0.5


@dataclass(frozen=True)
class Demand:
    """A programme asked for by a pattern of a flask; ``ceiling_C`` is the hottest the flask may get, or None."""

    flask: str
    pattern: str
    family: str
    diameter_mm: Figure
    programme: Programme
    ceiling_C: Figure | None = None

    @property
    def top_C(self) -> float:
        """Highest hold of the programme [degC]."""
        return max(step.hold_C for step in self.programme.steps)


@dataclass(frozen=True)
class Hold:
    """A hold of the merged programme: how hot, how long, and the sentence that says who asks for it."""

    temperature_C: Figure
    length_min: Figure
    because: str


@dataclass(frozen=True)
class _Asked:
    demand: Demand
    stage: int
    temperature_C: Figure
    length_min: Figure


def demands_of(loads: Sequence[KilnLoad]) -> tuple[tuple[Demand, ...], tuple[Finding, ...]]:
    """Return which programme each pattern of each flask asks for, and what is wrong with the question.

    A flask with stones in place asks for the programme for stones instead of the wax programme; its ceiling is the
    stones'. A pattern without a known programme gives a finding: burnout is planned only for approved materials.
    """
    demands, findings = [], []
    for load in loads:
        for pattern in load.patterns:
            asked = _programme_for(load, pattern)
            if asked is None:
                findings.append(_unknown(load, pattern))
                continue
            ceiling = rule_figure("burn.stoneplace", "value", "C") if load.stones else None
            demands.append(Demand(load.flask, pattern.title, pattern.family, load.diameter_mm, asked, ceiling))
    return tuple(demands), (*findings, *_remarks(demands))


def _programme_for(load: KilnLoad, pattern: PatternBurn) -> Programme | None:
    if load.stones and pattern.family == "wax":
        return programme(STONES_PROGRAMME)
    try:
        return programme(pattern.programme) if pattern.programme else None
    except DataError:
        return None


def _unknown(load: KilnLoad, pattern: PatternBurn) -> Finding:
    params = {"flask": load.flask, "pattern": pattern.title}
    return Finding("prepare.programme-unknown", Level.ASK, load.flask, params)


def _remarks(demands: Sequence[Demand]) -> list[Finding]:
    """Return what must be said of single programmes, whatever they are merged with."""
    found = []
    for one in demands:
        params = {"flask": one.flask, "pattern": one.pattern}
        if one.programme.id == RAPID_PROGRAMME:
            found.append(Finding("prepare.rapid-burnout", Level.STOP, one.flask, params, one.programme.sources))
        if one.programme.id == STONES_PROGRAMME:
            found.append(Finding("prepare.stones-steam-first", Level.LOOK, one.flask, params, one.programme.sources))
    return found


def merge_refusals(demands: Sequence[Demand], units: PrintUnits) -> list[Finding]:
    """Return why the demands cannot share a kiln: a flask that must stay cooler than another one's patterns need."""
    limited = [one for one in demands if one.ceiling_C is not None]
    found = [_stones_in_hot_pattern(one, units) for one in limited if _too_hot_for(one, one)]
    cool = tuple(dict.fromkeys(one.flask for one in limited if not _too_hot_for(one, one)))
    hot = [one for one in demands if any(_too_hot_for(one, other) for other in limited) and one.flask not in cool]
    if cool and hot:
        found.append(_no_merge(cool, hot, limited[0], units))
    return found


def _too_hot_for(one: Demand, other: Demand) -> bool:
    return other.ceiling_C is not None and one.top_C > other.ceiling_C.value


def _stones_in_hot_pattern(one: Demand, units: PrintUnits) -> Finding:
    params = {
        "flask": one.flask,
        "pattern": one.pattern,
        "top": _shown_C(one.top_C, units),
        "ceiling": _shown_C(one.ceiling_C.value if one.ceiling_C else one.top_C, units),
    }
    return Finding("prepare.stones-in-hot-pattern", Level.STOP, one.flask, params, rule("burn.stoneplace").sources)


def _no_merge(cool: Sequence[str], hot: Sequence[Demand], limited: Demand, units: PrintUnits) -> Finding:
    asked = {f"{one.flask} ({one.pattern}, {_shown_C(one.top_C, units)})": None for one in hot}
    params = {
        "cool": ", ".join(cool),
        "hot": ", ".join(asked),
        "ceiling": _shown_C(limited.ceiling_C.value if limited.ceiling_C else limited.top_C, units),
    }
    return Finding("prepare.no-common-burnout", Level.STOP, ", ".join(cool), params, rule("burn.stoneplace").sources)


def _shown_C(temperature_C: float, units: PrintUnits) -> str:
    return show_in(temperature_C, "C", units.temperature)


def merge(demands: Sequence[Demand]) -> tuple[Hold, ...]:
    """Return the holds up to the top that satisfy every demand.

    Parameters
    ----------
    demands : sequence of Demand
        At least one; :func:`merge_refusals` has found nothing.

    Returns
    -------
    tuple of Hold
        From cool to hot. Each stage takes the longest hold asked; drying takes the lowest temperature asked, every
        other stage the highest. What a programme does after its top is left to the soak at casting temperature.
    """
    scaling = hold_scaling()
    asked = [one for demand in demands for one in _asked(demand, scaling)]
    stages = sorted({one.stage for one in asked})
    return tuple(_hold([one for one in asked if one.stage == stage]) for stage in stages)


def _asked(demand: Demand, scaling: HoldScaling) -> list[_Asked]:
    steps = demand.programme.steps
    top = max(range(len(steps)), key=lambda number: steps[number].hold_C)
    return [
        _Asked(
            demand,
            _TOP if number == top else _stage(steps[number].hold_C),
            given(steps[number].hold_C, "C", f"practice.toml {demand.programme.id}", sources=demand.programme.sources),
            _length(demand, steps[number].hold_h, scaling, grows=number != top),
        )
        for number in range(top + 1)
    ]


def _stage(hold_C: float) -> int:
    """Sort a hold [degC] below the top: crystal water has left by the inversion, resin chars from the next limit."""
    if hold_C <= rule_figure("burn.cristobalite", "low", "C").value:
        return _DRYING
    return _VAPOUR if hold_C < rule_figure("burn.resin.window", "low", "C").value else _CHARRING


def _length(demand: Demand, hold_h: float, scaling: HoldScaling, *, grows: bool) -> Figure:
    chart = given(hold_h, "h", f"practice.toml {demand.programme.id}", sources=demand.programme.sources)
    if not grows:
        return reckon("min", "prepare.how-hold-top", lambda chart_h: 60 * chart_h, {"chart_h": chart})
    reference = given(scaling.reference_diameter_mm, "mm", "practice.toml scaling", sources=scaling.sources)
    return reckon(
        "min",
        "prepare.how-hold",
        lambda chart_h, diameter_mm, reference_mm: (
            60 * chart_h * max(scaling.floor_ratio, (diameter_mm / reference_mm) ** scaling.exponent_ratio)
        ),
        {"chart_h": chart, "diameter_mm": demand.diameter_mm, "reference_mm": reference},
        scaling.sources,
    )


def _hold(asked: Sequence[_Asked]) -> Hold:
    longest = max(asked, key=lambda one: one.length_min.value)
    if longest.stage == _DRYING:
        ruling = min(asked, key=lambda one: one.temperature_C.value)
    else:
        ruling = max(asked, key=lambda one: one.temperature_C.value)
    if longest.temperature_C.value == ruling.temperature_C.value:
        ruling = longest
    return Hold(ruling.temperature_C, longest.length_min, _because(asked, longest, ruling))


def _because(asked: Sequence[_Asked], longest: _Asked, ruling: _Asked) -> str:
    others = [one.length_min.value for one in asked if one.demand.flask != longest.demand.flask]
    extra_min = longest.length_min.value - max(others, default=longest.length_min.value)
    sentences = [_length_reason(longest.demand, extra_min, alone=not others)]
    if ruling is not longest:
        key = "prepare.because-coolest" if longest.stage == _DRYING else "prepare.because-hottest"
        sentences.append(say(key, flask=ruling.demand.flask, pattern=ruling.demand.pattern))
    return " ".join(sentences)


def _length_reason(demand: Demand, extra_min: float, *, alone: bool) -> str:
    who = {"flask": demand.flask, "pattern": demand.pattern}
    if alone:
        return say("prepare.because-only", **who)
    if extra_min < _SHORTEST_EXTRA_min:
        return say("prepare.because-same", **who)
    return say("prepare.because-longest", **who, extra=hours_text(extra_min))
