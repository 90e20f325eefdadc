"""Prints statements of owners: metal and money over a span, each owner's on pages of its own."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from importlib.resources import files
from pathlib import Path

from pourwright.core.text import language_in_use, say
from pourwright.sheet.run_sheet import PAPERS, fonts_folder
from pourwright.sheet.show import user_text

_TEMPLATES = ("common.typ", "statement.typ")
_WORDS = (
    "page", "of", "mark.uncalibrated", "mark.practice", "mark.memory", "statement.title", "statement.metal",
    "statement.day", "statement.kind", "statement.where", "statement.gross", "statement.brought", "statement.carried",
    "statement.none", "statement.money", "statement.reason", "statement.amount", "statement.to-pay",
    "statement.credit", "statement.unit",
)  # fmt: skip


def print_statement(owners: Sequence[Mapping[str, object]], day: date, paper: str = "a4") -> bytes:
    """Return statements as a PDF.

    Parameters
    ----------
    owners : sequence of mapping
        Texts of each owner's pages, as ``doors.service.books.statement_files`` makes them.
    day : date
        The last day; it dates the file, so that the same books give the same bytes.
    paper : str
        One of :data:`pourwright.sheet.run_sheet.PAPERS`.

    Raises
    ------
    ValueError
        The paper size is not one of ours.
    """
    import typst

    if paper not in PAPERS:
        raise ValueError(f"paper size {paper!r} is none of {', '.join(PAPERS)}")
    content = {
        "paper": PAPERS[paper],
        "language": language_in_use(),
        "day": [day.year, day.month, day.day],
        "title": say("sheet.statement.title"),
        "notice": say("sheet.statement.notice"),
        "words": {key: say(f"sheet.{key}") for key in _WORDS},
        "owners": [_tidy(one) for one in owners],
    }
    with tempfile.TemporaryDirectory(prefix="pourwright-") as scratch:
        desk = Path(scratch)
        for name in _TEMPLATES:
            (desk / name).write_bytes(files("pourwright.sheet").joinpath("templates", name).read_bytes())
        (desk / "data.json").write_text(json.dumps(content, ensure_ascii=False), "utf-8")
        pdf = typst.compile(
            str(desk / "statement.typ"),
            root=str(desk),
            font_paths=[str(fonts_folder())],
            ignore_system_fonts=True,
            format="pdf",
            timestamp=int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()),
        )
    return bytes(pdf)


def _tidy(value: object) -> object:
    """Return texts on one line each, breakable where a word is too long for its column."""
    if isinstance(value, str):
        return user_text(value)
    if isinstance(value, Mapping):
        return {key: _tidy(one) for key, one in value.items()}
    return [_tidy(one) for one in value] if isinstance(value, list) else value
