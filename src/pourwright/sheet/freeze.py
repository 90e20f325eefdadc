"""What a flask's page prints of its freezing: the cut, times, and the verdict on each heavy section."""

from __future__ import annotations

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.day_plan import PlannedFlask
from pourwright.sheet import show as paper


def freeze_part(one: PlannedFlask, picture: str) -> dict[str, object] | None:
    """Return the part's words, or None for a flask that was not frozen.

    Parameters
    ----------
    one : PlannedFlask
        One flask of a plan.
    picture : str
        File name of its cut as the template finds it; empty where there is none.
    """
    said = one.freeze
    if said is None:
        return None
    times = [
        ("simulate.sheet-solid", said.last_solid_s, 0),
        ("simulate.sheet-black", said.black_heat_min, 1),
        ("simulate.sheet-quench", said.quench_from_min, 1),
    ]
    return {
        "title": say("simulate.sheet-title"),
        "only": say("simulate.sheet-only"),
        "picture": picture or None,
        "times": [
            {"name": say(key), "text": _span(figure, digits)} for key, figure, digits in times if figure is not None
        ],
        "verdicts": [
            {
                "short": paper.short_id(row.piece),
                "fed": row.fed,
                "words": row.words,
                "held": say("simulate.sheet-held", fed=row.fed_count, runs=row.runs_count) if row.runs_count else "",
            }
            for row in said.verdicts
        ],
    }


def _span(figure: Figure, digits: int) -> str:
    if f"{figure.low:.{digits}f}" == f"{figure.high:.{digits}f}":
        return show(figure.value, figure.unit, digits)
    return say("simulate.sheet-span", low=f"{figure.low:.{digits}f}", high=show(figure.high, figure.unit, digits))
