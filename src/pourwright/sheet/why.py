"""Where a flask's numbers come from: each with its range, how it is made, from what, and on which sources."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pourwright.core.figure import Figure
from pourwright.core.sources import register
from pourwright.core.text import say
from pourwright.core.units import show, show_in, suffix_of
from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.sheet import show as paper
from pourwright.sheet.kiln import load_of
from pourwright.studio.profile import PrintUnits


def reasons(plan: DayPlan, one: PlannedFlask) -> list[dict[str, object]]:
    """Return the numbers that a person acts on at one flask, each with its reason, in the order of the work."""
    return [_reason(name, figure, plan.studio.units) for name, figure in _acted_on(plan, one).items()]


def _acted_on(plan: DayPlan, one: PlannedFlask) -> Mapping[str, Figure]:
    mould = next((mix for mix in plan.mix.flasks if load_of(plan, mix.flask) is one), None)
    figures = {
        "powder": mould.powder_g if mould else None,
        "water": mould.water_g if mould else None,
        "charge": one.need.charge_g,
        "floor": one.need.floor_g,
        "ceiling": one.need.ceiling_g,
        "worst": one.alloyed.aim_low_permille if one.alloyed else None,
        "flask-at": one.flask_temperature_C,
        "mark": one.throw.balance.mark_mm,
        "turns": one.throw.wind_turns,
        "quench-from": one.quench.earliest_min,
        "quench-until": one.quench.latest_min,
    }
    return {say(f"sheet.why.{key}"): figure for key, figure in figures.items() if figure is not None}


def _reason(name: str, figure: Figure, units: PrintUnits) -> dict[str, object]:
    return {
        "name": name,
        "value": _value(figure, units),
        "range": _range(figure, units),
        "how": _capital(say(figure.how)),
        "from": [
            say("sheet.why.from", name=_plain(key), value=_value(part, units)) for key, part in figure.inputs.items()
        ],
        "mover": _plain(figure.mover) if figure.mover else "",
        "read": sorted({part.origin for part in _trail(figure) if part.origin}),
        "sources": _titles(figure),
    }


def _value(figure: Figure, units: PrintUnits) -> str:
    return _shown(figure.value, figure.unit, units)


def _shown(value_ratio: float, unit: str, units: PrintUnits) -> str:
    """Return a number of any unit in the studio's; a share as a percentage."""
    if unit == "frac":
        return show(100.0 * value_ratio, "percent", 1)
    return show_in(value_ratio, unit, paper.paper_unit(unit, units))


def _range(figure: Figure, units: PrintUnits) -> str:
    """Return how far the inputs' ranges move a figure, or an empty text where none does."""
    if figure.low == figure.high:
        return ""
    low, high = (_shown(value, figure.unit, units) for value in (figure.low, figure.high))
    return say("sheet.span-wide", low=low, high=high)


def _trail(figure: Figure) -> Iterator[Figure]:
    """Yield a figure and all that it is made from."""
    yield figure
    for part in figure.inputs.values():
        yield from _trail(part)


def _titles(figure: Figure) -> list[str]:
    known = register()
    keys = dict.fromkeys(key for part in _trail(figure) for key in part.sources)
    return [known[key].title for key in keys if key in known]


def _plain(name: str) -> str:
    """Return the name of an input as words: ``melt loss`` for ``melt_loss_frac``."""
    suffix = suffix_of(name)
    bare = name.removesuffix(suffix).rstrip("_") if suffix else name
    return (bare or name).replace("_", " ")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
