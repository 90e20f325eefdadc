"""Ranges, and the one sampler that draws from them."""

import numpy as np
import pytest

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval, Shape, latin, sample


@pytest.mark.parametrize(("low", "best", "high"), [(2, 1, 3), (1, 4, 3), (float("nan"), 1, 2), (0, 1, float("inf"))])
def test_a_range_out_of_order_is_refused(low, best, high):
    with pytest.raises(DataError):
        Interval(low, best, high)


def test_log_uniform_must_be_positive():
    with pytest.raises(DataError):
        Interval(0, 1, 2, shape=Shape.LOG_UNIFORM)


def test_draws_stay_inside_and_repeat_for_the_same_seed():
    ranges = {"a": Interval(1, 2, 3), "b": Interval(1e-15, 3e-14, 5e-13, shape=Shape.LOG_UNIFORM)}
    first, again = sample(ranges, 500, seed=7), sample(dict(reversed(ranges.items())), 500, seed=7)
    for name, one in ranges.items():
        assert np.array_equal(first[name], again[name])
        assert first[name].min() >= one.low
        assert first[name].max() <= one.high
    assert not np.array_equal(first["a"], sample(ranges, 500, seed=8)["a"])


def test_log_uniform_gives_each_decade_its_share():
    drawn = sample({"k": Interval(1e-15, 1e-14, 1e-13, shape=Shape.LOG_UNIFORM)}, 4000, seed=1)["k"]
    assert np.mean(drawn < 1e-14) == pytest.approx(0.5, abs=0.03)


def test_a_normal_range_holds_most_draws():
    drawn = sample({"k": Interval(8, 10, 12, shape=Shape.NORMAL)}, 4000, seed=1)["k"]
    assert np.mean((drawn > 8) & (drawn < 12)) == pytest.approx(0.95, abs=0.015)


def test_an_exact_value_is_drawn_as_it_is():
    assert set(sample({"k": Interval.exact(4.0)}, 5, seed=1)["k"]) == {4.0}


def test_scaling_keeps_shape_and_sources():
    scaled = Interval(1, 2, 3, "kg", Shape.NORMAL, ("memory",), "memory").scaled(1000, "g")
    assert (scaled.low, scaled.best, scaled.high, scaled.unit) == (1000, 2000, 3000, "g")
    assert (scaled.shape, scaled.sources, scaled.kind) == (Shape.NORMAL, ("memory",), "memory")


def test_even_draws_take_one_value_from_each_part_of_a_range():
    intervals = {
        "a": Interval(10.0, 12.0, 20.0),
        "b": Interval(1.0, 10.0, 100.0, shape=Shape.LOG_UNIFORM),
        "c": Interval(-1.96, 0.0, 1.96, shape=Shape.NORMAL),
        "d": Interval.exact(7.0),
    }
    drawn = latin(intervals, 10, seed=3)
    assert sorted(np.floor(drawn["a"]).astype(int)) == list(range(10, 20))
    assert sorted(np.floor(np.log10(drawn["b"]) * 5).astype(int)) == list(range(10))
    assert sum(drawn["c"] < 0) == 5
    assert set(drawn["d"]) == {7.0}
    again = latin(dict(reversed(intervals.items())), 10, seed=3)
    assert all((again[name] == drawn[name]).all() for name in intervals)
