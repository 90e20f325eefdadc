"""How a flask fills, for the screen."""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.sheet.screen.markup import Markup, element
from pourwright.sheet.screen.parts import Content, key_figures, picture, state, table


def fill(part: Content, pictures: Mapping[str, bytes]) -> list[Markup]:
    """Return the cut with its times, the force over time, and piece by piece how surely it fills.

    Parameters
    ----------
    part : mapping
        See :func:`pourwright.sheet.throw.throw_part`.
    pictures : mapping
        PNG of each picture by its file name.
    """
    cut, chart = part["picture"], part["chart"]
    seen = picture("png", pictures[cut["screen_file"]], part["picture_words"], "drawing") if cut else None
    drawn = picture("png", pictures[chart["screen_file"]], part["chart_words"], "drawing") if chart else None
    return [
        element("h3", part["title"]),
        element("p", part["thrown"]),
        element(
            "div",
            element("div", seen) if seen else None,
            element(
                "div",
                key_figures(*((row["name"], row["text"]) for row in part["times"])),
                element("p", part["runs"]),
                element("p", element("strong", part["calibrated"])) if part["calibrated"] else None,
            ),
            class_="halves",
        ),
        *((element("p", part["chart_words"]), element("div", drawn)) if drawn else ()),
        element("h4", part["pieces_title"]),
        table(part["heads"], (_row(row) for row in part["pieces"]), part["pieces_title"]),
        element("p", element("b", part["pockets_title"]), " ", part["no_pockets"] or " ".join(part["pockets"])),
        element("p", element("strong", part["only"])),
        element("p", part["clear"]),
    ]


def _row(row: Content) -> list[Markup | str]:
    boxes = "".join("■" if full else "□" for full in row["boxes"])
    sure = element("span", state(row["state"], not row["fills"]), " ", element("span", boxes, aria_hidden="true"), " ",
                   row["count"])  # fmt: skip
    return [f"{row['number']}. {row['short']}", sure, row["full"], row["place"], row["decides"], row["window"]]
