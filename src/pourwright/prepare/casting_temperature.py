"""The flask's temperature at the pour, from practice tables by the thinnest section.

A screen where filling and freezing were not reckoned, whose windows go before these: the tables are workshop practice
for vacuum casting, a spun flask wants a little less, so the cooler quarter of the common window is proposed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pourwright.core.figure import Figure, given
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.matter.practice import rule

# Thinnest section up to which a silver piece counts as such [mm]. Common practice, no source: the table read names
# its classes but gives no thickness.
_SILVER_CLASSES = ((0.8, "filigree"), (1.5, "light"), (3.0, "medium"), (float("inf"), "heavy"))
_COPPER_FAMILIES = ("bronze", "brass", "copper")
_QUARTER = 0.25
# How wide a window is left under what stones stand, so that a kiln's doubt fits into it. Common practice, no source.
_UNDER_STONES_K = 20.0


@dataclass(frozen=True)
class Window:
    """Flask temperatures for a piece, with the rule of practice they come from, or the line of the day file."""

    piece: str
    rule: str
    low_C: float
    high_C: float
    origin: str = ""

    @property
    def sources(self) -> tuple[str, ...]:
        """Keys of the source register; none for what the day file says."""
        return rule(self.rule).sources if self.rule else ()


@dataclass(frozen=True)
class FlaskWish:
    """What a flask wants: the temperature proposed for it alone, and between what it may be cast [degC]."""

    temperature_C: Figure
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


def below_stones(window: Window) -> tuple[Window, tuple[Finding, ...]]:
    """Return a practice window brought under what stones in place stand, with a finding where it lies above that."""
    limit = rule("burn.stoneplace")
    most_C = limit.value or window.high_C
    if window.high_C <= most_C:
        return window, ()
    cooled = replace(window, low_C=min(window.low_C, most_C - _UNDER_STONES_K), high_C=most_C)
    if window.low_C <= most_C:
        return cooled, ()
    params = {"piece": window.piece, "window": _span(window), "limit": show(most_C, "C")}
    return cooled, (Finding("prepare.flask-temperature-stones", Level.LOOK, window.piece, params, limit.sources),)


def asked_window(piece_id: str, asked_C: Figure) -> Window:
    """Return the window that the day file asks for: the ends of a figure [degC]."""
    return Window(piece_id, "", asked_C.low, asked_C.high, asked_C.origin)


def _rule_for(family: str, thinnest_mm: float | None) -> str | None:
    if family == "silver":
        if thinnest_mm is None:
            return "flask.silver.range"
        name = next(name for limit, name in _SILVER_CLASSES if thinnest_mm < limit)
        return f"flask.silver.{name}"
    return "flask.gold14" if family == "gold" else "flask.bronze" if family in _COPPER_FAMILIES else None


def wish_of_flask(windows: Sequence[Window], where: str) -> tuple[FlaskWish | None, tuple[Finding, ...]]:
    """Return at what temperature a flask is best poured.

    Parameters
    ----------
    windows : sequence of Window
        Of all pieces in it.
    where : str
        The flask, for the finding.

    Returns
    -------
    FlaskWish or None
        The cooler quarter of the common window, with the window as its range; None without any window.
    tuple of Finding
        A finding when the pieces have nothing in common: the thinnest decides, the others run hot.
    """
    if not windows:
        return None, ()
    hottest, coolest = max(windows, key=lambda one: one.low_C), min(windows, key=lambda one: one.high_C)
    if hottest.low_C <= coolest.high_C:
        proposed_C = _proposed(hottest.low_C, coolest.high_C, hottest, coolest, "prepare.flask-temperature-common")
        return FlaskWish(proposed_C, hottest.low_C, coolest.high_C), ()
    proposed_C = _proposed(hottest.low_C, hottest.low_C, hottest, coolest, "prepare.flask-temperature-thinnest")
    # the thin piece rules, but nothing is gained by pouring much hotter than it must be
    most_C = hottest.low_C + _QUARTER * (hottest.high_C - hottest.low_C)
    return FlaskWish(proposed_C, hottest.low_C, most_C), (_apart(hottest, coolest, where),)


def _proposed(low_C: float, high_C: float, hottest: Window, coolest: Window, how: str) -> Figure:
    inputs = {"coolest_C": _end(hottest, hottest.low_C), "hottest_C": _end(coolest, coolest.high_C)}
    sources = tuple(dict.fromkeys((*hottest.sources, *coolest.sources)))
    value_C = low_C + _QUARTER * (high_C - low_C)
    return Figure(value_C, min(low_C, coolest.high_C), max(high_C, low_C), "C", how, inputs, sources)


def _end(window: Window, end_C: float) -> Figure:
    where = f"practice.toml {window.rule}" if window.rule else window.origin
    origin = say("prepare.flask-temperature-of", piece=window.piece, where=where)
    return given(end_C, "C", origin, sources=window.sources, how="prepare.flask-temperature-end")


def _apart(hottest: Window, coolest: Window, where: str) -> Finding:
    params = {
        "flask": where,
        "hot": hottest.piece,
        "hot_window": _span(hottest),
        "cool": coolest.piece,
        "cool_window": _span(coolest),
        "chosen": show(hottest.low_C, "C"),
    }
    return Finding("prepare.flask-temperature-apart", Level.LOOK, where, params, hottest.sources)


def _span(window: Window) -> str:
    return f"{window.low_C:.0f}–{show(window.high_C, 'C')}"
