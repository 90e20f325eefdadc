"""Flask temperatures: coldest that fills, hottest that feeds, or none."""

import pytest
from tests.unit.simulate.thrown_flask import flask_job, ways

from pourwright.simulate.throw_window import Search, _crossing, _hottest_fed, _wanted, find_windows

TRIED_C = [400.0, 500.0, 600.0]


def nothing(share_frac, what):
    pass


def test_the_coldest_that_fills_lies_straight_between_those_tried():
    assert _crossing(TRIED_C, [0.0, 0.5, 1.0], 0.75) == pytest.approx(550.0)
    assert _crossing(TRIED_C, [0.9, 1.0, 1.0], 0.9) == 400.0
    assert _crossing(TRIED_C, [0.0, 0.0, 0.8], 0.9) is None


def test_where_gas_keeps_every_flask_from_it_less_is_asked_but_never_less_than_half():
    assert _wanted(1.0, 0.9) == 0.9
    assert _wanted(0.8, 0.9) == pytest.approx(0.72)
    assert _wanted(0.2, 0.9) == 0.5
    assert _crossing(TRIED_C, [0.0, 0.1, 0.2], _wanted(0.2, 0.9)) is None


def test_the_hottest_that_feeds_is_the_last_before_feed_is_lost():
    def fed_at(temp_C):
        return {"P1": temp_C < 500, "P2": True, "P3": temp_C > 650}

    hottest = _hottest_fed(Search(400.0, 700.0, freezings_count=4), fed_at, nothing, lambda: False)
    assert hottest == {"P1": 400.0, "P2": 700.0}


def test_a_flask_that_fills_at_every_temperature_has_the_whole_span_for_a_window():
    windows = find_windows(
        flask_job(), ways(), Search(550.0, 700.0, wanted_frac=0.5, runs_count=2), lambda _: {"P1": True}
    )
    assert windows["P1"].high_C == 700.0
    assert windows["P2"].high_C is None
    assert windows["P2"].none
    assert set(windows) == {"P1", "P2"}


def test_a_stop_gives_no_window():
    assert find_windows(flask_job(), ways(), Search(550.0, 700.0), None, cancelled=lambda: True) == {}
