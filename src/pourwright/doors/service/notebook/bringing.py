"""Brings an old notebook into the books: all of it or nothing, once however often it is read; a dry run unless told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pourwright.books import store
from pourwright.books.notebook import OldEntry, OldHandOut, OldLot, OldPour, book_entries
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, findings_of, with_books
from pourwright.doors.service.books.typed import grams, typed_mg
from pourwright.doors.service.notebook.columns import heads_of
from pourwright.doors.service.notebook.rows import Manner, entries_of
from pourwright.doors.service.notebook.sheets import read_sheets
from pourwright.studio.clock import zone_named

_KINDS = {OldLot: "lots", OldPour: "pours", OldHandOut: "handed out"}
# Faults shown of one file; who mends these usually mends the rest.
_MOST_FAULTS = 20


@dataclass(frozen=True)
class NotebookRequest:
    """What is to be read and how: the file, who enters it, whether it is kept, and what the notebook leaves open."""

    file: Path
    made_by: str
    keep: bool = False
    alloy: str = "sterling-925"
    scale: str = "0.01 g"
    zone: str = "UTC"
    decimal_comma: bool = False


class _DryRunError(Exception):
    """Ends a transaction of which nothing is to be kept."""


def bring_notebook(told: str, asked: NotebookRequest) -> BookAnswer:
    """Book the rows of a spreadsheet, or show what would be booked.

    Parameters
    ----------
    told : str
        Books, see :func:`pourwright.doors.service.books.opening.where_books_are`.
    asked : NotebookRequest
        What is to be read.
    """
    entries, found = _read(asked)
    if found:
        return BookAnswer(_document(asked, [], 0, len(found)), "", _few(found, asked))

    def work(books: store.Books) -> BookAnswer:
        try:
            with books.writing() as connection:
                new, refusals = book_entries(connection, entries, asked.made_by)
                faults = [
                    replace(found, where=one.place) for one, refusal in refusals for found in findings_of(refusal)
                ]
                if faults or not asked.keep:
                    raise _DryRunError
        except _DryRunError:
            pass
        known_count = len(entries) - len(new) - len(refusals)
        document = _document(asked, [] if faults else new, known_count, len(faults))
        return BookAnswer(document, "" if faults else _text(asked, new, known_count), _few(faults, asked))

    return with_books(told, work, must_exist=False)


def _read(asked: NotebookRequest) -> tuple[list[OldEntry], list[Finding]]:
    found: list[Finding] = []
    zone = zone_named(asked.zone)
    if zone is None:
        found.append(Finding("doors.statement-zone", Level.STOP, "--zone", {"text": asked.zone}))
    manner = Manner(zone or ZoneInfo("UTC"), asked.alloy, typed_mg(asked.scale, "--scale", found), asked.decimal_comma)
    sheets, wrong = read_sheets(asked.file)
    found += wrong
    entries: list[OldEntry] = []
    for sheet in (one for one in sheets if one.rows):
        heads, problem = heads_of(asked.file.name, sheet)
        if heads is None:
            found += [problem] if problem else []
            continue
        some, faults = entries_of(asked.file.name, sheet, heads, manner)
        entries += some
        found += faults
    if not entries and not found:
        found.append(Finding("doors.notebook-nothing", Level.STOP, str(asked.file), {"file": asked.file.name}))
    # Metal comes in before it is used on the same day, and is used before what is left is handed out.
    order = list(_KINDS)
    return sorted(entries, key=lambda one: (one.made_at, order.index(type(one.what)))), found


def _few(found: Sequence[Finding], asked: NotebookRequest) -> tuple[Finding, ...]:
    """Return findings, not more than a person mends in one go, and how many there are beyond."""
    asks_first = sorted(found, key=lambda one: not stops((one,)))
    if len(found) <= _MOST_FAULTS:
        return tuple(asks_first)
    more = Finding(
        "doors.notebook-more", Level.STOP, asked.file.name, {"count": len(found) - _MOST_FAULTS, "all": len(found)}
    )
    return (*asks_first[:_MOST_FAULTS], more)


def _document(asked: NotebookRequest, new: Sequence[OldEntry], known_count: int, faults_count: int) -> dict[str, Any]:
    return {
        "file": str(asked.file),
        "kept": asked.keep and not faults_count,
        "new": [
            {
                "place": one.place,
                "kind": _KINDS[type(one.what)],
                "day": one.made_at.date().isoformat(),
                "name": _name(one),
                "mass_g": grams(_mass_mg(one)),
            }
            for one in new
        ],
        "known_count": known_count,
        "faults_count": faults_count,
    }


def _name(one: OldEntry) -> str:
    if isinstance(one.what, OldPour):
        return one.what.poured.id
    return one.what.label or one.what.new.metal if isinstance(one.what, OldLot) else one.what.lot


def _mass_mg(one: OldEntry) -> int:
    return sum(one.what.poured.used_mg.values()) if isinstance(one.what, OldPour) else one.what.gross_mg


def _text(asked: NotebookRequest, new: Sequence[OldEntry], known_count: int) -> str:
    counts = Counter(_KINDS[type(one.what)] for one in new)
    lines = [
        say(
            "doors.notebook-line",
            kind=say(f"doors.notebook-kind.{kind.replace(' ', '-')}"),
            count=counts[kind],
            mass=show(grams(sum(_mass_mg(one) for one in new if _KINDS[type(one.what)] == kind)), "g", 2),
        )
        for kind in _KINDS.values()
        if counts[kind]
    ]
    head = say("doors.notebook-kept" if asked.keep else "doors.notebook-dry", file=asked.file.name)
    if not new:
        return say("doors.notebook-all-known", file=asked.file.name, count=known_count)
    tail = [say("doors.notebook-known", count=known_count)] if known_count else []
    return "\n".join([head, *lines, *tail, *([] if asked.keep else [say("doors.notebook-keep")])])
