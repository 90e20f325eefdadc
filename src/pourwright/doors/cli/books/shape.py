"""The shape that all commands on the books share: texts in, one answer of the service out."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourwright.core.text import say
from pourwright.doors.cli import output

if TYPE_CHECKING:
    from pourwright.doors.service.books.opening import BookAnswer

PATH = click.Path(path_type=Path)
DAY = click.DateTime(["%Y-%m-%d"])
Decorator = Callable[[Any], Any]


def option(*names: str, key: str, **settings: Any) -> Decorator:
    """Return an option whose help stands in the catalogue."""
    return click.option(*names, help=say(f"doors.option.{key}"), **settings)


def _named(_context: click.Context, _option: click.Parameter, name: str) -> str:
    """Refuse a blank where a person signs."""
    if not name.strip():
        raise click.BadParameter(say("doors.blank"))
    return name


argument = click.argument
by = option("--by", key="by", required=True, metavar="NAME", callback=_named)
_books = option("--books", key="books", default="", metavar="FILE")
_json = option("--json", "as_json", key="json", is_flag=True)


def group(name: str) -> click.Group:
    """Return a group of commands."""
    return click.Group(name, **_help(name))


def command(name: str, *settings: Decorator, under: click.Group | None = None) -> Callable[..., click.Command]:
    """Decorate a function that returns an answer of the books as a command that prints it.

    Parameters
    ----------
    name : str
        Of the command; its help stands in the catalogue under it, after its group's name.
    *settings : decorator
        Options and arguments, in the order of the help; ``--books`` and ``--json`` come after them.
    under : Group, optional
        The group that it hangs under.
    """

    def decorate(work: Callable[..., BookAnswer]) -> click.Command:
        @functools.wraps(work)
        def run(as_json: bool, **asked: Any) -> int:
            answer = work(**asked)
            return output.finish(as_json, answer.document, answer.text, answer.findings)

        made = click.Command(name, callback=run, **_help(f"{under.name}-{name}" if under else name))
        for setting in (*settings, _books, _json):
            setting(made)
        if under:
            under.add_command(made)
        return made

    return decorate


def _help(name: str) -> dict[str, Any]:
    return {
        "help": say(f"doors.help.{name}"),
        "short_help": say(f"doors.help.{name}.short"),
        "epilog": "\b\n" + say(f"doors.help.{name}.example"),
    }
