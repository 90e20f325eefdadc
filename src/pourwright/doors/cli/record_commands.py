"""``pourwright record``: intake, states, weighings, what was read and seen, and the papers that come of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourwright.doors.cli.books.shape import PATH, argument, by, command, group, option

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

record = group("record")
_at = option("--at", key="record-at", default="", metavar="MOMENT")
_mark = option("--mark", key="mark", default="", metavar="MARK")
_why = option("--why", key="record-why", default="")
_note = option("--note", key="record-note", default="")
_load = option("--load", key="record-load", default="", metavar="LOAD")
_out = option("--out", key="record-out", type=PATH, default=None, metavar="FILE")
_recast = option("--recast", key="record-recast", default="none", show_default=True, metavar="TERMS")


def add_to(cli: click.Group, context: dict[str, Any]) -> None:
    """Hang the commands on the program."""
    cli.add_command(record)
    for one in record.commands.values():
        one.context_settings = context


@command("consent", _recast, under=record)
def consent(recast: str, books: str) -> BookAnswer:  # noqa: ARG001 - every command has the option
    """Show the words of the consent."""
    from pourwright.doors.service.records import pieces as service

    return service.consent_words(recast)


@command(
    "intake",
    argument("piece"),
    option("--owner", key="record-owner", required=True, metavar="NAME"),
    option("--agreed-by", key="record-agreed-by", default="", metavar="NAME"),
    by,
    option("--title", key="record-title", default=""),
    option("--material", key="record-material", default=""),
    option("--pattern", key="record-pattern", type=PATH, default=None, metavar="FILE"),
    option("--weighed", key="record-weighed", default="", metavar="MASS"),
    _recast,
    _at,
    _mark,
    under=record,
)
def intake(books: str, **asked: Any) -> BookAnswer:
    """Take a piece in."""
    from pourwright.doors.service.records import pieces as service

    return service.intake(books, **asked)


@command("receipt", argument("piece"), _out, under=record)
def receipt(piece: str, out: Path | None, books: str) -> BookAnswer:
    """Print the receipt of a piece."""
    from pourwright.doors.service.records import papers as service

    return service.receipt(books, piece, out)


@command(
    "state",
    argument("word", metavar="STATE"),
    argument("pieces", nargs=-1),
    _load,
    by,
    option("--place", key="record-place", default=""),
    _why,
    _at,
    _mark,
    under=record,
)
def state(books: str, **asked: Any) -> BookAnswer:
    """Move pieces on."""
    from pourwright.doors.service.records import pieces as service

    return service.state(books, **asked)


@command(
    "where",
    argument("pieces", nargs=-1),
    _load,
    _at,
    option("--all", "gone_too", key="record-all", is_flag=True),
    under=record,
)
def where(pieces: tuple[str, ...], load: str, at: str, gone_too: bool, books: str) -> BookAnswer:
    """Say where pieces are."""
    from pourwright.doors.service.records import pieces as service

    return service.where(books, pieces, load, at, gone_too)


@command("list", argument("subjects", nargs=-1), under=record)
def list_records(subjects: tuple[str, ...], books: str) -> BookAnswer:
    """List what was written."""
    from pourwright.doors.service.records import pieces as service

    return service.history_of(books, subjects)


@command(
    "reverse",
    argument("record_mark", metavar="RECORD"),
    option("--why", key="reason", required=True),
    by,
    _mark,
    under=record,
)
def reverse(record_mark: str, why: str, by: str, mark: str, books: str) -> BookAnswer:
    """Take a record back."""
    from pourwright.doors.service.records import pieces as service

    return service.take_record_back(books, record_mark, by, why, mark)


@command(
    "absent",
    argument("load"),
    option("--owner", "owners", key="record-absent", multiple=True, required=True, metavar="NAME"),
    by,
    _why,
    _at,
    _mark,
    under=record,
)
def absent(books: str, **asked: Any) -> BookAnswer:
    """Let a load wait."""
    from pourwright.doors.service.records import pieces as service

    return service.absent(books, **asked)


@command("keep", argument("folder", type=PATH), by, under=record)
def keep(folder: Path, by: str, books: str) -> BookAnswer:
    """Keep a day's files as they are."""
    from pourwright.doors.service.records import plans as service

    return service.keep_day(books, folder, by)


@command(
    "weigh",
    argument("load"),
    argument("stage"),
    argument("mass"),
    option("--scale", key="record-scale", default="1 g", show_default=True, metavar="MASS"),
    by,
    _why,
    _at,
    _mark,
    under=record,
)
def weigh(books: str, **asked: Any) -> BookAnswer:
    """Enter a weighing."""
    from pourwright.doors.service.records import day as service

    return service.weigh_load(books, **asked)


@command("weighings", argument("load"), under=record)
def weighings(load: str, books: str) -> BookAnswer:
    """Show the weighings of a load."""
    from pourwright.doors.service.records import day as service

    return service.weighings_of(books, load)


@command("enter", argument("subject"), argument("name", metavar="QUANTITY"), argument("value"), by, _why, _at, _mark,
         under=record)  # fmt: skip
def enter(books: str, **asked: Any) -> BookAnswer:
    """Enter a value that was read."""
    from pourwright.doors.service.records import day as service

    return service.enter(books, **asked)


@command("compare", argument("subject"), under=record)
def compare(subject: str, books: str) -> BookAnswer:
    """Show planned, simulated and actual."""
    from pourwright.doors.service.records import day as service

    return service.compare_day(books, subject)


@command("outcome", argument("piece"), argument("result"), by, _note, _at, _mark, under=record)
def outcome(books: str, **asked: Any) -> BookAnswer:
    """Enter how a piece came out."""
    from pourwright.doors.service.records import seen as service

    return service.outcome(books, **asked)


@command(
    "defect",
    argument("piece"),
    argument("name", metavar="DEFECT"),
    option("--severity", key="record-severity", default="plain", show_default=True),
    option("--region", key="record-region", default=""),
    option("--place", key="record-place-xyz", default="", metavar="X,Y,Z"),
    by,
    _note,
    _at,
    _mark,
    under=record,
)
def defect(books: str, **asked: Any) -> BookAnswer:
    """Enter a fault of a piece."""
    from pourwright.doors.service.records import seen as service

    return service.fault(books, **asked)


@command("defects", under=record)
def defects(books: str) -> BookAnswer:  # noqa: ARG001 - every command has the option
    """List the faults of the atlas."""
    from pourwright.doors.service.records import seen as service

    return service.atlas()


@command(
    "incident",
    argument("subject"),
    argument("what"),
    option("--near-miss", key="record-near-miss", is_flag=True),
    option("--role", key="record-role", default=""),
    option("--change", key="record-change", default=""),
    by,
    _at,
    _mark,
    under=record,
)
def incident(books: str, near_miss: bool, **asked: Any) -> BookAnswer:
    """Enter an incident."""
    from pourwright.doors.service.records import seen as service

    return service.incident(books, weight="near-miss" if near_miss else "incident", **asked)


@command("incidents", under=record)
def incidents(books: str) -> BookAnswer:
    """List incidents."""
    from pourwright.doors.service.records import seen as service

    return service.list_incidents(books)


@command("photo", argument("subject"), argument("file", type=PATH), by, _note, _at, _mark, under=record)
def photo(books: str, **asked: Any) -> BookAnswer:
    """Keep a photo."""
    from pourwright.doors.service.records import seen as service

    return service.photo(books, **asked)


@command("files", under=record)
def files(books: str) -> BookAnswer:
    """Look over the kept files."""
    from pourwright.doors.service.records import seen as service

    return service.look_over(books)


@command("card", argument("piece"), _out, under=record)
def card(piece: str, out: Path | None, books: str) -> BookAnswer:
    """Print the card of a piece."""
    from pourwright.doors.service.records import papers as service

    return service.card(books, piece, out)


@command("import", argument("sheet", type=PATH), by, under=record)
def import_sheet(sheet: Path, by: str, books: str) -> BookAnswer:
    """Type a weigh sheet in."""
    from pourwright.doors.service.records import sheet as service

    return service.import_sheet(books, sheet, by)
