"""Units are asked for, never guessed."""

from __future__ import annotations

import numpy as np

from pourwright.core.findings import Level
from pourwright.shape.pattern.limits import PatternLimits
from pourwright.shape.pattern.sizes import size_finding

LIMITS = PatternLimits()


def _found(sides, units):
    return size_finding(np.array(sides), units, LIMITS, "ring.stl")


def test_a_usual_size_in_a_stated_unit_passes():
    assert _found([21.5, 21.5, 2.5], "mm") is None
    assert _found([0.846, 0.846, 0.098], "inch") is None


def test_no_unit_asks_and_shows_every_candidate_with_the_likely_ones_marked():
    finding = _found([2.1, 2.1, 0.4], "")
    assert (finding.code, finding.level) == ("shape.units-missing", Level.ASK)
    candidates = finding.params["candidates"].split("; ")
    assert [one.split(" = ")[0] for one in candidates] == ["mm", "cm", "inch", "m"]
    assert [one.endswith("(*)") for one in candidates] == [False, True, True, False]
    assert "53.3" in candidates[2]


def test_an_unknown_unit_asks_and_names_the_known_ones():
    finding = _found([20, 20, 2], "furlong")
    assert (finding.code, finding.level) == ("shape.units-unknown", Level.ASK)
    assert "mm, cm, inch, m" in finding.what


def test_a_size_beyond_any_flask_asks_and_a_tiny_one_is_shown():
    assert (_found([546, 546, 63], "mm").code, _found([546, 546, 63], "mm").level) == ("shape.size-large", Level.ASK)
    assert (_found([2.0, 2.0, 0.3], "mm").code, _found([2.0, 2.0, 0.3], "mm").level) == ("shape.size-small", Level.LOOK)


def test_the_limits_themselves_pass():
    assert _found([LIMITS.longest_mm, 1, 1], "mm") is None
    assert _found([LIMITS.shortest_mm, 1, 1], "mm") is None
