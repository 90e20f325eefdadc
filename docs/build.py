"""Writes the generated reference pages: commands, findings, file schemas. ``--check`` only compares."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click
from babel.messages.pofile import read_po

from pourwright.doors.cli.main import cli
from pourwright.studio.schema import schemas

ROOT = Path(__file__).resolve().parents[1]
REFERENCE = ROOT / "docs/reference"
MADE = "<!-- made by `make docs`; do not edit -->\n"


def commands_page() -> str:
    """Return the page of commands, as their help prints them."""
    parts = [MADE, "# Commands\n"]
    program = click.Context(cli, info_name="pourwright", terminal_width=100, **cli.context_settings)
    for name, command in _all_commands():
        context = click.Context(command, parent=program, info_name=name, **command.context_settings)
        parts.append(f"## {name}\n\n```\n{command.get_help(context)}\n```\n")
    return "\n".join(parts)


def _all_commands() -> list[tuple[str, click.Command]]:
    """Return the commands with their full names, those of groups after the group."""
    found: list[tuple[str, click.Command]] = []
    for name, command in sorted(cli.commands.items()):
        found.append((name, command))
        if isinstance(command, click.Group):
            found += [(f"{name} {one}", sub) for one, sub in sorted(command.commands.items())]
    return found


def _catalogue() -> dict[str, str]:
    entries = {}
    for path in sorted((ROOT / "src/pourwright/locale/en/LC_MESSAGES").glob("*.po")):
        with path.open("rb") as handle:
            entries |= {one.id: one.string for one in read_po(handle) if one.id}
    return entries


def findings_page() -> str:
    """Return the page of all findings with their sentences."""
    entries = _catalogue()
    codes = sorted({key.removesuffix(".what") for key in entries if key.endswith(".what")})
    parts = [MADE, "# Findings\n", "What the program may say, why, and how to mend it. Blanks are in {braces}.\n"]
    for code in codes:
        parts.append(f"## {code}\n")
        parts += [entries[f"{code}.{part}"] + "\n" for part in ("what", "why") if f"{code}.{part}" in entries]
        parts.append(f"→ {entries[f'{code}.do_next']}\n")
    return "\n".join(parts)


def pages() -> dict[Path, str]:
    """Return every generated page by its path."""
    made = {REFERENCE / "commands.md": commands_page(), REFERENCE / "findings.md": findings_page()}
    for name, schema in schemas().items():
        made[REFERENCE / f"{name}.schema.json"] = json.dumps(schema, indent=1, ensure_ascii=False) + "\n"
    return made


def stale() -> list[str]:
    """Return the pages that differ from what the program says now."""
    return [
        str(path.relative_to(ROOT))
        for path, content in pages().items()
        if not path.exists() or path.read_text("utf-8") != content
    ]


if __name__ == "__main__":
    if "--check" in sys.argv:
        sys.exit("\n".join(["stale, run make docs:", *stale()]) if stale() else 0)
    for path, content in pages().items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, "utf-8")
        print(path.relative_to(ROOT))
