"""A TOML file with the line of every key, so that a finding can say where to look."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, Level
from pourwright.core.text import say

KeyPath = tuple[str | int, ...]

# A studio file is a few kilobytes; more than this was not typed by a person.
_MOST_BYTES = 2_000_000
_TOKEN = re.compile(r'"""|\'\'\'|"(?:\\.|[^"\\])*"|\'[^\']*\'|#.*|[\[{]|[\]}]')
_HEADER = re.compile(r"^\s*(\[\[?)\s*(.+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*'))*)\s*=""")
_KEY_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")
_AT_LINE = re.compile(r"\s*\(at (?:line (\d+))?[^)]*\)$")


@dataclass(frozen=True)
class TomlSource:
    """A file that was read: its short name, what it says, the line of each key and the hash of its bytes."""

    name: str
    content: Mapping[str, Any]
    lines: Mapping[KeyPath, int] = field(default_factory=dict)
    sha256: str = ""

    def line_of(self, path: KeyPath) -> int | None:
        """Return the line of a key, else of the nearest thing around it, else None."""
        while path:
            if path in self.lines:
                return self.lines[path]
            path = path[:-1]
        return None


def load_toml(path: Path) -> TomlSource | Finding:
    """Read a TOML file, or say in one finding why it cannot be read."""
    name = path.name
    content = _bytes_of(path)
    if isinstance(content, Finding):
        return content
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        line = content[: broken.start].count(b"\n") + 1
        return Finding("studio.file-not-utf8", Level.STOP, name, {"file": name, "line": line})
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as broken:
        return _broken(name, text, str(broken))
    except RecursionError:
        return _broken(name, text, say("studio.nested-too-deep"))
    return TomlSource(name, values, key_lines(text), hashlib.sha256(content).hexdigest())


def _bytes_of(path: Path) -> bytes | Finding:
    params = {"file": path.name, "folder": str(path.parent)}
    if path.is_dir():
        return Finding("studio.file-is-folder", Level.STOP, path.name, params)
    try:
        if path.stat().st_size > _MOST_BYTES:
            most = f"{_MOST_BYTES // 1_000_000} MB"
            return Finding("studio.file-too-large", Level.STOP, path.name, {**params, "most": most})
        return path.read_bytes()
    except FileNotFoundError:
        return Finding("studio.file-missing", Level.STOP, path.name, params)
    except OSError as refused:
        reason = refused.strerror or type(refused).__name__
        return Finding("studio.file-unreadable", Level.STOP, path.name, {**params, "reason": reason})


def _broken(name: str, text: str, message: str) -> Finding:
    found = _AT_LINE.search(message)
    rows = text.split("\n")
    line = int(found[1]) if found and found[1] else len(rows)
    row = rows[min(line, len(rows)) - 1].strip()[:80]
    params = {"file": name, "line": line, "problem": _AT_LINE.sub("", message), "row": row}
    return Finding("studio.toml-broken", Level.STOP, f"{name}, line {line}", params)


def key_lines(text: str) -> dict[KeyPath, int]:
    """Return the line of every table header and key of a TOML text that is known to be sound."""
    lines: dict[KeyPath, int] = {}
    counts: Counter[KeyPath] = Counter()
    table: KeyPath = ()
    for number, row in _statements(text):
        header, key = _HEADER.match(row), _KEY.match(row)
        if key:
            _note(lines, table, _parts(key[1]), number)
        elif header:
            table = _enter(counts, _parts(header[2]), many=header[1] == "[[")
            _note(lines, (), table, number)
    return lines


def _note(lines: dict[KeyPath, int], table: KeyPath, key: KeyPath, number: int) -> None:
    for end in range(1, len(key) + 1):
        lines.setdefault(table + key[:end], number)


def _parts(dotted: str) -> KeyPath:
    return tuple(part.strip("\"'") for part in _KEY_PART.findall(dotted))


def _enter(counts: Counter[KeyPath], parts: KeyPath, many: bool) -> KeyPath:
    path: KeyPath = ()
    for part in parts[:-1]:
        path = (*path, part)
        if path in counts:
            path = (*path, counts[path] - 1)
    path = (*path, parts[-1])
    if not many:
        return path
    counts[path] += 1
    return (*path, counts[path] - 1)


def _statements(text: str) -> Iterator[tuple[int, str]]:
    """Yield the first row of each statement; rows inside a long text or an open bracket belong to the one before."""
    depth, quote = 0, ""
    for number, row in enumerate(text.split("\n"), 1):
        if depth == 0 and not quote and row.strip() and not row.lstrip().startswith("#"):
            yield number, row
        depth, quote = _after(row, depth, quote)


def _after(row: str, depth: int, quote: str) -> tuple[int, str]:
    position = 0
    while position < len(row):
        if quote:
            end = row.find(quote, position)
            if end < 0:
                return depth, quote
            position, quote = end + len(quote), ""
            continue
        token = _TOKEN.search(row, position)
        if token is None:
            break
        position = token.end()
        if token[0] in ('"""', "'''"):
            quote = token[0]
        else:
            depth += {"[": 1, "{": 1, "]": -1, "}": -1}.get(token[0], 0)
    return depth, quote
