"""Statements of owners at the doors: on the screen, and as files."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pourwright.books import store
from pourwright.books.purses import amount_of
from pourwright.books.statements import PourLine, Statement, owners, pours_of, statement_of
from pourwright.core.files import write_whole
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books import statement_files
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams
from pourwright.studio.clock import zone_named

_EVERY_PAST, _EVERY_COMING = date(2000, 1, 1), date(2100, 1, 1)
_DASH = "\u2013"


@dataclass(frozen=True)
class StatementRequest:
    """What somebody wants to see: whose (everybody's if empty), which days, by which clock, into which files."""

    owner: str = ""
    first: date | None = None
    last: date | None = None
    zone: str = ""
    files: tuple[Path, ...] = ()
    paper: str = "a4"


def statement(told: str, asked: StatementRequest) -> BookAnswer:
    """Return statements over days, both counted, and write the files that were asked for.

    Parameters
    ----------
    told : str
        Books, see :func:`pourwright.doors.service.books.opening.where_books_are`.
    asked : StatementRequest
        What is wanted. Days begin at midnight of the zone: the one told, else the studio's, else UTC.
    """
    first, last = asked.first or _EVERY_PAST, asked.last or _EVERY_COMING
    wrong = [*_wrong_days(first, last), *_wrong_files(asked)]
    if wrong:
        return BookAnswer({}, "", tuple(wrong))

    def work(books: store.Books) -> BookAnswer:
        zone = zone_named(asked.zone or _studio_zone(books.path))
        if zone is None:
            return BookAnswer({}, "", (Finding("doors.statement-zone", Level.STOP, "--zone", {"text": asked.zone}),))
        since, until = _midnight(first, zone), _midnight(last + timedelta(days=1), zone)
        with books.reading() as connection:
            names = (asked.owner,) if asked.owner else owners(connection)
            every = [statement_of(connection, one, since, until) for one in names]
            pours = pours_of(connection, first, last)
        found = [one for one in every if asked.owner or not _is_empty(one)]
        if not found:
            return BookAnswer({"statements": []}, say("doors.statement-nothing"))
        shown = statement_files.Shown(tuple(found), () if asked.owner else pours, zone.key, asked.first, asked.last)
        try:
            written = [_write(path, shown, asked.paper) for path in asked.files]
        except OSError as problem:
            params = {"reason": problem.strerror}
            return BookAnswer({}, "", (Finding("doors.statement-unwritten", Level.STOP, "--out", params),))
        document = _document(shown, bool(asked.owner)) | {"written": written}
        return BookAnswer(document, _text(shown, written))

    return with_books(told, work)


def _wrong_days(first: date, last: date) -> list[Finding]:
    if first <= last:
        return []
    return [Finding("doors.statement-days", Level.STOP, "--from", {"first": first, "last": last})]


def _wrong_files(asked: StatementRequest) -> list[Finding]:
    known = ", ".join(sorted(statement_files.WRITERS))
    return [
        Finding("doors.statement-form", Level.STOP, str(path), {"file": path.name, "known": known})
        for path in asked.files
        if path.suffix.lower() not in statement_files.WRITERS
    ]


def _studio_zone(books_file: Path | None) -> str:
    """Return the zone of the studio in whose folder the books lie, else UTC."""
    try:
        text = (books_file.parent / "studio.toml").read_text("utf-8") if books_file else ""
        return str(tomllib.loads(text)["zone"])
    except (OSError, ValueError, KeyError):
        return "UTC"


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone)


def _write(path: Path, shown: statement_files.Shown, paper: str) -> str:
    writer: Callable[..., bytes] = statement_files.WRITERS[path.suffix.lower()]
    write_whole(path, writer(shown, paper))
    return str(path)


def _document(shown: statement_files.Shown, one_owner: bool) -> dict[str, Any]:
    if one_owner:
        return _statement_json(shown.statements[0], shown.zone)
    return {
        "zone": shown.zone,
        "pours": [_pour_json(one) for one in shown.pours],
        "statements": [_statement_json(one, shown.zone) for one in shown.statements],
    }


def _is_empty(one: Statement) -> bool:
    """Return whether an owner has nothing to state: no metal, no money, before or after."""
    return not (one.before_mg or one.totals or one.money_lines or one.money_before_cents)


def _pour_json(one: PourLine) -> dict[str, Any]:
    return {
        "pour": one.pour,
        "day": one.day.isoformat(),
        "alloy": one.alloy,
        "state": one.state,
        "charge_g": grams(one.charge_mg),
        "loss_g": grams(one.loss_mg),
        "explained": one.explained,
    }


def _statement_json(found: Statement, zone: str) -> dict[str, Any]:
    def held(masses: Mapping[str, int]) -> dict[str, float]:
        return {name: grams(mass) for name, mass in sorted(masses.items())}

    return {
        "owner": found.owner,
        "zone": zone,
        "since": found.since.isoformat(),
        "until": found.until.isoformat(),
        "before_g": held(found.before_mg),
        "totals": [
            {"kind": one.kind, "element": one.element, "in_g": grams(one.in_mg), "out_g": grams(one.out_mg)}
            for one in found.totals
        ],
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
        "money_before": _amount(found.money_before_cents),
        "money_lines": [
            {
                "made_at": one.made_at.isoformat(),
                "kind": one.kind,
                "amount": _amount(one.cents),
                "reason": one.reason,
                "mark": one.mark,
            }
            for one in found.money_lines
        ],
        "money_after": _amount(found.money_after_cents),
        "taxes": "not computed",
    }


def _amount(cents: int) -> str:
    return f"{amount_of(cents):f}"


def _text(shown: statement_files.Shown, written: Sequence[str]) -> str:
    parts = [_pours_text(shown.pours)] if shown.pours else []
    parts += [_statement_text(one, ZoneInfo(shown.zone)) for one in shown.statements]
    parts += [say("doors.statement-taxes", zone=shown.zone)]
    parts += ["\n".join(say("doors.statement-written", file=one) for one in written)] if written else []
    return "\n\n".join(parts)


def _pours_text(pours: Sequence[PourLine]) -> str:
    heads = tuple(say(f"doors.statement-head.{name}") for name in ("pour", "alloy", "charge", "loss", "note"))
    rows = [
        (
            one.pour,
            one.alloy,
            show(grams(one.charge_mg), "g", 2),
            show(grams(one.loss_mg), "g", 2),
            one.explained or ("" if one.state == "poured" else one.state),
        )
        for one in pours
    ]
    return columns([heads, *rows], right=(2, 3))


def _statement_text(found: Statement, zone: ZoneInfo) -> str:
    def held(masses: Mapping[str, int]) -> str:
        return ", ".join(f"{show(grams(mass), 'g', 3)} {name}" for name, mass in sorted(masses.items())) or _DASH

    def day(moment: datetime) -> str:
        return f"{moment.astimezone(zone):%Y-%m-%d}"

    rows = [
        (day(one.made_at), one.kind, one.account, one.element, show(grams(one.mass_mg), "g", 3), one.reason)
        for one in found.lines
    ]
    paid = [(day(one.made_at), one.kind, _amount(one.cents), one.reason) for one in found.money_lines]
    lines = [
        say("doors.statement-title", owner=found.owner),
        "",
        say("doors.statement-before", held=held(found.before_mg)),
        *([columns(rows, right=(4,))] if rows else []),
        say("doors.statement-after", held=held(found.after_mg)),
    ]
    if paid or found.money_before_cents:
        before = say("doors.statement-money-before", amount=_amount(found.money_before_cents))
        lines += ["", before, *([columns(paid, right=(2,))] if paid else []), _to_pay(found)]
    return "\n".join(lines)


def _to_pay(found: Statement) -> str:
    cents = found.money_after_cents
    return say("doors.statement-to-pay" if cents >= 0 else "doors.statement-credit", amount=_amount(abs(cents)))
