"""The commands on the metal book: ``stock``, ``book`` and ``statement``."""

from __future__ import annotations

from typing import Any

import click

from pourwright.doors.cli.books import assays, drawer, keeping, money, movements, notebook, statement, stock, trade
from pourwright.doors.cli.books.groups import book

# Imported for the commands that they hang under a group.
__all__ = ["add_to", "assays", "drawer", "keeping", "money", "movements", "notebook", "trade"]


def add_to(cli: click.Group, context: dict[str, Any]) -> None:
    """Hang the commands on the program."""
    for group in (stock.stock, book):
        cli.add_command(group)
        for command in group.commands.values():
            command.context_settings = context
    cli.add_command(statement.statement)
