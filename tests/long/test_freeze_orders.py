"""The exact cases over a ladder of grids: the order of each is fitted, must be what is expected, and is drawn.

Tolerance: the least order beside each case in ``freeze_orders.py``; errors that bend or change sign within a ladder
make the fitted order differ from the true one by a few tenths.
"""

from __future__ import annotations

import pytest
from tests.long.freeze_orders import LADDERS, order, run_all, step_errors, write_page


@pytest.fixture(scope="module")
def found():
    series = run_all()
    write_page(series, step_errors())
    return series


@pytest.mark.parametrize("ladder", LADDERS, ids=lambda one: one.name)
def test_the_error_falls_at_the_order_that_is_expected(found, ladder):
    series = found[ladder.name]
    assert order(series) > ladder.least_order
    assert abs(series[1][-1]) < abs(series[1][0])


def test_the_error_of_the_steps_is_of_second_order_or_nearly():
    """1.5 at least, from steps of 10, 5 and 2.5 % of the time."""
    assert order(step_errors()) > 1.5
