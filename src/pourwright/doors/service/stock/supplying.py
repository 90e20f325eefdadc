"""Supplies at the doors: what is there, what came in or went out, and what to order."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from pourwright.books import store
from pourwright.books.supplies import Supply, count_supply, enter_supply, move_supply, reorder_list, supplies
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, typed_thousandths

_THOUSAND = 1000

_HEAD = (
    "doors.supply-head-id",
    "doors.supply-head-title",
    "doors.supply-head-held",
    "doors.supply-head-per-pour",
    "doors.supply-head-order",
)


@dataclass(frozen=True)
class Marks:
    """What a pour takes, at what level to order, and up to what, as typed; numbers alone are pieces."""

    per_pour: str = ""
    reorder_at: str = ""
    reorder_to: str = ""


def name_supply(told: str, supply_id: str, title: str, unit: str, marks: Marks) -> BookAnswer:
    """Enter a supply, or give one that is known new marks."""
    found: list[Finding] = []
    texts = ((marks.per_pour, "--per-pour"), (marks.reorder_at, "--reorder-at"), (marks.reorder_to, "--reorder-to"))
    per_pour, reorder_at, reorder_to = (
        typed_thousandths(text, unit, where, found) if text else 0 for text, where in texts
    )
    if found:
        return BookAnswer({}, "", tuple(found))
    one = Supply(supply_id, title or supply_id, unit, 0, per_pour, reorder_at, reorder_to)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            enter_supply(connection, one)
        return BookAnswer({"supply": supply_id}, say("doors.supply-entered", supply=supply_id))

    return with_books(told, work, must_exist=False)


def move(told: str, supply_id: str, amount: str, out: bool, why: str, made_by: str) -> BookAnswer:
    """Book a supply in, or out."""
    return _changed(told, supply_id, amount, why, made_by, "used" if out else "bought")


def count(told: str, supply_id: str, amount: str, why: str, made_by: str) -> BookAnswer:
    """Set the book to what was counted."""
    return _changed(told, supply_id, amount, why, made_by, "counted")


def _changed(told: str, supply_id: str, amount: str, why: str, made_by: str, kind: str) -> BookAnswer:
    found: list[Finding] = []

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            unit = next((one.unit for one in supplies(connection) if one.id == supply_id), "count")
            change = typed_thousandths(amount, unit, "AMOUNT", found)
            if found:
                return BookAnswer({}, "", tuple(found))
            if kind == "counted":
                count_supply(connection, supply_id, change, made_by, why)
            else:
                move_supply(connection, supply_id, kind, -change if kind == "used" else change, made_by, why)
            (now,) = (one for one in supplies(connection) if one.id == supply_id)
        return BookAnswer(_json(now), say("doors.supply-now", title=now.title, held=_shown(now.held, now.unit)))

    return with_books(told, work)


def list_supplies(told: str, only_short: bool = False) -> BookAnswer:
    """Return all supplies with what to order; or only those to be ordered."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = supplies(connection)
        shown = reorder_list(found) if only_short else found
        below = [one for one in shown if one.held < 0]
        findings = tuple(Finding("doors.supply-below", Level.LOOK, one.id, {"title": one.title}) for one in below)
        text = _table(shown) if shown else say("doors.supplies-enough" if only_short else "doors.supplies-none")
        return BookAnswer({"supplies": [_json(one) for one in shown]}, text, findings)

    return with_books(told, work)


def _shown(thousandths: int, unit: str) -> str:
    number = f"{Decimal(thousandths) / _THOUSAND:,.3f}".rstrip("0").rstrip(".").replace(",", "\u2009")
    return number if unit == "count" else f"{number}\u00a0{unit}"


def _table(found: tuple[Supply, ...]) -> str:
    rows = [tuple(say(key) for key in _HEAD)]
    rows += [
        (
            one.id,
            one.title,
            _shown(one.held, one.unit),
            _shown(one.per_pour, one.unit),
            _shown(one.to_order, one.unit) if one.to_order else "",
        )
        for one in found
    ]
    return columns(rows, right=(2, 3, 4))


def _json(one: Supply) -> dict[str, Any]:
    return {
        "supply": one.id,
        "title": one.title,
        "unit": one.unit,
        "held": one.held / _THOUSAND,
        "per_pour": one.per_pour / _THOUSAND,
        "reorder_at": one.reorder_at / _THOUSAND,
        "reorder_to": one.reorder_to / _THOUSAND,
        "to_order": one.to_order / _THOUSAND,
    }
