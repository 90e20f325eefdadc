"""Sweeps and refiners' settlements at the doors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from pourwright.books import store
from pourwright.books.records.files import keep
from pourwright.books.sweeps import Return, Settled, Sweep, send_sweep, settle, sweeps
from pourwright.core.findings import Finding
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams, typed_mg, typed_parts
from pourwright.doors.service.stock.intake import amount_as_typed
from pourwright.doors.service.stock.papers import content_of, folder_of

_HEAD = ("doors.sweep-head-owner", "doors.sweep-head-cast", "doors.sweep-head-metal", "doors.sweep-head-money")


@dataclass(frozen=True)
class Statement:
    """A refiner's statement as typed: ``ELEMENT:MASS`` each, paid and charged, in kind or not, and its file."""

    recovered: Sequence[str] = ()
    paid: str = "0"
    charged: str = "0"
    in_kind: bool = False
    paper: Path | None = None


def send_away(told: str, refiner: str, mass: str, since: date, until: date, note: str, made_by: str) -> BookAnswer:
    """Note that sweepings went to a refiner."""
    found: list[Finding] = []
    gross_mg = typed_mg(mass, "--mass", found)
    if found:
        return BookAnswer({}, "", tuple(found))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            number = send_sweep(connection, refiner, gross_mg, since, until, made_by, note)
        document = {"sweep": number, "refiner": refiner, "gross_g": grams(gross_mg)}
        return BookAnswer(document, say("doors.sweep-sent", sweep=number, refiner=refiner))

    return with_books(told, work)


def enter_settlement(told: str, sweep_id: str, came: Statement, made_by: str) -> BookAnswer:
    """Enter a refiner's settlement and credit it to the owners.

    Parameters
    ----------
    told : str
        Books.
    sweep_id : str
        Number of the sweep.
    came : Statement
        As typed.
    made_by : str
        Who enters it.
    """
    found: list[Finding] = []
    recovered = {name: mass for (name,), mass in typed_parts(came.recovered, 1, "--recovered", found)}
    paid, wrong = amount_as_typed(came.paid, "--paid")
    charged, more = amount_as_typed(came.charged, "--charged")
    content, unread = content_of(came.paper, "--statement")
    found += [*wrong, *more, *unread]
    if found:
        return BookAnswer({}, "", tuple(found))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            kept = keep(connection, folder_of(books), content, str(came.paper)) if came.paper else None
            name, sha256 = (came.paper.name, kept.sha256) if came.paper and kept else ("", "")
            done = settle(connection, sweep_id, Return(recovered, paid - charged, came.in_kind, name, sha256), made_by)
        return BookAnswer(_settled_json(sweep_id, done), _settled_text(done))

    return with_books(told, work)


def list_sweeps(told: str) -> BookAnswer:
    """Return all sweeps sent."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = sweeps(connection)
        rows = [
            (one.id, one.refiner, show(grams(one.gross_mg), "g", 2), f"{one.since} \u2013 {one.until}", _state(one))
            for one in found
        ]
        table = columns(rows, right=(2,)) if rows else say("doors.sweeps-none")
        return BookAnswer({"sweeps": [_sweep_json(one) for one in found]}, table)

    return with_books(told, work)


def _state(one: Sweep) -> str:
    return say("doors.sweep-settled") if one.settled else say("doors.sweep-waiting")


def _sweep_json(one: Sweep) -> dict[str, Any]:
    return {
        "sweep": one.id,
        "refiner": one.refiner,
        "gross_g": grams(one.gross_mg),
        "since": one.since.isoformat(),
        "until": one.until.isoformat(),
        "sent_by": one.sent_by,
        "settled": one.settled,
    }


def _settled_json(sweep_id: str, done: Settled) -> dict[str, Any]:
    return {
        "sweep": sweep_id,
        "owners": [
            {
                "owner": owner,
                "cast_g": grams(cast),
                "metal_g": grams(done.metal_mg.get(owner, 0)),
                "lot": done.lots.get(owner, ""),
                "money": format(done.money.get(owner, Decimal("0.00")), "f"),
            }
            for owner, cast in sorted(done.cast_mg.items())
        ],
        "mark": done.mark,
        "money_mark": done.money_mark,
    }


def _settled_text(done: Settled) -> str:
    rows = [tuple(say(key) for key in _HEAD)]
    rows += [
        (
            owner,
            show(grams(cast), "g", 2),
            show(grams(done.metal_mg.get(owner, 0)), "g", 3),
            format(done.money.get(owner, Decimal("0.00")), "f"),
        )
        for owner, cast in sorted(done.cast_mg.items())
    ]
    return columns(rows, right=(1, 2, 3))
