"""What the command line prints: one JSON document, or text that a caster reads."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import click

from pourwright.core.errors import ProfileError, StudioError
from pourwright.core.findings import Finding, Level, in_order, stops
from pourwright.core.text import say
from pourwright.core.work import Report, tell_nobody

_MOST_COLUMNS = 100
_INDENT = 6


def print_answer(as_json: bool, plain: Mapping[str, Any], answer_text: str) -> None:
    """Print the JSON document, or the text."""
    if as_json:
        click.echo(json.dumps(plain, indent=1, ensure_ascii=False))
    elif answer_text:
        click.echo(answer_text)


def finish(
    as_json: bool, plain: Mapping[str, Any], answer_text: str, findings: Iterable[Finding], notes: bool = True
) -> int:
    """Print an answer with its findings (the mere notes only counted, if so asked) and return the exit code."""
    found = in_order(findings)
    document = {**plain}
    document.setdefault("findings", [one.as_json() for one in found])
    print_answer(as_json, document, answer_text)
    if found and not as_json:
        shown = [one for one in found if notes or one.level is not Level.NOTE]
        parts = ["\n" if answer_text else "", findings_text(shown)]
        if len(shown) < len(found):
            parts.append(("\n\n" if shown else "") + say("doors.notes-hidden", count=len(found) - len(shown)))
        click.echo("".join(parts))
    return 1 if stops(found) else 0


def findings_text(findings: Iterable[Finding]) -> str:
    """Return findings as text: level, place, what; then why; then how to mend."""
    return "\n\n".join(_finding_text(one) for one in findings)


def _finding_text(finding: Finding) -> str:
    width = min(shutil.get_terminal_size((_MOST_COLUMNS, 24)).columns, _MOST_COLUMNS)
    level = say(f"doors.level.{finding.level.value}")
    pad = " " * _INDENT
    head = f"{level:<{_INDENT}}{finding.where}"
    lines = [line for line in (finding.what, finding.why, f"→ {finding.do_next}") if line]
    body = [textwrap.fill(line, width, initial_indent=pad, subsequent_indent=pad) for line in lines]
    return "\n".join([head, *body])


def demo_text(folder: Path, written: tuple[Path, ...]) -> str:
    """Return what to do with the demo studio just written."""
    day = next(one for one in written if one.name == "day.toml")
    return say("doors.demo-done", folder=folder, count=len(written), day=day)


def progress(as_json: bool) -> Report:
    """Return a reporter that writes one line to standard error when a person is watching."""
    if as_json or not sys.stderr.isatty():
        return tell_nobody

    def report(fraction: float, what: str) -> None:
        click.echo(f"\r\x1b[2K{fraction:4.0%}  {what[:70]}", nl=False, err=True)
        if fraction >= 1:
            click.echo("\r\x1b[2K", nl=False, err=True)

    return report


def aside(as_json: bool) -> Callable[[str], None]:
    """Return a function that writes a line to standard error when a person is watching, above the progress."""
    watched = not as_json and sys.stderr.isatty()

    def tell(line: str) -> None:
        if watched:
            click.echo(f"\r\x1b[2K{line}", err=True)

    return tell


def wrong_use(as_json: bool, problem: click.ClickException) -> int:
    """Say what was wrong with the command line; exit code 2."""
    if as_json:
        finding = {
            "code": "doors.wrong-use",
            "level": "stop",
            "what": problem.format_message(),
            "where": "command line",
            "why": "",
            "do_next": say("doors.wrong-use.do_next"),
            "sources": [],
        }
        click.echo(json.dumps({"findings": [finding]}, indent=1, ensure_ascii=False))
    problem.show()
    return 2


def stopped(as_json: bool, stop: StudioError) -> int:
    """Say why the program stopped; exit code 1."""
    found = [one for one in getattr(stop, "findings", ()) if isinstance(one, Finding)]
    one_finding = getattr(stop, "finding", None)
    if isinstance(one_finding, Finding):
        found.append(one_finding)
    if found:
        return finish(as_json, {}, "" if as_json or not isinstance(stop, ProfileError) else str(stop), found)
    return finish(as_json, {}, "", (Finding("doors.stopped", Level.STOP, "pourwright", {"reason": str(stop)}),))
