"""Ids that a person can read."""

from datetime import date

import pytest

from pourwright.core.ids import flask_load_id, issue_numbers, piece_id, turned_over


def test_ids_name_day_and_number():
    assert flask_load_id(date(2026, 12, 5), 2) == "2026-12-05-F2"
    assert piece_id(date(2026, 12, 5), 7) == "2026-12-05-P07"


@pytest.mark.parametrize("pair", [(6, 9), (16, 91), (18, 81), (19, 61), (66, 99), (68, 89), (86, 98)])
def test_a_pair_that_turns_into_each_other_is_known_and_never_issued_together(pair):
    first, second = pair
    assert (turned_over(first), turned_over(second)) == (second, first)
    issued = issue_numbers(92)
    assert first in issued
    assert second not in issued


def test_no_two_numbers_issued_read_alike_on_their_head():
    issued = issue_numbers(92)
    assert [one for one in issued if turned_over(one) in issued and turned_over(one) != one] == []
    assert list(issued) == sorted(set(issued))
    assert issue_numbers(9) == (1, 2, 3, 4, 5, 6, 7, 8, 10)


def test_a_number_that_is_none_on_its_head_turns_into_nothing():
    assert [turned_over(one) for one in (2, 47, 10, 8, 69, 11)] == [None, None, None, 8, 69, 11]


def test_more_numbers_than_can_be_told_apart_are_refused():
    with pytest.raises(ValueError, match="92"):
        issue_numbers(93)
