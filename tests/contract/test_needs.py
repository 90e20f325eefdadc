"""The index of needs names tests that exist."""

from __future__ import annotations

import ast
import re
from collections import Counter
from functools import lru_cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
INDEX = ROOT / "docs/verification/needs.md"
_ROW = re.compile(r"^\| (?P<need>[A-O]\d{1,2}) \| (?P<shown>[^|]+) \| (?P<tests>[^|]+) \|$", re.M)
_TEST = re.compile(r"`(?P<file>tests/[\w/]+\.py)::(?P<name>test_\w+)`")


@lru_cache(maxsize=64)
def _functions(path: Path) -> frozenset[str]:
    tree = ast.parse(path.read_text("utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def _problems(index: str) -> list[str]:
    rows = list(_ROW.finditer(index))
    counts = Counter(row["need"] for row in rows)
    found = [f"{need} stands there {count} times" for need, count in counts.items() if count > 1]
    lines = [line for line in index.splitlines() if line.startswith("|")][2:]
    found += [f"not read as a row: {line[:40]}" for line in lines if not _ROW.match(line)]
    for row in rows:
        named = list(_TEST.finditer(row["tests"]))
        if not named or _TEST.sub("", row["tests"]).strip():
            found.append(f"{row['need']} names something that is no test: {row['tests'][:60]}")
        for one in named:
            path = ROOT / one["file"]
            if not path.is_file() or one["name"] not in _functions(path):
                found.append(f"{row['need']}: there is no {one['file']}::{one['name']}")
    return found


def test_every_test_named_for_a_need_exists():
    index = INDEX.read_text("utf-8")
    assert _ROW.search(index)
    assert not _problems(index), "\n".join(_problems(index))


def test_a_need_shown_by_nothing_is_noticed():
    head = "| need | what is shown | tests |\n|---|---|---|\n"
    here = "`tests/contract/test_needs.py::test_every_test_named_for_a_need_exists`"
    assert not _problems(f"{head}| A1 | volume | {here} |\n")
    assert _problems(f"{head}| A1 | volume | `tests/contract/test_needs.py::test_gone` |\n")
    assert _problems(f"{head}| A1 | volume | `tests/contract/no_such_file.py::test_gone` |\n")
    assert _problems(f"{head}| A1 | volume | by looking |\n")
    assert _problems(f"{head}| A1 | volume | {here} |\n| A1 | volume | {here} |\n")
    assert _problems(f"{head}| AA1 | volume | {here} |\n")
