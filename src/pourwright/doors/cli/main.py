"""The command ``pourwright``: parses, calls one service function, prints. Heavy imports wait inside the commands."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from pourwright import __version__
from pourwright.core.errors import StudioError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.cli import books, charge, machine_commands, output, record_commands
from pourwright.doors.cli.fault_log import note_fault

_HEADS = ("spin", "vacuum", "gravity")
_CONTEXT = {"help_option_names": ["-h", "--help"], "max_content_width": 100}


def _command(group: click.Group, name: str) -> Callable[[Callable[..., Any]], click.Command]:
    """Decorate a function as a command whose help and example stand in the catalogue."""
    return group.command(
        name,
        help=say(f"doors.help.{name}"),
        short_help=say(f"doors.help.{name}.short"),
        epilog="\b\n" + say(f"doors.help.{name}.example"),
        context_settings=_CONTEXT,
    )


def _option(*names: str, key: str, **settings: Any) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return click.option(*names, help=say(f"doors.option.{key}"), **settings)


_json = _option("--json", "as_json", key="json", is_flag=True)
_path = click.Path(path_type=Path)


@click.group(help=say("doors.help"), context_settings=_CONTEXT, epilog="\b\n" + say("doors.help.example"))
@click.version_option(__version__, message="pourwright %(version)s")
def cli() -> None:
    """Hold the commands together."""


@_command(cli, "demo")
@click.argument("folder", type=_path)
@_json
def demo(folder: Path, as_json: bool) -> int:
    """Write the demo studio."""
    from pourwright.doors.service.demo import make_demo

    written = make_demo(folder)
    return output.finish(
        as_json, {"written": [str(one) for one in written]}, output.demo_text(folder, written), findings=()
    )


@_command(cli, "check")
@click.argument("files", nargs=-1, required=True, type=_path)
@_option("--units", key="units", default="", metavar="UNIT")
@_option("--alloy", key="alloy", default="sterling-925", show_default=True)
@_option("--large", key="large", is_flag=True)
@_json
def check(files: tuple[Path, ...], units: str, alloy: str, large: bool, as_json: bool) -> int:
    """Measure pattern files."""
    from pourwright.doors.service.check import as_json as plain
    from pourwright.doors.service.check import as_text, check_files

    answer = check_files(files, units, alloy, large)
    return output.finish(as_json, plain(answer), as_text(answer), answer.findings)


@_command(cli, "plan")
@click.argument("day", type=_path)
@_option("--studio", key="studio", type=_path, default=None)
@_option("--out", key="out", type=_path, default=None)
@_option("--paper", key="paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@_option("--notes", key="notes", is_flag=True)
@_option("--large", key="large", is_flag=True)
@_json
def plan(day: Path, studio: Path | None, out: Path | None, paper: str, notes: bool, large: bool, as_json: bool) -> int:
    """Plan a day and print its run sheet."""
    from pourwright.doors.service.plan import as_json as plain
    from pourwright.doors.service.plan import as_text, plan_day_file

    answer = plan_day_file(day, studio, out, paper, output.progress(as_json), large)
    return output.finish(as_json, plain(answer), as_text(answer), answer.findings, notes)


@_command(cli, "balance")
@_option("--flask", key="balance-flask", required=True, metavar="MASS@RADIUS")
@_option("--crucible", key="balance-crucible", required=True, metavar="MASS@RADIUS")
@_option("--charge", "charge_", key="balance-charge", required=True, metavar="MASS@RADIUS..RADIUS")
@_option("--weight", key="balance-weight", required=True, metavar="MASS")
@_option("--arm", key="balance-arm", default="0 kg.m", show_default=True, metavar="MOMENT")
@_option("--rpm", key="balance-rpm", default="300 rpm", show_default=True, metavar="SPEED")
@_json
def balance(flask: str, crucible: str, charge_: str, weight: str, arm: str, rpm: str, as_json: bool) -> int:
    """Find the mark on the arm."""
    import pourwright.doors.service.balance as service

    answer = service.balance(flask, crucible, charge_, weight, arm, rpm)
    return output.finish(as_json, service.as_json(answer), service.as_text(answer), answer.findings)


@_command(cli, "explain")
@click.argument("words", nargs=-1, metavar="[DAY] [KEY]")
@_option("--plan", "plan_path", key="explain-plan", type=_path, default=None)
@_json
def explain(words: tuple[str, ...], plan_path: Path | None, as_json: bool) -> int:
    """Say where a number of the plan comes from."""
    import pourwright.doors.service.explain as service

    answer = service.explain(words, plan_path)
    return output.finish(as_json, service.as_json(answer), service.as_text(answer), answer.findings)


@_command(cli, "freeze")
@click.argument("day", type=_path)
@_option("--studio", key="studio", type=_path, default=None)
@_option("--flask", key="freeze-flask", default="", metavar="FLASK")
@_option("--flask-temperature", key="freeze-flask-temperature", default="", metavar="TEMPERATURE")
@_option("--pour-temperature", key="freeze-pour-temperature", default="", metavar="TEMPERATURE")
@_option("--side", key="freeze-side", default="", metavar="LENGTH")
@_option("--time", "granted", key="freeze-time", default="60 s", show_default=True, metavar="TIME")
@_option("--samples", "samples_count", key="freeze-samples", type=click.IntRange(0, 1000), default=0, show_default=True)
@_option("--scheduler", key="freeze-scheduler", default="", metavar="ADDRESS")
@_option("--fields", key="freeze-fields", type=_path, default=None, metavar="FOLDER")
@_option("--notes", key="notes", is_flag=True)
@_json
def freeze(day: Path, studio: Path | None, as_json: bool, notes: bool, **asked: Any) -> int:
    """Follow the freezing of a day's flasks."""
    import pourwright.doors.service.freeze as service
    from pourwright.doors.cli.stopping import until_stopped

    with until_stopped() as cancelled:
        answer = service.freeze_day_file(
            day, studio, **asked, report=output.progress(as_json), cancelled=cancelled, tell=output.aside(as_json)
        )
    return output.finish(as_json, service.as_json(answer), service.as_text(answer), answer.findings, notes)


@_command(cli, "throw")
@click.argument("day", type=_path)
@_option("--studio", key="studio", type=_path, default=None)
@_option("--flask", key="freeze-flask", default="", metavar="FLASK")
@_option("--turns", key="throw-turns", default="", metavar="TURNS")
@_option("--flask-temperature", key="freeze-flask-temperature", default="", metavar="TEMPERATURE")
@_option("--pour-temperature", key="freeze-pour-temperature", default="", metavar="TEMPERATURE")
@_option("--head", key="throw-head", type=click.Choice(_HEADS), default=_HEADS[0], show_default=True)
@_option("--vacuum", key="throw-vacuum", default="", metavar="PRESSURE")
@_option("--side", key="throw-side", default="", metavar="LENGTH")
@_option("--time", "granted", key="throw-time", default="60 s", show_default=True, metavar="TIME")
@_option("--samples", "samples_count", key="throw-samples", type=click.IntRange(0, 1000), default=40, show_default=True)
@_option("--window", key="throw-window", is_flag=True)
@_option("--notes", key="notes", is_flag=True)
@_json
def throw(day: Path, studio: Path | None, as_json: bool, notes: bool, **asked: Any) -> int:
    """Follow the metal into a day's flasks."""
    import pourwright.doors.service.throw as service
    from pourwright.doors.cli.stopping import until_stopped
    from pourwright.doors.service.throw_text import as_text

    with until_stopped() as cancelled:
        answer = service.throw_day_file(
            day, studio, **asked, report=output.progress(as_json), cancelled=cancelled, tell=output.aside(as_json)
        )
    return output.finish(as_json, service.as_json(answer), as_text(answer), answer.findings, notes)


@_command(cli, "simulate")
@click.argument("day", type=_path)
@_option("--studio", key="studio", type=_path, default=None)
@_option("--flask", key="freeze-flask", default="", metavar="FLASK")
@_option("--turns", key="throw-turns", default="", metavar="TURNS")
@_option("--flask-temperature", key="freeze-flask-temperature", default="", metavar="TEMPERATURE")
@_option("--pour-temperature", key="freeze-pour-temperature", default="", metavar="TEMPERATURE")
@_option("--time", "granted", key="freeze-time", default="60 s", show_default=True, metavar="TIME")
@_option("--samples", "samples_count", key="throw-samples", type=click.IntRange(0, 1000), default=40, show_default=True)
@_option("--notes", key="notes", is_flag=True)
@_json
def simulate(day: Path, studio: Path | None, as_json: bool, notes: bool, **asked: Any) -> int:
    """Throw, fill, freeze and cool a day's flasks."""
    import pourwright.doors.service.simulate as service
    from pourwright.doors.cli.stopping import until_stopped

    with until_stopped() as cancelled:
        answer = service.simulate_day_file(
            day, studio, **asked, report=output.progress(as_json), cancelled=cancelled, tell=output.aside(as_json)
        )
    return output.finish(as_json, service.as_json(answer), service.as_text(answer), answer.findings, notes)


@_command(cli, "verify")
@_json
def verify(as_json: bool) -> int:
    """Hold the program against the world outside."""
    import pourwright.doors.service.verify as service

    checks = service.run_checks()
    output.print_answer(as_json, service.as_json(checks), service.as_text(checks))
    return 0 if all(one.passed for one in checks if one.group != "memory") else 1


books.add_to(cli, _CONTEXT)
record_commands.add_to(cli, _CONTEXT)
charge.charge.context_settings = _CONTEXT
cli.add_command(charge.charge)
machine_commands.add_to(cli, _CONTEXT)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code: 0 fine, 1 findings that stop, 2 wrong use."""
    sys.exit(run(sys.argv[1:] if arguments is None else arguments))


def run(arguments: list[str]) -> int:
    """Run one command line and return its exit code; nothing but an answer or a sentence is ever printed."""
    as_json = "--json" in arguments
    try:
        return int(cli.main(arguments, prog_name="pourwright", standalone_mode=False) or 0)
    except click.exceptions.Abort:
        return 1
    except click.ClickException as wrong_use:
        return output.wrong_use(as_json, wrong_use)
    except StudioError as stop:
        return output.stopped(as_json, stop)
    except BrokenPipeError:
        return 1
    except Exception as fault:
        reference, path = note_fault(fault)
        finding = Finding("doors.fault", Level.STOP, "pourwright", {"reference": reference, "log": str(path)})
        return output.finish(as_json, {}, "", (finding,))
