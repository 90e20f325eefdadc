"""The commands on the machine itself: ``machine fit`` and ``machine spin``."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from pourwright.core.text import say
from pourwright.doors.cli import output

_PATH = click.Path(path_type=Path)


def add_to(cli: click.Group, context: dict[str, Any]) -> None:
    """Hang the commands on the program."""
    cli.add_command(machine)
    for command in machine.commands.values():
        command.context_settings = context


def _help(name: str) -> dict[str, Any]:
    return {
        "help": say(f"doors.help.{name}"),
        "short_help": say(f"doors.help.{name}.short"),
        "epilog": "\b\n" + say(f"doors.help.{name}.example"),
    }


def _option(*names: str, key: str, **settings: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return click.option(*names, help=say(f"doors.option.{key}"), **settings)


_json = _option("--json", "as_json", key="json", is_flag=True)


def _group(name: str) -> Callable[[Callable[..., Any]], click.Group]:
    return click.group(name, **_help(name))


@_group("machine")
def machine() -> None:
    """Hold the commands on the machine."""


def _command(name: str) -> Callable[[Callable[..., Any]], click.Command]:
    return machine.command(name, **_help(f"machine-{name}"))


@_command("fit")
@click.argument("measurements", type=_PATH)
@_option("--out", key="fit-out", type=_PATH, default=None, metavar="FILE")
@_json
def machine_fit(measurements: Path, out: Path | None, as_json: bool) -> int:
    """Fit a machine to what was measured of it."""
    import pourwright.doors.service.machine_fit as service
    from pourwright.doors.service.machine_fit_text import as_text

    answer = service.fit_machine_file(measurements, out)
    return output.finish(as_json, service.as_json(answer), as_text(answer), answer.findings)


@_command("spin")
@click.argument("recording", type=_PATH)
@_option("--per-turn", "per_turn", key="spin-per-turn", type=click.IntRange(1, 12), default=1, show_default=True)
@_option("--frame-rate", key="spin-frame-rate", default="", metavar="RATE")
@_option("--region", key="spin-region", default="", metavar="X,Y,W,H")
@_json
def machine_spin(recording: Path, per_turn: int, frame_rate: str, region: str, as_json: bool) -> int:
    """Hear or see the speed of an empty spin."""
    import pourwright.doors.service.machine_spin as service

    answer = service.follow_spin(recording, per_turn, frame_rate, region)
    return output.finish(as_json, service.as_json(answer), service.as_text(answer), answer.findings)
