"""Sentences for people live in the catalogue; every key used exists and every entry is used."""

from __future__ import annotations

import ast
import re
from pathlib import Path

from babel.messages.pofile import read_po

SOURCE = Path(__file__).resolve().parents[2] / "src/pourwright"
_ROOMS = "core|matter|studio|shape|physics|simulate|prepare|sheet|books|doors"
_KEY = re.compile(rf"^({_ROOMS})\.[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?$")
_FILE_NAMES = ("studio.toml", "books.sqlite")
# What is said to the database, not to people.
_SQL = re.compile(
    r"^\W*(select|insert into|create|begin select|update|pragma|\w+ in \('|_booked_once|for each row|id'\),) ?"
)
_PARTS = ("what", "why", "do_next")
# Prefixes of keys that are put together at run time, each with the reason.
_BUILT_AT_RUN_TIME = (
    "doors.level.",  # the word for a finding's level
    "doors.help.",  # click asks for the help of a command by the command's name
    "doors.stock-head.",  # column heads of the stock
    "doors.bill-head.",  # of a bill, of a statement
    "doors.statement-head.",
    "doors.notebook-kind.",  # what a notebook's sheet holds
    "doors.record-head.",  # and of the records; their facts, results and verdicts are words in the books
    "doors.record-fact.",
    "doors.record-result.",
    "doors.record-verdict.",
    "doors.option.",  # and for the help of an option by the option's name
    "sheet.",  # the run sheet hands whole groups of sentences to the typst template
)


def _catalogue() -> dict[str, str]:
    entries: dict[str, str] = {}
    for path in SOURCE.glob("locale/en/LC_MESSAGES/*.po"):
        with path.open("rb") as handle:
            for message in read_po(handle, abort_invalid=True):
                if message.id:
                    assert message.id.startswith(path.stem + "."), f"{message.id} stands in {path.name}"
                    assert message.id not in entries
                    entries[message.id] = message.string
    return entries


def _trees():
    for path in sorted(SOURCE.rglob("*.py")):
        yield path, ast.parse(path.read_text("utf-8"))


def _docstring_ids(tree: ast.AST) -> set[int]:
    """Docstrings, and the texts of programmer errors (ValueError and the like), which no user sees."""
    ids = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            ids.add(id(node.value))
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            name = getattr(node.exc.func, "id", "")
            if name in {"ValueError", "TypeError", "AssertionError", "DataError", "KeyError", "RuntimeError"}:
                ids |= {id(part) for part in ast.walk(node.exc)}
    return ids


def _is_sentence(value: str) -> bool:
    words = re.findall(r"[A-Za-z]{2,}", value)
    return (
        not _SQL.match(value)
        and len(words) >= 4
        and " " in value.strip()
        and not value.lstrip().startswith(("#", "<", "@"))
    )


def test_no_sentence_outside_the_catalogue():
    found = []
    for path, tree in _trees():
        skip = _docstring_ids(tree)
        for node in ast.walk(tree):
            if (
                isinstance(node, ast.Constant)
                and isinstance(node.value, str)
                and id(node) not in skip
                and _is_sentence(node.value)
            ):
                found.append(f"{path.relative_to(SOURCE)}:{node.lineno}: {node.value[:60]!r}")
    assert not found, "\n".join(found)


def test_the_sentence_finder_finds():
    assert _is_sentence("Flask 3 holds too little mould.")
    assert not _is_sentence("shape.mesh-open.what")


def _used_keys() -> set[str]:
    return {
        node.value
        for _, tree in _trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and _KEY.match(node.value)
        and node.value not in _FILE_NAMES
    }


def test_every_key_used_is_in_the_catalogue():
    entries = _catalogue()
    whole = {key.rsplit(".", 1)[0] for key in entries if key.rsplit(".", 1)[1] in _PARTS}
    missing = sorted(key for key in _used_keys() if key not in entries and key not in whole)
    assert not missing, "\n".join(missing)


def test_every_finding_says_what_and_what_to_do():
    entries = _catalogue()
    codes = (key for key in entries if not key.startswith("sheet."))  # the sheet has words of its own, no findings
    whole = {key.rsplit(".", 1)[0] for key in codes if key.rsplit(".", 1)[1] in _PARTS}
    lacking = sorted(code for code in whole if not {f"{code}.what", f"{code}.do_next"} <= entries.keys())
    assert not lacking, "\n".join(lacking)


def test_every_entry_is_used():
    used = _used_keys()
    idle = sorted(
        key
        for key in _catalogue()
        if key not in used and key.rsplit(".", 1)[0] not in used and not key.startswith(_BUILT_AT_RUN_TIME)
    )
    assert not idle, "\n".join(idle)
