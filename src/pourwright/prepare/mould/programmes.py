"""One burnout programme for all flasks of a kiln: the hardest demand of each stage, and who makes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pourwright.core.errors import DataError
from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show_in
from pourwright.matter.practice import HoldScaling, Programme, ProgrammeStep, hold_scaling, programme, rule
from pourwright.prepare.mould.loads import KilnLoad, PatternBurn
from pourwright.prepare.mould.wall_clock import hours_text
from pourwright.prepare.rule_figures import rule_figure, total_of
from pourwright.studio.profile import MaterialStep, PrintUnits

STONES_PROGRAMME = "prog.stone"
RAPID_PROGRAMME = "prog.wax.fast"
# Stages of a burnout: drying, wax vapour, charring, top. The first takes the lowest temperature asked (steam cracks
# moulds), the others the highest.
_DRYING, _VAPOUR, _CHARRING, _TOP = range(4)
_SHORTEST_EXTRA_min = 0.5


@dataclass(frozen=True)
class Demand:
    """A programme asked for by a pattern of a flask; ``ceiling_C`` is the hottest the flask may get, or None.

    ``own`` holds the steps of the material's own data sheet, where the programme is made of those.
    """

    flask: str
    pattern: str
    family: str
    diameter_mm: Figure
    programme: Programme
    ceiling_C: Figure | None = None
    own: tuple[MaterialStep, ...] = ()
    own_diameter_mm: Figure | None = None

    @property
    def top_C(self) -> float:
        """Highest hold of the programme [degC]."""
        return max(step.hold_C for step in self.programme.steps)


@dataclass(frozen=True)
class Hold:
    """A hold of the merged programme: how hot, how long, and the sentence that says who asks for it.

    ``ramp_C_h`` is the fastest climb to it that a material's own programme allows, with its own sentence.
    """

    temperature_C: Figure
    length_min: Figure
    because: str
    ramp_C_h: Figure | None = None
    ramp_because: str = ""


@dataclass(frozen=True)
class _Asked:
    demand: Demand
    stage: int
    temperature_C: Figure
    length_min: Figure
    ramp_C_h: Figure | None = None


def demands_of(
    loads: Sequence[KilnLoad], *, rapid_allowed: bool = False
) -> tuple[tuple[Demand, ...], tuple[Finding, ...]]:
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
            own = pattern.steps if asked.id == _own_id(pattern) else ()
            demands.append(
                Demand(
                    load.flask,
                    pattern.title,
                    pattern.family,
                    load.diameter_mm,
                    asked,
                    ceiling,
                    own,
                    pattern.steps_diameter_mm,
                )
            )
    return tuple(demands), (*findings, *_remarks(demands, rapid_allowed))


def _programme_for(load: KilnLoad, pattern: PatternBurn) -> Programme | None:
    if load.stones and pattern.family == "wax":
        return programme(STONES_PROGRAMME)
    if pattern.steps:
        steps = tuple(ProgrammeStep(one.temperature_C.value, one.hold_min.value / 60) for one in pattern.steps)
        return Programme(_own_id(pattern), pattern.title, steps, "", ("studio",))
    try:
        return programme(pattern.programme) if pattern.programme else None
    except DataError:
        return None


def _own_id(pattern: PatternBurn) -> str:
    return f"own {pattern.title}"


def _unknown(load: KilnLoad, pattern: PatternBurn) -> Finding:
    params = {"flask": load.flask, "pattern": pattern.title}
    return Finding("prepare.programme-unknown", Level.ASK, load.flask, params)


def _remarks(demands: Sequence[Demand], rapid_allowed: bool) -> list[Finding]:
    """Return what must be said of single programmes, whatever they are merged with."""
    found = []
    for one in demands:
        params = {"flask": one.flask, "pattern": one.pattern}
        if not rapid_allowed and _is_rapid(one):
            found.append(Finding("prepare.rapid-burnout", Level.STOP, one.flask, params, one.programme.sources))
        if one.programme.id == STONES_PROGRAMME:
            found.append(Finding("prepare.stones-steam-first", Level.LOOK, one.flask, params, one.programme.sources))
    return found


def _is_rapid(one: Demand) -> bool:
    """Whether a flask would go through without a hold that dries it."""
    first_C = one.programme.steps[0].hold_C
    return one.programme.id == RAPID_PROGRAMME or (bool(one.own) and _stage(first_C) != _DRYING)


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
    asked = [one for demand in demands for one in _asked(demand, scaling, as_written=_same_sheet(demands))]
    stages = sorted({one.stage for one in asked})
    return tuple(_gentlest(asked, stage, _hold([one for one in asked if one.stage == stage])) for stage in stages)


def _same_sheet(demands: Sequence[Demand]) -> bool:
    """Whether all patterns follow one data sheet, which is then kept step by step."""
    return len({one.programme.id for one in demands}) == 1


def _gentlest(asked: Sequence[_Asked], stage: int, hold: Hold) -> Hold:
    """Add to a hold the gentlest ramp that any own programme asks for on the way up to it."""
    coming: dict[str, _Asked] = {}
    for one in sorted(asked, key=lambda one: one.stage):
        if one.stage >= stage:
            coming.setdefault(f"{one.demand.flask} {one.demand.pattern}", one)
    ruled = [(one.ramp_C_h, one.demand) for one in coming.values() if one.ramp_C_h is not None]
    if not ruled:
        return hold
    ramp_C_h, demand = min(ruled, key=lambda one: one[0].value)
    because = say("prepare.because-ramp-own", flask=demand.flask, pattern=demand.pattern)
    return replace(hold, ramp_C_h=ramp_C_h, ramp_because=because)


def _asked(demand: Demand, scaling: HoldScaling, *, as_written: bool) -> list[_Asked]:
    if demand.own:
        return _asked_by_sheet(demand, scaling, as_written)
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


def _asked_by_sheet(demand: Demand, scaling: HoldScaling, as_written: bool) -> list[_Asked]:
    """Take the holds of a data sheet as written, or stage by stage where the kiln is shared with other programmes."""
    top = max(range(len(demand.own)), key=lambda number: demand.own[number].temperature_C.value)
    stages: dict[int, list[MaterialStep]] = {}
    for number, one in enumerate(demand.own[: top + 1]):
        stage = _TOP if number == top else _stage(one.temperature_C.value)
        stages.setdefault(number if as_written else stage, []).append(one)
    return [_one_stage(demand, stage, steps, scaling, last=stage == max(stages)) for stage, steps in stages.items()]


def _one_stage(demand: Demand, stage: int, steps: Sequence[MaterialStep], scaling: HoldScaling, last: bool) -> _Asked:
    """Join the steps of one stage: all their holds together, at the temperature that rules, by the gentlest ramp."""
    pick = min if stage == _DRYING else max
    ruling = pick(steps, key=lambda one: one.temperature_C.value)
    holds = {str(number): one.hold_min for number, one in enumerate(steps, 1)}
    length = steps[0].hold_min if len(steps) == 1 else total_of("min", "prepare.how-hold-stage", holds)
    ramps = [one.ramp_C_h for one in steps if one.ramp_C_h is not None]
    ramp = min(ramps, key=lambda one: one.value) if ramps else None
    return _Asked(demand, stage, ruling.temperature_C, length if last else _lengthened(demand, length, scaling), ramp)


def _lengthened(demand: Demand, hold_min: Figure, scaling: HoldScaling) -> Figure:
    if demand.own_diameter_mm is None:
        return hold_min
    return reckon(
        "min",
        "prepare.how-hold-own",
        lambda sheet_min, diameter_mm, reference_mm: (
            sheet_min * max(1.0, (diameter_mm / reference_mm) ** scaling.exponent_ratio)
        ),
        {"sheet_min": hold_min, "diameter_mm": demand.diameter_mm, "reference_mm": demand.own_diameter_mm},
        scaling.sources,
    )


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
