"""The quench by a freezing run goes before the practice rule, and after the studio's own readings."""

import pytest

from pourwright.core.figure import given
from pourwright.matter.alloys import alloy
from pourwright.prepare.quench.cooling import Cooling
from pourwright.prepare.quench.frozen import frozen_window
from pourwright.prepare.quench.window import quench_window

DIAMETER = given(63.5, "mm", "test")
BY_RULE = quench_window("F1", DIAMETER, alloy("sterling-925"), False)


def minutes(value, low=None, high=None):
    return given(value, "min", "freezing run", low, high)


def test_the_late_end_of_the_run_counts():
    window = frozen_window(BY_RULE, minutes(18.0, 15.0, 24.0), minutes(40.0))
    assert window.earliest_min.value == pytest.approx(24.0)
    assert window.latest_min.value == pytest.approx(40.0)
    assert window.basis == "prepare.quench-basis-frozen"


def test_practice_still_bounds_it_from_below():
    window = frozen_window(BY_RULE, minutes(1.0), minutes(40.0))
    assert window.earliest_min.value == pytest.approx(BY_RULE.earliest_min.value)


def test_the_note_that_nothing_was_measured_gives_way():
    window = frozen_window(BY_RULE, minutes(18.0), None)
    assert "prepare.quench-not-measured" not in [one.code for one in window.findings]
    assert window.findings[-1].code == "prepare.quench-frozen"
    assert window.latest_min.value == window.earliest_min.value


def test_the_studios_own_readings_stay():
    cooling = Cooling(given(12.0, "min", "own"), given(900.0, "C", "own"), given(20.0, "C", "own"))
    own = quench_window("F1", DIAMETER, alloy("sterling-925"), False, cooling)
    assert frozen_window(own, minutes(1.0), minutes(2.0)) is own


def test_a_flask_that_is_not_quenched_stays_unquenched():
    stones = quench_window("F1", DIAMETER, alloy("sterling-925"), True)
    assert frozen_window(stones, minutes(1.0), minutes(2.0)) is stones
