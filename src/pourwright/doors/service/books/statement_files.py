"""Statements as files: comma-separated values, a spreadsheet, a page to print. The same books give the same bytes."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from pourwright.books.cells import FORMULA_SIGNS, as_cell
from pourwright.books.masses import g_from_mg
from pourwright.books.purses import amount_of
from pourwright.books.statements import PourLine, Statement, StatementLine
from pourwright.core.text import say
from pourwright.sheet.statement import print_statement

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_LONGEST_SHEET_NAME = 31
_NOT_IN_SHEET_NAME = re.compile(r"[\\/*?:\[\]]")
_ZIP_DAY = (1980, 1, 1, 0, 0, 0)
_STAMP = re.compile(rb"(<dcterms:(?:created|modified)[^>]*>)[^<]*")
_MASS_FORMAT, _MONEY_FORMAT, _DAY_FORMAT, _TIME_FORMAT = "0.000", "#,##0.00", "yyyy-mm-dd", "hh:mm"

Cell = str | Decimal | date | None


@dataclass(frozen=True)
class Shown:
    """Statements to be written: with the pours if of everybody, the clock, and the days asked for (None: open)."""

    statements: tuple[Statement, ...]
    pours: tuple[PourLine, ...]
    zone: str
    first: date | None
    last: date | None


@dataclass(frozen=True)
class Row:
    """One row of a statement as a table: metal or money, with its date and time by the studio's clock."""

    made_at: datetime | None
    kind: str
    what: str
    element: str
    mass_g: Decimal | None
    amount: Decimal | None
    reason: str
    mark: str


def rows_of(one: Statement, zone: ZoneInfo) -> Iterator[Row]:
    """Return a statement as rows: brought forward, each movement, carried forward; of metal, then of money."""
    brought, carried = say("doors.statement-brought"), say("doors.statement-carried")
    for element, mass_mg in sorted(one.before_mg.items()):
        yield Row(None, brought, "", element, g_from_mg(mass_mg), None, "", "")
    for line in one.lines:
        at = line.made_at.astimezone(zone)
        yield Row(at, line.kind, line.account, line.element, g_from_mg(line.mass_mg), None, line.reason, line.mark)
    for element, mass_mg in sorted(one.after_mg.items()):
        yield Row(None, carried, "", element, g_from_mg(mass_mg), None, "", "")
    yield Row(None, brought, "", "", None, amount_of(one.money_before_cents), "", "")
    for paid in one.money_lines:
        at = paid.made_at.astimezone(zone)
        yield Row(at, paid.kind, "", "", None, amount_of(paid.cents), paid.reason, paid.mark)
    yield Row(None, carried, "", "", None, amount_of(one.money_after_cents), "", "")


_HEADS = ("owner", "day", "time", "kind", "place", "element", "mass_g", "amount", "reason", "mark")


def as_csv(shown: Shown, paper: str) -> bytes:  # noqa: ARG001 - the writers are called alike
    """Return statements as comma-separated values: days as 2026-11-28, decimals with a point, whatever the language."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_HEADS)
    for one in shown.statements:
        for row in rows_of(one, ZoneInfo(shown.zone)):
            writer.writerow([_plain(cell) for cell in _cells(one.owner, row)])
    return text.getvalue().encode()


def _cells(owner: str, row: Row) -> tuple[Cell, ...]:
    day = row.made_at.date() if row.made_at else None
    clock = f"{row.made_at:%H:%M}" if row.made_at else ""
    return owner, day, clock, row.kind, row.what, row.element, row.mass_g, row.amount, row.reason, row.mark


def _plain(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return format(cell, "f")
    return cell.isoformat() if isinstance(cell, date) else as_cell(cell)


def as_spreadsheet(shown: Shown, paper: str) -> bytes:  # noqa: ARG001 - the writers are called alike
    """Return statements as a spreadsheet, one sheet to an owner; numbers and days are such, texts no formulas."""
    from openpyxl import Workbook

    book = Workbook()
    first = book.active
    taken: set[str] = set()
    for place, one in enumerate(shown.statements):
        sheet = first if place == 0 and first is not None else book.create_sheet()
        sheet.title = _sheet_name(one.owner, taken)
        _fill(sheet, one, shown)
    whole = io.BytesIO()
    book.save(whole)
    return _same_bytes(whole.getvalue())


def _sheet_name(owner: str, taken: set[str]) -> str:
    name = _NOT_IN_SHEET_NAME.sub(" ", owner).strip("' ")[:_LONGEST_SHEET_NAME] or "-"
    number = 2
    while name.casefold() in taken:
        ending = f" ({number})"
        name = name[: _LONGEST_SHEET_NAME - len(ending)].removesuffix(f" ({number - 1})") + ending
        number += 1
    taken.add(name.casefold())
    return name


def _fill(sheet: Worksheet, one: Statement, shown: Shown) -> None:
    from openpyxl.styles import Font

    titles = (
        say("doors.statement-title", owner=one.owner),
        _span(shown),
        say("doors.statement-taxes", zone=shown.zone),
    )
    for number, text in enumerate(titles, start=1):
        _put(sheet, number, 1, text, _DAY_FORMAT)
    sheet["A1"].font = Font(bold=True, size=14)
    head = len(titles) + 2
    for place, name in enumerate(_HEADS[1:], start=1):
        _put(sheet, head, place, say(f"doors.statement-head.{name}"), _DAY_FORMAT)
        sheet.cell(head, place).font = Font(bold=True)
    for number, row in enumerate(rows_of(one, ZoneInfo(shown.zone)), start=head + 1):
        for place, cell in enumerate(_cells(one.owner, row)[1:], start=1):
            _put(sheet, number, place, cell, _MONEY_FORMAT if place == _HEADS.index("amount") else _MASS_FORMAT)
    for letter, width in zip("ABCDEFGHI", (12, 7, 18, 30, 9, 12, 12, 40, 30), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = sheet.cell(head + 1, 1)


def _put(sheet: Worksheet, number: int, place: int, value: Cell, number_format: str) -> None:
    if value is None or value == "":
        return
    cell: Any = sheet.cell(number, place)
    if isinstance(value, str):
        cell.value = "".join(sign for sign in value if sign.isprintable())
        cell.data_type = "s"
        cell.quotePrefix = value.startswith(FORMULA_SIGNS)
        return
    cell.value = value
    cell.number_format = _DAY_FORMAT if isinstance(value, date) else number_format


def _same_bytes(content: bytes) -> bytes:
    """Return a spreadsheet without the moment at which it was written."""
    whole = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(whole, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            part = _STAMP.sub(rb"\g<1>2000-01-01T00:00:00Z", source.read(name))
            target.writestr(zipfile.ZipInfo(name, _ZIP_DAY), part, zipfile.ZIP_DEFLATED)
    return whole.getvalue()


def as_pages(shown: Shown, paper: str) -> bytes:
    """Return statements as pages to print, each owner's on its own."""
    last = shown.statements[0].until.astimezone(ZoneInfo(shown.zone)).date() - timedelta(days=1)
    return print_statement([_page(one, shown) for one in shown.statements], last, paper)


def _page(one: Statement, shown: Shown) -> Mapping[str, object]:
    elements = sorted({*one.before_mg, *one.after_mg, *(line.element for line in one.lines)})
    return {
        "owner": one.name if one.name == one.owner else f"{one.name} ({one.owner})",
        "span": _span(shown),
        "note": say("doors.statement-taxes", zone=shown.zone),
        "elements": elements,
        "before": _masses(one.before_mg, elements),
        "lines": [_line(lines, elements, ZoneInfo(shown.zone)) for lines in _by_movement(one)],
        "after": _masses(one.after_mg, elements),
        "money_before": _printed(amount_of(one.money_before_cents), 2),
        "money": [
            {
                "day": f"{paid.made_at.astimezone(ZoneInfo(shown.zone)):%Y-%m-%d}",
                "kind": paid.kind,
                "reason": paid.reason,
                "amount": _printed(amount_of(paid.cents), 2),
            }
            for paid in one.money_lines
        ],
        "money_after": _printed(amount_of(abs(one.money_after_cents)), 2),
        "owes": one.money_after_cents >= 0,
    }


def _by_movement(one: Statement) -> Iterator[list[StatementLine]]:
    for _, lines in groupby(one.lines, key=lambda line: (line.mark, line.account)):
        yield list(lines)


def _line(lines: list[StatementLine], elements: list[str], zone: ZoneInfo) -> dict[str, object]:
    first = lines[0]
    what = first.account.partition(":")[2]
    return {
        "day": f"{first.made_at.astimezone(zone):%Y-%m-%d}",
        "kind": first.kind,
        "what": what if what.startswith(first.pour) or not first.pour else f"{what}, {first.pour}",
        "reason": first.reason,
        "masses": _masses({line.element: line.mass_mg for line in lines}, elements),
    }


def _masses(masses_mg: Mapping[str, int], elements: list[str]) -> list[str]:
    """Return the gross mass and each element's as they are printed."""
    whole = [sum(masses_mg.values()), *(masses_mg.get(name, 0) for name in elements)]
    return [_printed(g_from_mg(mass), 3) if mass else "\u2013" for mass in whole]


def _printed(number: Decimal, digits: int) -> str:
    """Return a number as it stands on paper, with a minus sign that is as wide as a digit."""
    return f"{number:.{digits}f}".replace("-", "\u2212")


def _span(shown: Shown) -> str:
    if shown.first and shown.first == shown.last:
        return say("doors.statement-span.day", day=shown.first)
    if shown.first and shown.last:
        return say("doors.statement-span.days", first=shown.first, last=shown.last)
    if shown.first:
        return say("doors.statement-span.since", first=shown.first)
    return say("doors.statement-span.until", last=shown.last) if shown.last else say("doors.statement-span.whole")


WRITERS: Mapping[str, Callable[[Shown, str], bytes]] = {".csv": as_csv, ".xlsx": as_spreadsheet, ".pdf": as_pages}
