"""The commands on the metal book: ``stock``, ``book`` and ``statement``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from pourwright.core.text import say
from pourwright.doors.cli import output

_PATH = click.Path(path_type=Path)
_DAY = click.DateTime(["%Y-%m-%d"])


def add_to(cli: click.Group, context: dict[str, Any]) -> None:
    """Hang the commands on the program."""
    for group in (stock, book):
        cli.add_command(group)
        for command in group.commands.values():
            command.context_settings = context
    cli.add_command(statement)


def _option(*names: str, key: str, **settings: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return click.option(*names, help=say(f"doors.option.{key}"), **settings)


def _help(name: str) -> dict[str, Any]:
    return {
        "help": say(f"doors.help.{name}"),
        "short_help": say(f"doors.help.{name}.short"),
        "epilog": "\b\n" + say(f"doors.help.{name}.example"),
    }


def _command(group: click.Group, name: str) -> Callable[[Callable[..., Any]], click.Command]:
    return group.command(name, **_help(f"{group.name}-{name}"))


def _alone(name: str) -> Callable[[Callable[..., Any]], click.Command]:
    return click.command(name, **_help(name))


def _group(name: str) -> Callable[[Callable[..., Any]], click.Group]:
    return click.group(name, **_help(name))


_json = _option("--json", "as_json", key="json", is_flag=True)
_books = _option("--books", key="books", default="", metavar="FILE")
_by = _option("--by", key="by", required=True, metavar="NAME")


def _finish(as_json: bool, answer: Any) -> int:
    return output.finish(as_json, answer.document, answer.text, answer.findings)


@_group("stock")
def stock() -> None:
    """Hold the commands on the drawer."""


@_group("book")
def book() -> None:
    """Hold the commands on movements."""


@_command(stock, "list")
@_books
@_option("--all", "empty_too", key="stock-all", is_flag=True)
@_json
def stock_list(books: str, empty_too: bool, as_json: bool) -> int:
    """List lots."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.list_stock(books, empty_too))


@_command(stock, "add")
@_option("--metal", key="stock-metal", required=True)
@_option("--mass", key="stock-mass", required=True, metavar="MASS")
@_option("--from", "source", key="stock-from", required=True, metavar="NAME")
@_by
@_option("--fineness", key="stock-fineness", default="", metavar="FINENESS")
@_option("--owner", key="stock-owner", default="", metavar="NAME")
@_option("--price", key="stock-price", default="0", metavar="AMOUNT")
@_option("--note", key="stock-note", default="")
@_option("--whole", key="stock-whole", is_flag=True)
@_books
@_json
def stock_add(
    metal: str,
    mass: str,
    source: str,
    by: str,
    fineness: str,
    owner: str,
    price: str,
    note: str,
    whole: bool,
    books: str,
    as_json: bool,
) -> int:
    """Enter a lot."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.add_stock(books, metal, mass, source, by, fineness, owner, price, note, whole))


@_command(stock, "shut")
@click.argument("lot")
@_option("--why", key="reason", required=True)
@_books
@_json
def stock_shut(lot: str, why: str, books: str, as_json: bool) -> int:
    """Shut a lot away."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.shut_stock(books, lot, why))


@_command(stock, "release")
@click.argument("lot")
@_books
@_json
def stock_release(lot: str, books: str, as_json: bool) -> int:
    """Let a lot out again."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.shut_stock(books, lot, ""))


@_command(book, "pour")
@click.argument("pour")
@_option("--alloy", key="alloy", default="sterling-925", show_default=True)
@_option("--use", "uses", key="pour-use", multiple=True, required=True, metavar="LOT:MASS")
@_option("--casting", "castings", key="pour-casting", multiple=True, metavar="PIECE:OWNER:MASS")
@_option("--button", key="pour-button", default="", metavar="MASS")
@_option("--scrap", key="pour-scrap", default="", metavar="MASS")
@_option("--spill", key="pour-spill", default="", metavar="MASS")
@_option("--scale", key="scale", default="0.01 g", show_default=True, metavar="MASS")
@_option("--explained", key="pour-explained", default="")
@_option("--aborted", key="pour-aborted", is_flag=True)
@_option("--mark", key="mark", default="", metavar="MARK")
@_by
@_books
@_json
def book_pour(
    pour: str,
    alloy: str,
    uses: tuple[str, ...],
    castings: tuple[str, ...],
    button: str,
    scrap: str,
    spill: str,
    scale: str,
    explained: str,
    aborted: bool,
    mark: str,
    by: str,
    books: str,
    as_json: bool,
) -> int:
    """Book a pour."""
    import pourwright.doors.service.books as service

    weights = {"button": button, "scrap": scrap, "spill": spill}
    return _finish(
        as_json,
        service.book_a_pour(books, pour, alloy, uses, castings, by, weights, scale, explained, aborted, mark),
    )


@_command(book, "balance")
@_books
@_json
def book_balance(books: str, as_json: bool) -> int:
    """Check that nothing was made or lost."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.balance_books(books))


@_command(book, "movements")
@_option("--account", key="account", default="", metavar="ACCOUNT")
@_option("--since", key="since-number", default=0, type=int, metavar="NUMBER")
@_books
@_json
def book_movements(account: str, since: int, books: str, as_json: bool) -> int:
    """List movements."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.list_movements(books, account, since))


@_command(book, "reverse")
@click.argument("mark")
@_option("--why", key="reason", required=True)
@_by
@_books
@_json
def book_reverse(mark: str, why: str, by: str, books: str, as_json: bool) -> int:
    """Take a movement back."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.take_back(books, mark, by, why))


@_command(book, "backup")
@_books
@_json
def book_backup(books: str, as_json: bool) -> int:
    """Copy the books."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.back_up_books(books))


@_command(book, "restore")
@click.argument("backup", type=_PATH)
@_books
@_json
def book_restore(backup: Path, books: str, as_json: bool) -> int:
    """Put a backup in place."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.restore_books(books, backup))


@_command(book, "export")
@click.argument("folder", type=_PATH)
@_books
@_json
def book_export(folder: Path, books: str, as_json: bool) -> int:
    """Write plain files."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.export_to(books, folder))


@_command(book, "import")
@click.argument("folder", type=_PATH)
@_books
@_json
def book_import(folder: Path, books: str, as_json: bool) -> int:
    """Read plain files."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.import_from(books, folder))


@_alone("statement")
@click.argument("owner")
@_option("--from", "first", key="statement-from", type=_DAY, default="2000-01-01", metavar="DAY")
@_option("--to", "last", key="statement-to", type=_DAY, default="2100-01-01", metavar="DAY")
@_books
@_json
def statement(owner: str, first: datetime, last: datetime, books: str, as_json: bool) -> int:
    """Print a statement."""
    import pourwright.doors.service.books as service

    return _finish(as_json, service.statement(books, owner, first.date(), last.date()))
