"""Papers of one piece: the receipt when it comes in, and the card that goes home with it once it is cast."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass
from datetime import UTC, date, datetime
from importlib.resources import files
from pathlib import Path

from pourwright.core.files import write_whole
from pourwright.core.text import language_in_use, say
from pourwright.sheet import show as paper
from pourwright.sheet.cautions import notice
from pourwright.sheet.run_sheet import PAPERS, fonts_folder

Row = tuple[str, str]
_WORDS = {
    "receipt": "sheet.receipt.title",
    "agreed": "sheet.receipt.agreed",
    "signature": "sheet.receipt.signature",
    "for": "sheet.build.owner",
    "photo": "sheet.card.photo",
    "weight": "sheet.keepsake.weight",
    "came-out": "sheet.card.came-out",
    "try": "sheet.card.try",
    "page": "sheet.page",
    "of": "sheet.of",
}
_PHOTO = "photo"


@dataclass(frozen=True)
class Receipt:
    """What stands on a receipt: ready words. ``facts`` are pairs of name and value, ``consent`` the lines as shown."""

    piece: str
    title: str
    owner: str
    studio: str
    facts: tuple[Row, ...]
    consent: tuple[str, ...]
    agreed_by: str
    taken_in_by: str


@dataclass(frozen=True)
class Keepsake:
    """What stands on the card of a cast piece: ready words. ``lots`` are rows of lot, metal and mass."""

    piece: str
    title: str
    owner: str
    studio: str
    alloy: str
    mass: str
    fineness: str
    remark: str
    lots: tuple[tuple[str, str, str], ...]
    facts: tuple[Row, ...]
    outcome: tuple[str, ...]


def receipt_text(one: Receipt) -> str:
    """Return a receipt as plain text."""
    width = max((len(name) for name, _ in one.facts), default=0)
    return "\n".join(
        (
            say("sheet.receipt.title"),
            f"{one.piece}  {one.title}  ({one.owner})",
            "",
            *(f"  {name:<{width}}  {value}" for name, value in one.facts),
            "",
            *(f"  {line}" for line in one.consent),
            "",
            f"  {say('sheet.receipt.agreed')}: {one.agreed_by}",
        )
    )


def write_receipt(one: Receipt, day: date, target: Path, size: str = "a4") -> None:
    """Write a receipt as PDF; the same receipt gives the same bytes."""
    write_whole(target, _print("receipt.typ", _tidy(one), one.piece, day, size))


def write_keepsake(
    one: Keepsake, day: date, target: Path, photo: bytes = b"", ending: str = "", size: str = "a4"
) -> bool:
    """Write the card of a piece as PDF, and return whether its photo could be drawn on it.

    Parameters
    ----------
    one : Keepsake
        Its words.
    day : date
        Of the pour; the date of the file.
    target : Path
        Where it goes.
    photo : bytes
        A picture, or nothing.
    ending : str
        Of the picture's name, for example ``.jpg``.
    size : str
        One of :data:`pourwright.sheet.run_sheet.PAPERS`.
    """
    content = _tidy(one)
    try:
        whole = _print("keepsake.typ", content, one.piece, day, size, photo, ending)
    except RuntimeError:  # what the printing program says of a picture that is none
        if not photo:
            raise
        write_whole(target, _print("keepsake.typ", content, one.piece, day, size))
        return False
    write_whole(target, whole)
    return bool(photo)


def _tidy(one: Receipt | Keepsake) -> dict[str, object]:
    """Return a paper as plain values, users' words on one line each."""
    return {name: _tidied(value) for name, value in vars(one).items()}


def _tidied(value: object) -> object:
    if isinstance(value, str):
        return paper.user_text(value)
    return tuple(_tidied(part) for part in value) if isinstance(value, tuple) else value


def _print(
    template: str,
    content: dict[str, object],
    title: str,
    day: date,
    size: str,
    photo: bytes = b"",
    ending: str = "",
) -> bytes:
    import typst

    with tempfile.TemporaryDirectory(prefix="pourwright-") as scratch:
        desk = Path(scratch)
        for name in ("common.typ", template):
            (desk / name).write_bytes(files("pourwright.sheet").joinpath("templates", name).read_bytes())
        if photo:
            (desk / f"{_PHOTO}{ending}").write_bytes(photo)
        data = {
            "paper": PAPERS[size],
            "language": language_in_use(),
            "day": [day.year, day.month, day.day],
            "title": title,
            "notice": notice(),
            "words": {name: say(key) for name, key in _WORDS.items()},
            "one": content | {"photo": f"{_PHOTO}{ending}" if photo else ""},
        }
        (desk / "data.json").write_text(json.dumps(data, ensure_ascii=False), "utf-8")
        pdf = typst.compile(
            str(desk / template),
            root=str(desk),
            font_paths=[str(fonts_folder())],
            ignore_system_fonts=True,
            format="pdf",
            timestamp=int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp()),
        )
    return bytes(pdf)
