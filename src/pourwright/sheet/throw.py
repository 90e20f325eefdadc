"""What a flask's page prints of its filling: the cut, the force over time, and how surely each piece fills."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.physics.fill.results import Fate
from pourwright.prepare.day_plan import PlannedFlask
from pourwright.sheet import show as paper
from pourwright.sheet.cut_parts import StoredCut, read_cut
from pourwright.sheet.force_chart import force_chart
from pourwright.simulate.throw_summary import (
    FATE_WORDS,
    THROW_WORDS,
    FillWindow,
    PieceFill,
    PocketSummary,
    ThrowSummary,
)

# A bar that shows a share is cut into so many boxes.
_BOXES_COUNT = 10
_CHART_MM = (176.0, 50.0)
_STATES = {"fills": "simulate.sheet-fills", "open": "simulate.sheet-open", "fails": "simulate.sheet-fails"}
_HEADS = (
    "simulate.sheet-fill-piece", "simulate.sheet-fill-sure", "simulate.sheet-fill-full", "simulate.sheet-fill-place",
    "simulate.sheet-fill-decides", "simulate.sheet-fill-window",
)  # fmt: skip


def throw_part(
    one: PlannedFlask, picture: Mapping[str, object] | None, chart: Mapping[str, object] | None
) -> dict[str, object] | None:
    """Return the part's words, or None for a flask whose filling was not reckoned.

    Parameters
    ----------
    one : PlannedFlask
        One flask of a plan.
    picture, chart : mapping or None
        Its cut and its force over time as the renderings find them: ``file``, ``screen_file``, and what they span [mm].
    """
    said = one.fill
    if said is None:
        return None
    return {
        "title": say("simulate.sheet-fill-title"),
        "only": say("simulate.sheet-fill-only"),
        "thrown": _thrown(said),
        "calibrated": "" if said.calibrated else say("simulate.sheet-fill-not-calibrated"),
        "runs": _runs(said),
        "times": _times(said),
        "picture": picture,
        "picture_words": say("simulate.sheet-fill-picture"),
        "chart": chart,
        "chart_words": say("simulate.sheet-fill-chart"),
        "pieces_title": say("simulate.sheet-fill-pieces"),
        "heads": [say(key) for key in _HEADS],
        "pieces": [_piece(number, row) for number, row in enumerate(said.pieces, 1)],
        "pockets": [_pocket(row) for row in said.pockets],
        "no_pockets": "" if said.pockets else say("simulate.sheet-fill-no-pockets"),
        "pockets_title": say("simulate.sheet-fill-pockets"),
        "clear": say("simulate.sheet-fill-clear"),
    }


def throw_cut_of(one: PlannedFlask, folder: Path) -> StoredCut | None:
    """Return the cut of a flask whose filling was reckoned, from the folder of its day; None where there is none."""
    if one.fill is None or not one.fill.picture:
        return None
    return read_cut(folder / Path(one.fill.picture).name)


def throw_chart_of(one: PlannedFlask) -> StoredCut | None:
    """Return the force at a flask over time, for one whose filling was reckoned; None where nothing turns."""
    course = one.throw.course
    if one.fill is None or course is None:
        return None
    filled_s = one.fill.runs_to_s
    seen = filled_s is not None and filled_s <= course.line.time_s[-1]
    drawn = force_chart(course, filled_s if seen else None, *_CHART_MM)
    return StoredCut(drawn.svg, drawn.width_mm, drawn.height_mm)


def _thrown(said: ThrowSummary) -> str:
    return say(
        "simulate.sheet-fill-thrown",
        turns=show(said.turns_turns or 0.0, "turns"),
        flask=show(said.flask_temperature_C.value, "C", 0),
        pour=show(said.pour_temperature_C.value, "C", 0),
        out=show(said.flask_out_s.value, "s", 0),
        delay=show(said.release_delay_s.value, "s", 1),
    )


def _runs(said: ThrowSummary) -> str:
    if said.samples_count:
        return say("simulate.sheet-fill-runs", runs=said.samples_count)
    return say("simulate.sheet-fill-no-runs")


def _times(said: ThrowSummary) -> list[dict[str, object]]:
    rows = [("simulate.sheet-fill-from", said.runs_from_s), ("simulate.sheet-fill-to", said.runs_to_s)]
    return [{"name": say(key), "text": show(value, "s", 2)} for key, value in rows if value is not None]


def _piece(number: int, row: PieceFill) -> dict[str, object]:
    share = row.filled_frac if row.fill_probability_frac is None else row.fill_probability_frac
    return {
        "number": number,
        "short": paper.short_id(row.piece),
        "state": say(_STATES[row.state]),
        "fills": row.state == "fills",
        "boxes": [place < round(_BOXES_COUNT * share) for place in range(_BOXES_COUNT)],
        "count": _count(row),
        "full": _span(row.last_arrival_s),
        "place": _place(row),
        "decides": say(THROW_WORDS[row.decided_by]) if row.decided_by else "–",
        "window": _window(row.window),
    }


def _count(row: PieceFill) -> str:
    if not row.runs_count:
        return say("simulate.sheet-fill-share", share=f"{100 * row.filled_frac:.0f}")
    return say("simulate.sheet-fill-count", filled=row.filled_count, runs=row.runs_count)


def _place(row: PieceFill) -> str:
    up = show(row.last_place_mm[2], "mm", 0)
    if row.stopped_by:
        return say("simulate.sheet-fill-empty", up=up, why=say(FATE_WORDS[Fate[row.stopped_by]]))
    return say("simulate.sheet-fill-last", up=up)


def _window(one: FillWindow | None) -> str:
    if one is None:
        return "–"
    if one.none or one.low_C is None:
        return say("simulate.sheet-fill-none")
    high_C = one.high_tried_C if one.high_C is None else one.high_C
    return say("simulate.sheet-span", low=f"{one.low_C:.0f}", high=show(high_C, "C", 0))


def _pocket(row: PocketSummary) -> str:
    key = "simulate.sheet-fill-pocket-out" if row.filled else "simulate.sheet-fill-pocket"
    return say(
        key,
        piece=paper.short_id(row.piece),
        volume=show(row.volume_mm3, "mm3", 1),
        up=show(row.place_mm[2], "mm", 0),
    )


def _span(figure: Figure | None) -> str:
    if figure is None:
        return "–"
    if f"{figure.low:.2f}" == f"{figure.high:.2f}":
        return show(figure.value, "s", 2)
    span = say("simulate.sheet-span", low=f"{figure.low:.2f}", high=show(figure.high, "s", 2))
    return f"{show(figure.value, 's', 2)} ({span})"
