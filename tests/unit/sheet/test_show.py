"""Numbers, moments and names as they stand on paper."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from tests.unit.sheet.sample_plan import fig

from pourwright.sheet import show
from pourwright.studio.profile import PrintUnits

AMERICAN = PrintUnits("dwt", "in", "F")


def test_figures_are_shown_in_the_studios_units():
    assert show.shown(fig(31.1034768, "g"), AMERICAN)["text"] == "20.00\u00a0dwt"
    assert show.shown(fig(63.5, "mm"), AMERICAN)["text"] == "2.500\u00a0in"
    assert show.shown(fig(732.2222, "C"), AMERICAN)["text"] == "1\u2009350\u00a0°F"
    assert show.shown(fig(540, "C"), PrintUnits())["text"] == "540\u00a0°C"


def test_unread_sources_put_a_mark_on_a_figure():
    assert show.shown(fig(3, "turns", sources=("none",)), PrintUnits())["marks"] == ["practice"]
    assert show.shown(fig(3, "turns", sources=("memory", "none")), PrintUnits())["marks"] == ["memory", "practice"]
    assert show.shown(fig(3, "turns", sources=("silverchart",)), PrintUnits())["marks"] == []


def test_masses_keep_the_division_of_the_scale():
    assert show.mass(138.73, PrintUnits(), 0.01) == "138.73\u00a0g"
    assert show.mass(138.7, PrintUnits(), 0.1) == "138.7\u00a0g"
    assert show.mass(139, PrintUnits(), 1.0) == "139\u00a0g"


def test_a_scale_in_grams_loses_nothing_in_pennyweight():
    digits = show.mass_digits(AMERICAN, 0.01)
    assert 10**-digits * 1.55517384 <= 0.01


def test_times_are_by_the_studios_clock():
    moment = datetime(2026, 7, 1, 22, 30, tzinfo=ZoneInfo("UTC"))
    assert show.clock(moment, "Europe/Dublin") == "23:30"
    assert show.clock_with_day(moment, "Europe/Dublin", date(2026, 7, 2)) == "Wed 23:30"
    assert show.long_date(date(2026, 12, 5)) == "Saturday 5 December 2026"


def test_user_text_is_one_line_with_places_to_break():
    assert show.user_text(" a\tb\n\u202ec ") == "a b c"
    long = "x" * 50
    assert show.user_text(long).replace("\u200b", "") == long
    assert max(len(part) for part in show.user_text(long).split("\u200b")) <= 22


def test_needless_zeros_are_dropped():
    assert [show.trimmed(number) for number in (3.0, 2.5, 10.0, 0.0)] == ["3", "2.5", "10", "0"]
