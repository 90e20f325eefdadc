"""The whole page: its head with what it may load, the table of contents, and the sections."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from pourwright.core.text import say
from pourwright.sheet.screen import day, flasks
from pourwright.sheet.screen.markup import Markup, element, joined
from pourwright.sheet.screen.parts import Content

# Weight of the type, and its file.
_TYPE = {400: "Roboto-Regular.ttf", 700: "Roboto-Bold.ttf"}
_ALLOWED = {
    "default-src": "'none'",
    "img-src": "data:",
    "font-src": "data:",
    "base-uri": "'none'",
    "form-action": "'none'",
}


@dataclass(frozen=True)
class Drawings:
    """The sheet's drawings as SVG: the kiln's curve, who stands where, and for each flask tree twice and arm."""

    curve: bytes
    stand: bytes
    flasks: tuple[tuple[bytes, bytes, bytes], ...]


def screen_page(content: Content, pictures: Mapping[str, bytes], drawings: Drawings) -> str:
    """Return the run sheet as one page that needs nothing else: no script, no other file, no other host.

    Parameters
    ----------
    content : mapping
        The same that the paper is printed from, see :func:`pourwright.sheet.content.day_content`.
    pictures : mapping
        PNG of each picture by its file name.
    drawings : Drawings
        As printed.

    Returns
    -------
    str
        HTML. What it may load is said in its head: its own style by its hash, pictures and type held in the page.
    """
    chapters = _chapters(content, pictures, drawings)
    style = Markup(_style())
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", http_equiv="Content-Security-Policy", content=policy(style)),
        element("meta", name="viewport", content="width=device-width,initial-scale=1"),
        element("meta", name="referrer", content="no-referrer"),
        element("link", rel="icon", href="data:,"),
        element("title", content["title"]),
        element("style", style),
    )
    return f"<!DOCTYPE html>\n{element('html', head, _body(content, chapters), lang=content['language'])}\n"


def policy(style: str) -> str:
    """Return what the page may load: nothing but this very style, and pictures and type that it holds itself."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode("ascii")
    allowed = _ALLOWED | {"style-src": f"'sha256-{digest}'"}
    return "; ".join(f"{kind} {what}" for kind, what in allowed.items())


def _chapters(content: Content, pictures: Mapping[str, bytes], drawings: Drawings) -> dict[str, tuple[str, Markup]]:
    """Return every section that the day has, by its anchor, with its name in the contents."""
    w = content["words"]
    of_flasks = {
        f"flask-{one['number']}": (
            f"{w['flask']} {one['number']} – {one['pour']}",
            flasks.flask(content, one, pictures, drawn),
        )
        for one, drawn in zip(content["flasks"], drawings.flasks, strict=True)
    }
    found = {
        "glance": (say("sheet.screen.glance"), day.glance(content)),
        "warnings": (w["findings.title"], day.warnings(content)),
        "clock": (w["clock.title"], day.by_the_clock(content)),
        "before": (w["before.title"], day.before(content)),
        "mixing": (w["mixing.title"], day.mixing(content)),
        "kiln": (w["kiln.title"], day.kiln(content, drawings.curve, drawings.stand)),
        "weighing": (w["weighing.title"], day.weighing(content)),
        **of_flasks,
        "tub": (w["tub.title"], flasks.tub(content)),
        "after": (w["after.title"], day.after(content)),
        "clean": (w["clean.title"], day.clean_up(content)),
        "closing": (w["closing.title"], day.closing(content)),
        "cards": (say("sheet.screen.cards"), flasks.cards(content, pictures)),
    }
    return {anchor: (name, whole) for anchor, (name, whole) in found.items() if whole is not None}


def _body(content: Content, chapters: Mapping[str, tuple[str, Markup]]) -> Markup:
    links = [element("li", element("a", name, href=f"#{anchor}")) for anchor, (name, _) in chapters.items()]
    cover = content["cover"]
    return element(
        "body",
        element("a", say("sheet.screen.skip"), href="#glance", class_="skip"),
        element("header", element("p", cover["studio"]), element("h1", cover["date"]),
                element("p", say("sheet.screen.not-kept"), class_="aside")),
        element(
            "nav",
            element("h2", say("sheet.screen.contents"), id="contents-title"),
            element("ol", *links),
            id="contents",
            aria_labelledby="contents-title",
        ),
        element("main", joined(whole for _, whole in chapters.values())),
        element("footer", element("p", content["notice"])),
    )  # fmt: skip


def _style() -> str:
    """Return the page's style with its type in it."""
    import font_roboto

    folder = Path(font_roboto.__file__).parent / "files"
    faces = "".join(_face(weight, folder / name) for weight, name in _TYPE.items())
    return faces + files("pourwright.sheet.screen").joinpath("style.css").read_text("utf-8")


def _face(weight: int, path: Path) -> str:
    inside = base64.b64encode(path.read_bytes()).decode("ascii")
    return (
        f"@font-face{{font-family:Sheet;font-weight:{weight};font-display:block;"
        f"src:url(data:font/ttf;base64,{inside})format('truetype')}}\n"
    )
