"""What is meant when a key is left out: a rule of the practice table, shown as such."""

from __future__ import annotations

from dataclasses import replace

from pourwright.core.figure import Figure, given, reckon
from pourwright.core.text import say
from pourwright.core.units import read
from pourwright.matter.practice import Rule, rule
from pourwright.studio.fields import Field, Take


def default_figure(one: Field) -> Figure:
    """Return the figure that a practice rule gives for a field; its origin names the rule."""
    rule_found = rule(one.rule)
    origin = say("studio.practice-origin", rule=one.rule)
    if one.take is Take.REST:
        return _rest(one, rule_found, origin)
    if one.take is Take.MIDDLE:
        low, high = _in_unit(one, rule_found, "low"), _in_unit(one, rule_found, "high")
        return _figure(one, rule_found, origin, (low + high) / 2, low, high)
    if one.take is Take.LOW_TO_HIGH:
        low, high = _in_unit(one, rule_found, "low"), _in_unit(one, rule_found, "high")
        return _figure(one, rule_found, origin, high, low, high)
    value = _in_unit(one, rule_found, one.take.value)
    return _figure(one, rule_found, origin, value, value, value)


def _figure(one: Field, source: Rule, origin: str, *numbers_ratio: float) -> Figure:
    best, low, high = numbers_ratio
    return given(best, one.unit, origin, low, high, source.sources, how="studio.practice")


def _rest(one: Field, source: Rule, origin: str) -> Figure:
    """Return one less the rule's share: at least half new metal is at most half scrap."""
    low = _in_unit(one, source, "low")
    share = given(low, one.unit, origin, sources=source.sources, how="studio.practice")
    rest = reckon(one.unit, "studio.practice-rest", lambda share: 1 - share, {"share": share}, source.sources)
    return replace(rest, origin=origin)


def _in_unit(one: Field, source: Rule, end: str) -> float:
    """Return a number of the rule in the field's unit."""
    number = getattr(source, end)
    return read(f"{number!r} {source.unit.split()[0]}", one.pint_unit, source.id)
