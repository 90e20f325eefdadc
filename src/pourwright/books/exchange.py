"""The books as plain files that a spreadsheet opens, and back; the same books give the same bytes.

Every table is one CSV file, every kept file lies beside them under its hash, and ``contents.json`` says what there is:
hashes, rows, the columns of every table. A text that a spreadsheet would take for a formula is led by an apostrophe.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from pourwright.books import stock_tables
from pourwright.books.cells import as_cell, from_cell
from pourwright.books.ledger import refused, sums_mg
from pourwright.books.records import tables as record_tables
from pourwright.books.records.files import KeptFile, kept_files, problem_of, put_file
from pourwright.books.tables import account, entry, lot, lot_element, metadata, movement, owner, pour, price
from pourwright.books.totals import TOTALS, rebuild_totals

EXPORT_FORMAT = 2
_CONTENTS = "contents.json"
_FILES = "files"
_BLOCK_ROWS = 5000
# What an export of format 1 held.
_FIRST_TABLES = (owner, account, lot, lot_element, pour, price, movement, entry)
# Modules that add tables of their own to the metadata.
_ROOMS = (stock_tables, record_tables)
# In an order in which they can be read back; totals follow from the entries and are not written.
_TABLES = tuple(one for one in metadata.sorted_tables if one not in TOTALS)


def export_books(connection: Connection, folder: Path, studio: Path | None = None) -> tuple[Path, ...]:
    """Write every table as a CSV file, every kept file, and a list of contents with their hashes.

    Parameters
    ----------
    connection : Connection
        Reading.
    folder : Path
        A new or empty folder.
    studio : Path, optional
        Where the kept files lie; one that is missing or damaged there is named in the contents and left out.

    Raises
    ------
    LedgerError
        Something is in the folder already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise refused("books.export-not-empty", str(folder), folder=folder)
    folder.mkdir(parents=True, exist_ok=True)
    written, listed = [], {}
    for table in _TABLES:
        path = folder / f"{table.name}.csv"
        rows_count = _write(connection, table, path)
        listed[path.name] = {"rows": rows_count, "sha256": _sha256(path)}
        written.append(path)
    copied, missing = _copy_out(connection, folder / _FILES, studio)
    contents = folder / _CONTENTS
    content = {"format": EXPORT_FORMAT, "files": listed, "kept_files_missing": missing, "columns": _columns()}
    contents.write_text(json.dumps(content, indent=1) + "\n", "utf-8")
    return (*written, *copied, contents)


def _columns() -> dict[str, dict[str, str]]:
    return {
        table.name: {column.name: column.type.python_type.__name__ for column in table.columns} for table in _TABLES
    }


def _copy_out(connection: Connection, folder: Path, studio: Path | None) -> tuple[list[Path], list[str]]:
    copied, missing = [], []
    for one in kept_files(connection):
        if studio is None or problem_of(studio, one):
            missing.append(one.sha256)
            continue
        folder.mkdir(exist_ok=True)
        path = folder / one.name
        path.write_bytes(one.path_in(studio).read_bytes())
        copied.append(path)
    return copied, missing


def _write(connection: Connection, table: sa.Table, path: Path) -> int:
    rows_count = 0
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow([column.name for column in table.columns])
        wanted = sa.select(table).order_by(*_keys(connection, table))
        for row in connection.execution_options(yield_per=_BLOCK_ROWS).execute(wanted):
            writer.writerow([_as_text(one) for one in row])
            rows_count += 1
    return rows_count


def _keys(connection: Connection, table: sa.Table) -> list[sa.ColumnElement[Any]]:
    """Return the primary key to sort by; texts by their bytes, whatever language the server sorts in."""
    server = connection.dialect.name == "postgresql"
    return [
        sa.collate(one, "C") if server and isinstance(one.type, sa.String) else one for one in table.primary_key.columns
    ]


def _as_text(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal):
        return format(value, "f")
    if isinstance(value, str):
        return as_cell(value)
    return str(value)


def import_books(connection: Connection, folder: Path, studio: Path | None = None) -> int:
    """Read exported files into empty books, and return the number of movements.

    Parameters
    ----------
    connection : Connection
        Writing; all of it is kept, or nothing.
    folder : Path
        As written by :func:`export_books`; a spreadsheet may have changed the files, which is then said.
    studio : Path, optional
        Where kept files go.

    Raises
    ------
    LedgerError
        The books are not empty; a file is missing, was changed since it was written, or holds what cannot be read (with
        file and row); or the entries do not add up to zero.
    """
    if any(connection.execute(sa.select(table).limit(1)).first() for table in _TABLES):
        raise refused("books.import-not-empty", str(folder))
    _check_contents(folder)
    for table in _held(folder):
        _read(connection, table, folder / f"{table.name}.csv")
    off = {element: mass for element, mass in sums_mg(connection).items() if mass}
    if off:
        raise refused("books.import-off", str(folder), elements=", ".join(sorted(off)))
    rebuild_totals(connection)
    _copy_in(connection, folder / _FILES, studio, set(missing_files(folder)))
    _continue_numbers(connection)
    return int(connection.execute(sa.select(sa.func.count()).select_from(movement)).scalar_one())


def _copy_in(connection: Connection, folder: Path, studio: Path | None, missing: set[str]) -> None:
    for one in kept_files(connection):
        if one.sha256 in missing:
            continue
        path = folder / one.name
        if not path.exists():
            raise refused("books.import-missing", str(path))
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != one.sha256:
            raise refused("books.import-changed", str(path))
        if studio is not None:
            put_file(studio, KeptFile(one.sha256, one.ending, len(content)), content)


def _contents(folder: Path) -> Mapping[str, Any]:
    path = folder / _CONTENTS
    try:
        contents: Mapping[str, Any] = json.loads(path.read_text("utf-8"))
        found = int(contents["format"])
        dict(contents["files"])
    except (OSError, ValueError, KeyError, TypeError):
        raise refused("books.import-no-contents", str(path)) from None
    if found > EXPORT_FORMAT:
        raise refused("books.import-too-new", str(path), found=found, known=EXPORT_FORMAT)
    return contents


def _held(folder: Path) -> tuple[sa.Table, ...]:
    """Return the tables that an export of its format holds."""
    return _FIRST_TABLES if int(_contents(folder)["format"]) == 1 else _TABLES


def missing_files(folder: Path) -> tuple[str, ...]:
    """Return the hashes of kept files that an export had to leave out."""
    return tuple(_contents(folder).get("kept_files_missing", ()))


def _check_contents(folder: Path) -> None:
    """Check that each file of the export is there as it was written."""
    files = _contents(folder)["files"]
    for table in _held(folder):
        file = folder / f"{table.name}.csv"
        if not file.exists() or file.name not in files:
            raise refused("books.import-missing", str(file))
        if _sha256(file) != files[file.name].get("sha256"):
            raise refused("books.import-changed", str(file))


def _read(connection: Connection, table: sa.Table, path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as handle:
        reader = csv.reader(handle)
        header = next(reader, [])
        columns = [column for column in table.columns if column.name in header]
        lacking = [column for column in table.columns if column.name not in header]
        # A column that a later version added has a value of its own for what was written before.
        if header != [column.name for column in columns] or any(column.default is None for column in lacking):
            raise refused("books.import-columns", str(path), columns=", ".join(column.name for column in table.columns))
        for block in _blocks(reader, _readers(columns), path):
            connection.execute(table.insert(), block)


def _blocks(
    reader: Iterator[list[str]], readers: Sequence[tuple[str, Callable[[str], object]]], path: Path
) -> Iterator[list[dict[str, object]]]:
    block: list[dict[str, object]] = []
    for number, row in enumerate(reader, start=2):
        try:
            block.append({name: read(text) for (name, read), text in zip(readers, row, strict=True)})
        except (ValueError, InvalidOperation):
            raise refused("books.import-row", f"{path}, row {number}", row=number) from None
        if len(block) == _BLOCK_ROWS:
            yield block
            block = []
    if block:
        yield block


def _readers(columns: Sequence[sa.Column[Any]]) -> list[tuple[str, Callable[[str], object]]]:
    found: list[tuple[str, Callable[[str], object]]] = []
    for column in columns:
        read = _READ.get(column.type.python_type, from_cell)
        found.append((column.name, _or_nothing(read) if column.nullable else read))
    return found


def _or_nothing(read: Callable[[str], object]) -> Callable[[str], object]:
    return lambda text: read(text) if text else None


def _flag(text: str) -> bool:
    return {"yes": True, "no": False}[text] if text in ("yes", "no") else _wrong(text)


def _wrong(text: str) -> bool:
    raise ValueError(text)


_READ: dict[type, Callable[[str], object]] = {
    int: int,
    bool: _flag,
    date: date.fromisoformat,
    datetime: datetime.fromisoformat,
    Decimal: Decimal,
}


def _continue_numbers(connection: Connection) -> None:
    """Let a server's own counters go on after the numbers read; SQLite does so by itself."""
    if connection.dialect.name != "postgresql":
        return
    for table in (one for one in _TABLES if one.autoincrement_column is not None):
        connection.exec_driver_sql(
            f"select setval(pg_get_serial_sequence('{table.name}', 'id'), "  # noqa: S608 - names are our own
            f"(select coalesce(max(id), 1) from {table.name}))"
        )


def _sha256(path: Path) -> str:
    digest = hashlib.sha256()
    with path.open("rb") as handle:
        for block in iter(lambda: handle.read(io.DEFAULT_BUFFER_SIZE * 16), b""):
            digest.update(block)
    return digest.hexdigest()
