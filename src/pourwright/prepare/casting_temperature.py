"""The flask's temperature at the pour, from practice tables by the thinnest section.

A screen until the fill and freezing engines give a window of their own: the tables are workshop practice for
vacuum casting, a spun flask wants a little less, so the cooler quarter of the common window is proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.core.figure import Figure, given
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.matter.practice import rule

# Thinnest section up to which a silver piece counts as such [mm]. Common practice, no source: the table read names
# its classes but gives no thickness.
_SILVER_CLASSES = ((0.8, "filigree"), (1.5, "light"), (3.0, "medium"), (float("inf"), "heavy"))
_COPPER_FAMILIES = ("bronze", "brass", "copper")
_QUARTER = 0.25


@dataclass(frozen=True)
class Window:
    """Flask temperatures for a piece, with the rule of practice they come from; none if the day file gives them."""

    piece: str
    rule: str
    low_C: float
    high_C: float


def practice_window(piece_id: str, alloy: Alloy, thinnest_mm: float | None) -> Window | None:
    """Return the practice window of a piece, or None where the tables have nothing for its alloy.

    Parameters
    ----------
    piece_id : str
        For the finding.
    alloy : Alloy
        Its family picks the table.
    thinnest_mm : float or None
        Thinnest section [mm]; None (nobody measured) takes the whole span of the alloy.
    """
    rule_id = _rule_for(alloy.family, thinnest_mm)
    if rule_id is None:
        return None
    found = rule(rule_id)
    if found.low is None or found.high is None:
        return None
    return Window(piece_id, rule_id, found.low, found.high)


def asked_window(piece_id: str, asked_C: Figure) -> Window:
    """Return the window that the day file asks for: the ends of a figure [degC]."""
    return Window(piece_id, "", asked_C.low, asked_C.high)


def _sources(window: Window) -> tuple[str, ...]:
    return rule(window.rule).sources if window.rule else ()


def _rule_for(family: str, thinnest_mm: float | None) -> str | None:
    if family == "silver":
        if thinnest_mm is None:
            return "flask.silver.range"
        name = next(name for limit, name in _SILVER_CLASSES if thinnest_mm < limit)
        return f"flask.silver.{name}"
    return "flask.gold14" if family == "gold" else "flask.bronze" if family in _COPPER_FAMILIES else None


def choose_temperature(windows: Sequence[Window]) -> tuple[Figure | None, tuple[Finding, ...]]:
    """Choose one flask temperature for pieces poured from one kiln at one set-point.

    Parameters
    ----------
    windows : sequence of Window
        Of all pieces.

    Returns
    -------
    Figure or None
        Proposed temperature with the common window as its range; None without any window.
    tuple of Finding
        A finding when the windows have nothing in common: the thinnest piece decides, the others run hot.
    """
    if not windows:
        return None, ()
    low, high = max(one.low_C for one in windows), min(one.high_C for one in windows)
    hottest = max(windows, key=lambda one: one.low_C)
    if low < high:
        sources = _sources(hottest)
        value = low + _QUARTER * (high - low)
        return given(value, "C", "", low, high, sources, "prepare.flask-temperature-common"), ()
    coolest = min(windows, key=lambda one: one.high_C)
    finding = Finding(
        "prepare.flask-temperature-apart",
        Level.LOOK,
        f"{hottest.piece}, {coolest.piece}",
        {
            "hot": hottest.piece,
            "hot_window": _span(hottest),
            "cool": coolest.piece,
            "cool_window": _span(coolest),
            "chosen": show(hottest.low_C, "C"),
        },
        _sources(hottest),
    )
    how, sources = "prepare.flask-temperature-thinnest", _sources(hottest)
    return given(hottest.low_C, "C", "", coolest.low_C, hottest.high_C, sources, how), (finding,)


def _span(window: Window) -> str:
    return f"{window.low_C:.0f}–{show(window.high_C, 'C')}"
