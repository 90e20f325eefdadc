"""Feeding verdicts on rows of cubes: button, gate, piece."""

import numpy as np
import pytest
from tests.unit.physics.made_up_freezing import SIDE_M, button_first, row

from pourwright.core.interval import Interval
from pourwright.physics.freeze.hot_spots import feeder_closes_s, find_hot_spots
from pourwright.physics.freeze.verdicts import SectionCells, judge_feeding, neck_words, void_words

SHRINKAGE = Interval(0.2, 0.25, 0.3)  # far more than any metal's, so that cubes of a millimetre leave voids that matter
NAMES = ("button", "gate:P1", "P1", "P2")
CUBE_M3 = SIDE_M**3


def judged(result, region, *sections):
    feeder = button_first(result)
    found = find_hot_spots(result, feeder, SHRINKAGE, 0.7)
    return judge_feeding(result, found, sections, np.array(region, dtype=np.int32), NAMES, feeder)


def section(*cells, number=0, heavy=True, piece="P1"):
    return SectionCells(piece, number, 0.5, heavy, np.array(cells))


def test_a_section_that_freezes_before_its_gate_is_fed():
    (verdict,) = judged(row(9, 8, 6, 7), [0, 1, 2, 2], section(2))
    assert verdict.fed
    assert verdict.cut_off_s is None
    assert verdict.feed_open_s == 8
    assert (
        "was fed until its mush locked at 6.0\u00a0s; the way to the button stayed open until 8.0\u00a0s"
        in verdict.words
    )


def test_a_section_behind_a_frozen_gate_is_cut_off_in_its_gate():
    (verdict,) = judged(row(9, 3, 6, 7), [0, 1, 2, 2], section(2, 3))
    assert not verdict.fed
    assert (verdict.cut_off_s, verdict.neck) == (3, "gate:P1")
    assert verdict.feed_open_s == 3
    assert verdict.void_m3.best == pytest.approx(0.5 * CUBE_M3)
    assert "cut off at 3.0\u00a0s, when the way closed in its gate" in verdict.words


def test_a_neck_within_the_piece_is_told_from_its_gate():
    near, far = judged(row(9, 8, 7, 3, 6, 5), [0, 1, 2, 2, 2, 2], section(2), section(4, 5, number=1))
    assert near.fed
    assert not far.fed
    assert (far.neck, far.cut_off_s) == ("P1", 3)
    assert far.feed_open_s == 8


def test_every_verdict_says_that_it_is_about_shrinkage_only():
    cases = ([9, 8, 6, 7], [9, 3, 6, 7], [9, 6.5, 6.6, 7], [9, np.nan, 6, 7])
    for times_s in cases:
        result = row(*times_s)
        region = [0, 1, 2, 2] if len(result.cell) == 4 else [0, 2, 2]
        cells = np.flatnonzero(np.array(region) == 2)
        (verdict,) = judged(result, region, section(*cells))
        assert verdict.words.endswith("Shrinkage only.")
        assert "porosity" not in verdict.words


def test_metal_apart_from_the_button_was_never_fed():
    (verdict,) = judged(row(9, np.nan, 6, 7), [0, 2, 2], section(1, 2))
    assert verdict.cut_off_s == 0
    assert "no way to the button at any time" in verdict.words


def test_a_void_too_small_to_matter_is_said_to_be():
    result = row(9, 6.5, 6.8, 6.7, mushy_s=2.0)
    found = find_hot_spots(result, button_first(result), Interval(0.04, 0.05, 0.06), 0.7)
    (verdict,) = judge_feeding(result, found, [section(2, 3)], np.array([0, 1, 2, 2], dtype=np.int32), NAMES,
                               button_first(result))  # fmt: skip
    assert verdict.fed
    assert "too little to matter" in verdict.words


def test_a_light_section_is_left_out_unless_it_holds_a_void():
    light_fed = section(3, number=1, heavy=False)
    assert judged(row(9, 8, 7, 6), [0, 1, 2, 2], section(2), light_fed)[-1].section == 0
    verdicts = judged(row(9, 8, 7, 3, 6), [0, 1, 2, 2, 2], section(2), section(4, number=1, heavy=False))
    assert [one.section for one in verdicts] == [0, 1]


def test_a_pool_that_splits_names_the_neck_that_cut_it_from_the_button():
    one, other = judged(row(9, 2, 7, 6, 4, 8, 5), [0, 1, 2, 2, 2, 2, 2], section(2, 3), section(5, 6, number=1))
    assert (one.cut_off_s, other.cut_off_s) == (2, 2)
    assert one.neck == other.neck == "gate:P1"


def test_a_part_can_draw_until_the_best_way_to_it_closes():
    result = row(9, 4, 5, 3, 6)
    wanted = result.cell[:, 0] == 4
    assert feeder_closes_s(result, button_first(result), wanted) == 3
    assert feeder_closes_s(result, np.zeros(5, dtype=bool), wanted) == 0


def test_voids_are_shown_with_a_range_and_a_width():
    assert void_words(Interval(1.6e-9, 2.0e-9, 2.4e-9)) == (
        "a void of 1.6 to 2.4\u00a0mm³ (one round hole would be 1.6\u00a0mm wide)"
    )
    assert neck_words("P9", "P1") == "in P9"
