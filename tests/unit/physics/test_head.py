"""The head of spinning metal."""

import pytest

from pourwright.physics.spin import head


def test_there_is_no_head_at_the_free_surface():
    assert head.spin_head_Pa(9100, 30, 0.15, 0.15) == 0


def test_heads_over_neighbouring_spans_add_up():
    whole = head.spin_head_Pa(9100, 30, 0.15, 0.23)
    parts = head.spin_head_Pa(9100, 30, 0.15, 0.19) + head.spin_head_Pa(9100, 30, 0.19, 0.23)
    assert parts == pytest.approx(whole)


def test_pull_and_speed_undo_each_other():
    assert head.pull_gee(head.speed_for_pull_rad_s(7.5, 0.23), 0.23) == pytest.approx(7.5)
