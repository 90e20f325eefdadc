"""What a person types for the books, read; and rows shown in columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal, InvalidOperation

from pourwright.books.masses import g_from_mg, mg_from_g
from pourwright.core.errors import DataError, UnitError
from pourwright.core.findings import Finding, Level
from pourwright.core.units import UnclearUnitError, read
from pourwright.matter.alloys import alloy as find_alloy

_THOUSAND = 1000
# More of a supply than any studio has, in its unit: a thousand tonnes.
_MOST = 10**9


def typed(text: str, unit: str, where: str) -> tuple[float, tuple[Finding, ...]]:
    """Return a number in a unit as typed, and what is wrong with it."""
    try:
        return read(text, unit, where), ()
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        return 0.0, (Finding("doors.charge-amount", level, where, {"reason": str(problem)}),)


def typed_mg(text: str, where: str, found: list[Finding]) -> int:
    """Return a mass as typed in whole milligrams; what is wrong goes to ``found``."""
    mass_g, wrong = typed(text, "g", where)
    found += wrong
    return mg_from_g(round(mass_g, 3))


def typed_parts(
    texts: Sequence[str], names_count: int, where: str, found: list[Finding]
) -> list[tuple[tuple[str, ...], int]]:
    """Return names and the mass of texts such as ``LOT:MASS``; what is wrong goes to ``found``."""
    read_ones = []
    for text in texts:
        *names, mass = text.split(":")
        if len(names) != names_count or not all(names):
            found.append(Finding("doors.pour-form", Level.STOP, where, {"text": text}))
            continue
        read_ones.append((tuple(names), typed_mg(mass, where, found)))
    return read_ones


def noble_of(alloy_id: str, found: list[Finding]) -> str:
    """Return the element that an alloy's fineness counts; an unknown alloy goes to ``found``."""
    try:
        return find_alloy(alloy_id).element
    except DataError as unknown:
        found.append(Finding("doors.charge-alloy", Level.STOP, "--alloy", {"reason": str(unknown)}))
        return ""


def day_of(pour_id: str, found: list[Finding]) -> date | None:
    """Return the day that a pour's id begins with; one that does not goes to ``found``."""
    try:
        return date.fromisoformat(pour_id[:10])
    except ValueError:
        found.append(Finding("doors.pour-day", Level.STOP, "--pour", {"text": pour_id}))
        return None


def grams(mass_mg: int) -> float:
    """Return milligrams as grams [g]."""
    return float(g_from_mg(mass_mg))


def columns(rows: Sequence[tuple[str, ...]], right: tuple[int, ...] = ()) -> str:
    """Return rows as columns of text; the places named stand to the right."""
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            one.rjust(width) if place in right else one.ljust(width)
            for place, (one, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  " + "   ".join(cells).rstrip())
    return "\n".join(lines)


def typed_thousandths(text: str, unit: str, where: str, found: list[Finding]) -> int:
    """Return an amount of a supply in whole thousandths of its unit; a number alone is a count of pieces."""
    if unit == "count":
        try:
            number = Decimal(text)
            if number.is_finite() and 0 <= number <= _MOST:
                return int(number * _THOUSAND)
        except InvalidOperation:
            pass
        found.append(Finding("doors.supply-count", Level.STOP, where, {"text": text}))
        return 0
    value, wrong = typed(text, unit, where)
    if not wrong and not 0 <= value <= _MOST:
        wrong = (Finding("doors.supply-count", Level.STOP, where, {"text": text}),)
    found += wrong
    return 0 if wrong else round(value * _THOUSAND)


def typed_supplies(texts: Sequence[str], units: Mapping[str, str], found: list[Finding]) -> dict[str, int]:
    """Return amounts of supplies, ``NAME:AMOUNT`` each, in whole thousandths of the unit that each is counted in."""
    amounts = {}
    for text in texts:
        name, _, amount = text.partition(":")
        if not name or not amount:
            found.append(Finding("doors.pour-form", Level.STOP, "--supply", {"text": text}))
            continue
        amounts[name] = typed_thousandths(amount, units.get(name, "g"), "--supply", found)
    return amounts
