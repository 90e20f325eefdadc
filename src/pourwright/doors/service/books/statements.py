"""Statements of owners at the doors."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any

from pourwright.books import store
from pourwright.books.statements import Statement, statement_of
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams


def statement(told: str, owner: str, first: date, last: date) -> BookAnswer:
    """Return an owner's statement over days, both counted, in UTC."""

    def work(books: store.Books) -> BookAnswer:
        since = datetime(first.year, first.month, first.day, tzinfo=UTC)
        until = datetime(last.year, last.month, last.day, tzinfo=UTC) + timedelta(days=1)
        with books.reading() as connection:
            found = statement_of(connection, owner, since, until)
        return BookAnswer(_statement_json(found), _statement_text(found))

    return with_books(told, work)


def _statement_json(found: Statement) -> dict[str, Any]:
    def held(masses: Mapping[str, int]) -> dict[str, float]:
        return {name: grams(mass) for name, mass in sorted(masses.items())}

    return {
        "owner": found.owner,
        "since": found.since.isoformat(),
        "until": found.until.isoformat(),
        "before_g": held(found.before_mg),
        "lines": [
            {
                "made_at": one.made_at.isoformat(),
                "kind": one.kind,
                "account": one.account,
                "element": one.element,
                "mass_g": grams(one.mass_mg),
                "reason": one.reason,
                "mark": one.mark,
                "pour": one.pour,
            }
            for one in found.lines
        ],
        "after_g": held(found.after_mg),
    }


def _statement_text(found: Statement) -> str:
    def held(masses: Mapping[str, int]) -> str:
        return ", ".join(f"{show(grams(mass), 'g', 3)} {name}" for name, mass in sorted(masses.items())) or "\u2013"

    rows = [
        (f"{one.made_at:%Y-%m-%d}", one.kind, one.account, one.element, show(grams(one.mass_mg), "g", 3), one.reason)
        for one in found.lines
    ]
    lines = [
        say("doors.statement-title", owner=found.owner),
        "",
        say("doors.statement-before", held=held(found.before_mg)),
    ]
    lines += [columns(rows, right=(4,))] if rows else []
    return "\n".join([*lines, say("doors.statement-after", held=held(found.after_mg))])
