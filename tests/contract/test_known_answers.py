"""The list of known answers names rows of verify, tests and needs that exist, and loses none."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from importlib.resources import files

from tests.contract.test_needs import INDEX, ROOT, _functions

LIST = ROOT / "docs/verification/known-answers.md"
_SHOWN = re.compile(
    r"`(?:verify (?P<row>[\w-]+)|need (?P<need>[A-O]\d{1,2})|(?P<file>tests/[\w/]+\.py)::(?P<name>test_\w+))`"
)
_LATER = re.compile(r"(?:later|not reckoned): \w.+")
# What each part of the list held when it was last gone through; a row is never dropped to make a check pass.
_COUNTS = {
    "Printed values and formulas": 80,
    "Worked examples": 31,
    "Spinning and filling": 47,
    "Checks of the needs": 36,
}
# So many of them are shown today; the rest waits for the part of the program that reckons it.
_SHOWN_AT_LEAST_COUNT = 143


def _rows(text: str) -> list[tuple[str, str, str]]:
    """Return part, answer and what shows it, of every row."""
    part, rows = "", []
    for line in text.splitlines():
        if line.startswith("## "):
            part = line[3:]
        elif line.startswith("|") and not line.startswith(("| answer", "|---")):
            cells = [one.strip() for one in line.strip("|").split("|")]
            rows.append((part, cells[0], cells[2]))
    return rows


def _evidence() -> set[str]:
    text = files("pourwright.doors.service.evidence").joinpath("evidence.toml").read_text("utf-8")
    return {row["id"] for row in tomllib.loads(text)["check"]}


def _problems(rows: list[tuple[str, str, str]]) -> list[str]:
    evidence, needs = _evidence(), INDEX.read_text("utf-8")
    found = []
    for _, answer, shown in rows:
        named = list(_SHOWN.finditer(shown))
        if _SHOWN.sub("", shown).strip() and not _LATER.fullmatch(shown):
            found.append(f"{answer}: not understood: {shown}")
        for one in named:
            if one["row"] and one["row"] not in evidence:
                found.append(f"{answer}: verify has no row {one['row']}")
            if one["need"] and f"| {one['need']} |" not in needs:
                found.append(f"{answer}: no test is named for need {one['need']}")
            if one["file"] and one["name"] not in _functions(ROOT / one["file"]):
                found.append(f"{answer}: there is no {one['file']}::{one['name']}")
    return found


def test_every_known_answer_is_shown_or_says_why_not():
    assert _problems(_rows(LIST.read_text("utf-8"))) == []


def test_no_known_answer_is_lost():
    rows = _rows(LIST.read_text("utf-8"))
    assert Counter(part for part, *_ in rows) == _COUNTS
    assert len({(part, answer) for part, answer, _ in rows}) == len(rows)
    assert sum(bool(_SHOWN.search(shown)) for *_, shown in rows) >= _SHOWN_AT_LEAST_COUNT


def test_a_row_that_names_nothing_is_noticed():
    assert _problems([("x", "y", "`verify no-such-row`"), ("x", "y", "`need O9`"), ("x", "y", "soon")])
    assert len(_problems([("x", "y", "`tests/contract/test_needs.py::test_gone`")])) == 1
