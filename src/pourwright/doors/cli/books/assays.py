"""``pourwright stock``: assays, passports of pieces, sweeps and settlements."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourwright.core.text import say
from pourwright.doors.cli.books.shape import DAY, PATH, argument, by, command, option
from pourwright.doors.cli.books.stock import stock

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

_note = option("--note", key="stock-note", default="")


@command(
    "assay",
    argument("name"),
    option("--office", key="assay-office", required=True, metavar="NAME"),
    option("--sample", key="assay-sample", default="", metavar="MASS"),
    _note,
    by,
    under=stock,
)
def stock_assay(name: str, office: str, sample: str, note: str, by: str, books: str) -> BookAnswer:
    """Send a lot or a piece to be assayed."""
    from pourwright.doors.service.stock.assaying import send_to_assay

    return send_to_assay(books, name, office, sample, note, by)


@command(
    "result",
    argument("assay"),
    option("--fineness", key="assay-fineness", required=True, metavar="FINENESS"),
    option("--on", "reported_on", key="assay-on", required=True, type=DAY, metavar="DAY"),
    option("--element", key="assay-element", default="Ag", show_default=True),
    option("--holds", key="stock-holds", multiple=True, metavar="ELEMENT:SHARE"),
    option("--method", key="assay-method", default=""),
    option("--struck", key="assay-struck", default=""),
    option("--certificate", "paper", key="assay-certificate", type=PATH, default=None, metavar="FILE"),
    by,
    under=stock,
)
def stock_result(assay: str, reported_on: datetime, by: str, books: str, **report: Any) -> BookAnswer:
    """Enter what an assay found."""
    from pourwright.doors.service.stock.assaying import Report, enter_assay

    return enter_assay(books, assay, Report(reported_on=reported_on.date(), **report), by)


@command("assays", option("--of", "name", key="assay-of", default="", metavar="LOT"), under=stock)
def stock_assays(name: str, books: str) -> BookAnswer:
    """List what was sent to be assayed."""
    from pourwright.doors.service.stock.assaying import list_assays

    return list_assays(books, name)


@command(
    "passport",
    argument("piece", required=False, default=""),
    option("--pour", key="passport-pour", default="", metavar="POUR"),
    option("--scale", key="scale", default="0.01 g", show_default=True, metavar="MASS"),
    option("--studio", key="studio", type=PATH, default=None),
    under=stock,
)
def stock_passport(piece: str, pour: str, scale: str, studio: Path | None, books: str) -> BookAnswer:
    """Say what is known of a piece's fineness."""
    from pourwright.doors.service.stock.passports import piece_passport, pour_passports

    if bool(piece) == bool(pour):
        raise click.UsageError(say("doors.passport-which"))
    return piece_passport(books, piece, scale, studio) if piece else pour_passports(books, pour, scale)


@command(
    "sweep",
    option("--refiner", key="sweep-refiner", required=True, metavar="NAME"),
    option("--mass", key="sweep-mass", required=True, metavar="MASS"),
    option("--from", "since", key="sweep-from", required=True, type=DAY, metavar="DAY"),
    option("--to", "until", key="sweep-to", required=True, type=DAY, metavar="DAY"),
    _note,
    by,
    under=stock,
)
def stock_sweep(
    refiner: str, mass: str, since: datetime, until: datetime, note: str, by: str, books: str
) -> BookAnswer:
    """Send sweepings to a refiner."""
    from pourwright.doors.service.stock.sweeping import send_away

    return send_away(books, refiner, mass, since.date(), until.date(), note, by)


@command(
    "settle",
    argument("sweep"),
    option("--recovered", key="sweep-recovered", multiple=True, metavar="ELEMENT:MASS"),
    option("--paid", key="sweep-paid", default="0", metavar="AMOUNT"),
    option("--charged", key="sweep-charged", default="0", metavar="AMOUNT"),
    option("--in-kind", key="sweep-in-kind", is_flag=True),
    option("--statement", "paper", key="sweep-statement", type=PATH, default=None, metavar="FILE"),
    by,
    under=stock,
)
def stock_settle(sweep: str, by: str, books: str, **came: Any) -> BookAnswer:
    """Credit a refiner's settlement to the owners."""
    from pourwright.doors.service.stock.sweeping import Statement, enter_settlement

    return enter_settlement(books, sweep, Statement(**came), by)


@command("sweeps", under=stock)
def stock_sweeps(books: str) -> BookAnswer:
    """List sweeps."""
    from pourwright.doors.service.stock.sweeping import list_sweeps

    return list_sweeps(books)
