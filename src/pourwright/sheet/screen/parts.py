"""What the screen's sections share: figures with their marks, steps, cautions, tables, fields to write into."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pourwright.core.text import say
from pourwright.sheet.pictograms import pictograms
from pourwright.sheet.screen.markup import Child, Markup, element, joined, safe

Content = Mapping[str, Any]
SIGNS = {"uncalibrated": "†", "practice": "‡", "memory": "§"}


def section(anchor: str, title: str, *children: Child, kind: str = "") -> Markup:
    """Return a part of the sheet with its heading, the marks it uses explained, and the way back to the contents."""
    body = joined(children)
    return element(
        "section",
        element("h2", title, id=f"{anchor}-title"),
        body,
        _legend(body),
        element("p", element("a", say("sheet.screen.to-contents"), href="#contents"), class_="back"),
        id=anchor,
        class_=kind,
        aria_labelledby=f"{anchor}-title",
    )


def _legend(body: str) -> Markup | None:
    used = [kind for kind, sign in SIGNS.items() if f'"mark">{sign}<' in body]
    lines = [element("li", f"{SIGNS[kind]} {say(f'sheet.mark.{kind}')}") for kind in used]
    return element("ul", *lines, class_="legend") if lines else None


def marks(kinds: Iterable[str]) -> Markup:
    """Return the signs of marks."""
    return joined(element("sup", SIGNS[kind], class_="mark") for kind in kinds)


def figure(one: Content, kind: str = "") -> Markup:
    """Return a shown figure, strong, with its marks."""
    return joined((element("strong", one["text"], class_=kind), marks(one["marks"])))


def key_figures(*pairs: tuple[str, Child]) -> Markup:
    """Return large figures, each under its name."""
    return element("dl", *(element("div", element("dt", name), element("dd", what)) for name, what in pairs),
                   class_="keys")  # fmt: skip


def scratched(number: object, kind: str = "number") -> Markup:
    """Return a number as it is scratched: with a line under it."""
    return element("span", str(number), class_=kind)


def box() -> Markup:
    """Return an empty box to tick on paper."""
    return element("span", class_="box", aria_hidden="true")


def write_in(*labels: str) -> Markup:
    """Return fields to write into on paper."""
    return element("div", *(element("div", label) for label in labels), class_="write")


def caution(one: Content) -> Markup:
    """Return one safety prompt with where it comes from."""
    law = element("cite", one["citation"]) if one["citation"] else None
    drawn = one["picture"]
    sign = picture("svg+xml", pictograms()[drawn], "", "sign") if drawn else None
    return element("p", sign, one["text"], marks(one["marks"]), law, class_="caution")


def cautions(rows: Sequence[Content]) -> Markup:
    """Return safety prompts under one another."""
    return joined(caution(one) for one in rows)


def steps(rows: Sequence[Content]) -> Markup:
    """Return a checklist: a box, whose it is, what is done, what to mind, what is written down."""
    return element("ol", *(_step(one) for one in rows), class_="steps")


def _step(one: Content) -> Markup:
    small = [element("span", box(), " ", words, class_="small-box") for words in one.get("boxes", ())]
    fields = one.get("write_in", ())
    return element(
        "li",
        box(),
        element("b", one["role"], class_="role caller" if one.get("caller") else "role"),
        element(
            "div",
            element("p", one["text"], marks(one.get("marks", ()))),
            element("p", *small) if small else None,
            cautions(one.get("cautions", ())),
            write_in(*fields) if fields else None,
        ),
    )


def table(heads: Sequence[str], rows: Iterable[Sequence[Child]], caption: str, kind: str = "") -> Markup:
    """Return a table whose rows become cards, each cell under its head's name, where the screen is narrow.

    Parameters
    ----------
    heads : sequence of str
        One a column.
    rows : iterable of sequence of str
        Cells; the first heads its row.
    caption : str
        What the table is, for who hears it read.
    kind : str
        Further classes.
    """
    head = element("tr", *(element("th", one, scope="col", role="columnheader") for one in heads), role="row")
    return element(
        "table",
        element("caption", caption),
        element("thead", head, role="rowgroup"),
        element("tbody", *(_row(heads, cells) for cells in rows), role="rowgroup"),
        role="table",
        class_=f"cards {kind}".strip(),
    )


def _row(heads: Sequence[str], cells: Sequence[Child]) -> Markup:
    first, *rest = zip(heads, cells, strict=True)
    return element(
        "tr",
        element("th", _inside(first[1]), scope="row", role="rowheader", data_head=first[0]),
        *(element("td", _inside(cell), role="cell", data_head=name) for name, cell in rest),
        role="row",
    )


def _inside(cell: Child) -> Markup:
    return element("span", safe(cell or "–"))


def picture(kind: str, data: bytes, alt: str, class_: str = "") -> Markup:
    """Return a picture held in the page itself; ``kind`` is ``png`` or ``svg+xml``, no ``alt`` where words follow."""
    inside = base64.b64encode(data).decode("ascii")
    return element("img", src=f"data:image/{kind};base64,{inside}", alt=alt, class_=class_)


def state(words: str, bad: bool) -> Markup:
    """Return a state in words; a bad one stands white on black."""
    return element("b", words, class_="state bad" if bad else "state")
