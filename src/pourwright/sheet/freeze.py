"""What a flask's page prints of its freezing: the cut, times, and the verdict on each heavy section."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pourwright.core.figure import Figure
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.day_plan import PlannedFlask
from pourwright.sheet import show as paper
from pourwright.sheet.cut_parts import StoredCut, read_cut
from pourwright.simulate.summary import FreezeSummary, SpotSummary, VerdictSummary

# A hole that is on paper "0.00" is none.
_LEAST_SHOWN_MM3 = 0.005
_SPOT_HEADS = (
    "simulate.sheet-spot-number", "simulate.sheet-spot-where", "simulate.sheet-spot-cut", "simulate.sheet-spot-last",
    "simulate.sheet-spot-void",
)  # fmt: skip


def freeze_part(one: PlannedFlask, picture: Mapping[str, object] | None) -> dict[str, object] | None:
    """Return the part's words, or None for a flask that was not frozen.

    Parameters
    ----------
    one : PlannedFlask
        One flask of a plan.
    picture : mapping or None
        Its cut as the renderings find it: ``file``, ``screen_file``, and what it spans [mm].
    """
    said = one.freeze
    if said is None:
        return None
    return {
        "title": say("simulate.sheet-title"),
        "only": say("simulate.sheet-only"),
        "poured": say("simulate.sheet-poured", pour=show(said.pour_temperature_C.value, "C", 0),
                      flask=show(said.flask_temperature_C.value, "C", 0), side=show(said.side_mm, "mm", 2)),
        "ranges": _ranges(said),
        "quench": say("simulate.sheet-quench-on-page"),
        "picture": picture,
        "picture_words": say("simulate.sheet-picture"),
        "times": _times(said),
        "verdicts_title": say("simulate.sheet-verdicts"),
        "verdicts": [_verdict(row) for row in said.verdicts],
        "spots_title": say("simulate.sheet-spots"),
        "spots_none": "" if said.hot_spots else say("simulate.sheet-no-spots"),
        "spot_heads": [say(key) for key in _SPOT_HEADS],
        "spots": [_spot(number, row) for number, row in enumerate(said.hot_spots, 1)],
    }  # fmt: skip


def cut_of(one: PlannedFlask, folder: Path) -> StoredCut | None:
    """Return the cut of a frozen flask from the folder of its day; None where there is none to be read."""
    if one.freeze is None or not one.freeze.picture:
        return None
    return read_cut(folder / Path(one.freeze.picture).name)


def _ranges(said: FreezeSummary) -> str:
    if said.samples_count:
        return say("simulate.sheet-ranges", runs=said.samples_count)
    return say("simulate.sheet-no-ranges")


def _times(said: FreezeSummary) -> list[dict[str, object]]:
    rows = [
        ("simulate.sheet-solid", said.last_solid_s, 0),
        ("simulate.sheet-black", said.black_heat_min, 1),
        ("simulate.sheet-quench", said.quench_from_min, 1),
    ]
    return [{"name": say(key), "text": _span(figure, digits)} for key, figure, digits in rows if figure is not None]


def _verdict(row: VerdictSummary) -> dict[str, object]:
    return {
        "short": paper.short_id(row.piece),
        "fed": row.fed,
        "state": say("simulate.sheet-fed" if row.fed else "simulate.sheet-not-fed"),
        "words": row.words,
        "held": say("simulate.sheet-held", fed=row.fed_count, runs=row.runs_count) if row.runs_count else "",
    }


def _spot(number: int, row: SpotSummary) -> list[str]:
    """Return the cells of a hot spot's row; places as the flask lies while it is sprued: up from its mouth."""
    up_mm = row.place_mm[2]
    void = row.void_mm3
    if void.high < _LEAST_SHOWN_MM3:
        hole = say("simulate.sheet-spot-no-void")
    else:
        hole = say("simulate.sheet-span", low=f"{void.low:.2f}", high=show(void.high, "mm3", 2))
    return [
        str(number),
        say("simulate.sheet-spot-place", part=paper.short_id(row.part), up=show(up_mm, "mm", 0)),
        show(row.cut_off_s, "s", 1),
        show(row.last_freezing_s, "s", 1),
        hole,
    ]


def _span(figure: Figure, digits: int) -> str:
    if f"{figure.low:.{digits}f}" == f"{figure.high:.{digits}f}":
        return show(figure.value, figure.unit, digits)
    return say("simulate.sheet-span", low=f"{figure.low:.{digits}f}", high=show(figure.high, figure.unit, digits))
