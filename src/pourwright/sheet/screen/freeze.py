"""How a flask freezes, for the screen."""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.sheet.screen.markup import Markup, element
from pourwright.sheet.screen.parts import Content, key_figures, picture, state, table


def freeze(part: Content, pictures: Mapping[str, bytes]) -> list[Markup]:
    """Return the cut with its times, the verdict on each heavy section, and the hot spots.

    Parameters
    ----------
    part : mapping
        See :func:`pourwright.sheet.freeze.freeze_part`.
    pictures : mapping
        PNG of each picture by its file name.
    """
    cut = part["picture"]
    seen = picture("png", pictures[cut["screen_file"]], part["picture_words"], "drawing") if cut else None
    return [
        element("h3", part["title"]),
        element("p", part["poured"]),
        element(
            "div",
            element("div", seen) if seen else None,
            element(
                "div",
                key_figures(*((row["name"], row["text"]) for row in part["times"])),
                element("p", part["ranges"]),
                element("p", part["quench"]),
            ),
            class_="halves",
        ),
        element("h4", part["verdicts_title"]),
        element("p", element("strong", part["only"])),
        element("ul", *(_verdict(row) for row in part["verdicts"])),
        element("h4", part["spots_title"]),
        _spots(part),
    ]


def _verdict(row: Content) -> Markup:
    held = element("b", f" {row['held']}") if row["held"] else None
    return element("li", element("p", element("b", row["short"]), " ", state(row["state"], not row["fed"]), " ",
                                 row["words"], held))  # fmt: skip


def _spots(part: Content) -> Markup:
    if part["spots_none"]:
        return element("p", part["spots_none"])
    return table(part["spot_heads"], part["spots"], part["spots_title"])
