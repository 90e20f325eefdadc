"""Practice rules and table ranges as figures, so that the trail of a planned number ends at its source."""

from __future__ import annotations

from typing import Literal

from pourwright.core.errors import DataError
from pourwright.core.figure import Figure, given, reckon
from pourwright.matter.practice import Rule, rule

End = Literal["value", "low", "high"]
_MOST_AT_ONCE = 10


def rule_figure(rule_id: str, end: End, unit: str, factor_ratio: float = 1.0) -> Figure:
    """Return one number of a practice rule.

    Parameters
    ----------
    rule_id : str
        Id in the table of practice rules.
    end : str
        Which number: ``value``, ``low`` or ``high``.
    unit : str
        Unit of the figure, a suffix of :data:`pourwright.core.units.SUFFIXES`.
    factor_ratio : float
        From the rule's own unit to ``unit``.

    Raises
    ------
    DataError
        The rule has no such number.
    """
    found = rule(rule_id)
    return given(factor_ratio * _number(found, end), unit, _origin(rule_id), sources=found.sources, how="core.table")


def rule_range(rule_id: str, unit: str, at: End = "low", factor_ratio: float = 1.0) -> Figure:
    """Return a practice rule from low to high as a figure that stands ``at`` one of its ends (in ``unit``)."""
    found = rule(rule_id)
    low, high, value = (factor_ratio * _number(found, end) for end in ("low", "high", at))
    return given(value, unit, _origin(rule_id), low, high, found.sources, how="core.table")


def _number(found: Rule, end: str) -> float:
    number: float | None = getattr(found, end)
    if number is None:
        raise DataError(f"practice rule '{found.id}' has no {end}")
    return number


def _origin(rule_id: str) -> str:
    return f"practice.toml {rule_id}"


def total_of(unit: str, how: str, parts: dict[str, Figure]) -> Figure:
    """Return the sum of any number of figures of one unit (in ``unit``), ten at a time so that ranges stay cheap."""
    while len(parts) > _MOST_AT_ONCE:
        names = list(parts)
        groups = [names[first : first + _MOST_AT_ONCE] for first in range(0, len(names), _MOST_AT_ONCE)]
        parts = {f"{group[0]} to {group[-1]}": _sum(unit, how, {one: parts[one] for one in group}) for group in groups}
    return _sum(unit, how, parts)


def _sum(unit: str, how: str, parts: dict[str, Figure]) -> Figure:
    return reckon(unit, how, lambda **numbers: sum(numbers.values()), parts)
