"""Reads spreadsheets (.xlsx) and comma-separated files (.csv) as rows of cells; an odd file gives a finding."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

from pourwright.core.findings import Finding, Level

_MOST_BYTES = 20_000_000
_MOST_UNPACKED_BYTES = 200_000_000
_MOST_ROWS = 100_000
_MOST_COLUMNS = 60
_SEPARATORS = ",;\t"

# Numbers are kept as their digits, so that a mass has its unit when it becomes a number.
Value = str | date | None


@dataclass(frozen=True)
class Cell:
    """What a cell holds; ``fault`` is ``formula`` or ``error`` where it holds no value."""

    value: Value
    fault: str = ""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its name (empty for a plain file), and its rows with their numbers, the empty ones left out."""

    name: str
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


def read_sheets(path: Path) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    """Return the sheets of a file, or what is wrong with it."""
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= _MOST_BYTES else b""
    except OSError as problem:
        return (), (Finding("doors.notebook-unread", Level.STOP, str(path), {"reason": problem.strerror}),)
    if size > _MOST_BYTES:
        return (), (_too_large(path),)
    ending = path.suffix.lower()
    if ending == ".csv":
        return _plain(path, content)
    if ending == ".xlsx":
        return _book(path, content)
    return (), (Finding("doors.notebook-form", Level.STOP, str(path), {"file": path.name}),)


def _too_large(path: Path) -> Finding:
    return Finding("doors.notebook-large", Level.STOP, str(path), {"file": path.name, "rows": _MOST_ROWS})


def _plain(path: Path, content: bytes) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return (), (Finding("doors.notebook-letters", Level.STOP, str(path), {"file": path.name}),)
    first = text.partition("\n")[0]
    separator = max(_SEPARATORS, key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=separator))
    except csv.Error as problem:
        return (), (Finding("doors.notebook-unread", Level.STOP, str(path), {"reason": problem}),)
    if len(rows) > _MOST_ROWS:
        return (), (_too_large(path),)
    cells = ((number, tuple(_text_cell(one) for one in row[:_MOST_COLUMNS])) for number, row in enumerate(rows, 1))
    return (Sheet("", tuple(_full(cells))),), ()


def _text_cell(text: str) -> Cell:
    """Return a cell of a plain file; an apostrophe that keeps a text from being a formula is taken off."""
    tidy = text.strip()
    return Cell(tidy.removeprefix("'")) if tidy.startswith("'") else Cell(tidy, "formula" if tidy[:1] == "=" else "")


def _full(rows: Iterator[tuple[int, tuple[Cell, ...]]]) -> Iterator[tuple[int, tuple[Cell, ...]]]:
    return ((number, row) for number, row in rows if any(one.value not in (None, "") or one.fault for one in row))


def _book(path: Path, content: bytes) -> tuple[tuple[Sheet, ...], tuple[Finding, ...]]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            if sum(one.file_size for one in packed.infolist()) > _MOST_UNPACKED_BYTES:
                return (), (_too_large(path),)
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=False)
        sheets = []
        for one in book.worksheets:
            rows = one.iter_rows(max_row=_MOST_ROWS + 1, max_col=_MOST_COLUMNS)
            numbered = ((number, tuple(_cell(cell) for cell in row)) for number, row in enumerate(rows, 1))
            sheets.append(Sheet(one.title, tuple(_full(numbered))))
    except Exception as problem:
        return (), (Finding("doors.notebook-unread", Level.STOP, str(path), {"reason": type(problem).__name__}),)
    if any(one.rows and one.rows[-1][0] > _MOST_ROWS for one in sheets):
        return (), (_too_large(path),)
    return tuple(sheets), ()


def _cell(cell: object) -> Cell:
    value, kind = getattr(cell, "value", None), getattr(cell, "data_type", "n")
    if kind == "f":
        return Cell(str(value), "formula")
    if kind == "e":
        return Cell(str(value), "error")
    if isinstance(value, datetime):
        return Cell(value.date())
    if isinstance(value, float):
        return Cell(format(Decimal(repr(value)), "f"))
    return Cell(value if value is None or isinstance(value, date) else str(value).strip())
