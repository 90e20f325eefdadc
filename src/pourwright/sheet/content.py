"""All that is printed of a day, as plain values: the same for the paper and for the screen."""

from __future__ import annotations

from pourwright.core.text import language_in_use
from pourwright.prepare.day_plan import DayPlan
from pourwright.sheet import (
    after,
    before,
    cards,
    closing,
    cover,
    flask,
    kiln,
    labels,
    lots,
    mixing,
    show,
    steps,
    warnings,
)
from pourwright.sheet.cautions import notice
from pourwright.sheet.words import words

Pictures = dict[str, dict[str, object]]


def day_content(plan: DayPlan, pictures: Pictures, paper: str) -> dict[str, object]:
    """Return the content of every page.

    Parameters
    ----------
    plan : DayPlan
        The day.
    pictures : mapping
        File name and width in millimetres of each picture, by piece id and, for trees, by load id.
    paper : str
        The page templates' name of the paper.
    """
    return {
        "paper": paper,
        "language": language_in_use(),
        "day": [plan.day.date.year, plan.day.date.month, plan.day.date.day],
        "words": words(),
        "notice": notice(),
        "title": f"{show.long_date(plan.day.date)} – {show.user_text(plan.studio.name)}",
        "cover": cover.cover(plan),
        "unlike": before.unlike_last_time(plan),
        "warnings": warnings.warnings(plan),
        "clock": cover.by_the_clock(plan),
        "before": before.before(plan),
        "mixing": mixing.mixing(plan),
        "kiln": kiln.kiln(plan),
        "weighing": lots.weighing(plan),
        "flasks": [flask.flask_pages(plan, one, pictures) for one in plan.flasks],
        "tub": steps.tub(plan),
        "after": after.after(plan),
        "clean_up": after.clean_up(plan),
        "closing": closing.closing(plan),
        "labels": labels.labels(plan),
        "cards": cards.cards(plan, pictures),
    }
