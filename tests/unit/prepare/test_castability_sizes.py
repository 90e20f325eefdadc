"""Ring sizes after shrinkage (need A3) and the limit at intake (need A6)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report

from pourwright.core.figure import given
from pourwright.matter.alloys import alloy
from pourwright.prepare.castability.intake import intake_findings, scale_to_fit_percent
from pourwright.prepare.castability.shrinkage import (
    US_SIZE_MM,
    draw_size,
    final_size,
    fit_findings,
    fit_shrinkage,
    practice_shrinkage,
    sizes_smaller_ratio,
)
from pourwright.prepare.plan_pieces import plan_pieces
from pourwright.studio.profile import MeasuredPair

_MEASURED = (17.75, 17.76, 17.73, 17.77, 17.74)


def _mm(value):
    return given(value, "mm", "test")


def _pairs():
    return tuple(MeasuredPair(_mm(18.0), _mm(one)) for one in _MEASURED)


def test_a_bore_comes_out_smaller_and_is_drawn_larger():
    """Need A3: 18.00 mm at 1.5 % gives 17.73 mm, 0.68 of a size of 0.4 mm; drawn 18.27 mm it comes out right."""
    shrink = given(0.015, "frac", "test")
    final = final_size(_mm(18.0), shrink)
    assert final.value == pytest.approx(17.73, abs=0.001)
    assert round(sizes_smaller_ratio(_mm(18.0), final, 0.4) + 1e-9, 2) == 0.68
    assert sizes_smaller_ratio(_mm(18.0), final) == pytest.approx(0.27 / 0.8128, rel=1e-6)
    assert pytest.approx(0.032 * 25.4) == US_SIZE_MM
    assert draw_size(_mm(18.0), shrink).value == pytest.approx(18.27, abs=0.005)


def test_practice_gives_a_range_for_silver_only():
    shrink = practice_shrinkage("silver")
    assert (shrink.low, shrink.value, shrink.high) == pytest.approx((0.005, 0.0125, 0.02))
    final = final_size(_mm(18.0), shrink)
    assert (final.low, final.high) == pytest.approx((17.64, 17.91))
    assert practice_shrinkage("bronze") is None


def test_five_measured_pairs_propose_a_shrinkage_with_its_spread():
    """Need A3: 1.39 %; the range for one more piece by Student's factor 2.776 (4 degrees of freedom), by hand."""
    fit = fit_shrinkage(_pairs())
    assert fit.best_frac == pytest.approx(0.25 / 18.0)
    spread = 0.0158114 / 18.0  # standard deviation of the five, by hand
    assert fit.high_frac - fit.best_frac == pytest.approx(2.7764 * spread * 1.2**0.5, rel=1e-4)
    assert (fit.least_frac, fit.most_frac) == pytest.approx((0.23 / 18, 0.27 / 18))
    (finding,) = fit_findings(_pairs(), None)
    assert "1.39" in finding.what and "1.28" in finding.what and "1.50" in finding.what
    assert not fit_findings(_pairs(), given(0.0139, "frac", "calibration.toml"))
    assert fit_shrinkage(_pairs()[:2]) is None


def test_the_limit_at_intake_says_by_how_much_and_how_far_to_shrink():
    """Need A6: cap 60 dwt = 93.31 g; 9.2 g of wax at 0.96 is 99.28 g in silver of 10.36: over by 6.0, 97.9 % linear."""
    cap = 60 * 1.55517384
    assert cap == pytest.approx(93.31, abs=0.005)
    (finding,) = intake_findings(given(cap, "g", "test"), {"Student A": [given(9.2 / 0.96 * 10.36, "g", "test")]})
    assert (finding.params["over"], finding.params["scale"]) == ("6.0\u00a0g", "97.9")
    assert scale_to_fit_percent(99.2833, cap) == 97.9
    assert not intake_findings(None, {"Student A": [given(500.0, "g", "test")]})
    assert not intake_findings(given(cap, "g", "test"), {"Student A": [given(93.0, "g", "test")]})


def test_the_day_adds_up_the_pieces_of_each_owner_and_proposes_the_shrinkage_once():
    studio, day = demo_studio_and_day()
    limited = replace(
        studio, habits=replace(studio.habits, intake_limit_g=given(15.0, "g", "test")), shrink_pairs=_pairs()
    )
    codes = [one.code for one in plan_pieces(limited, day, alloy("sterling-925"), made_up_report).findings]
    assert codes.count("prepare.shrink-proposed") == 1
    assert "prepare.intake-over-several" in codes
    assert "prepare.intake-over-several" not in [
        one.code for one in plan_pieces(studio, day, alloy("sterling-925"), made_up_report).findings
    ]
