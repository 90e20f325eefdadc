"""Water really weighed, and warm rooms (NEEDS D2, D4)."""

import pytest
from tests.demo_day import planned
from tests.unit.prepare.mould_bench import codes, fig, powder

from pourwright.core.findings import Level
from pourwright.prepare.mould.water_log import at_room, check_weighed_water

USED_HERE = (fig(0.38, "ratio"), fig(0.40, "ratio"))


def test_a_little_extra_water_is_said_with_its_ratio_and_what_is_used_here():
    ratio, (found,) = check_weighed_water(fig(561.5, "g"), fig(240, "g"), *USED_HERE, "bowl 1")
    assert 100 * ratio.value == pytest.approx(42.7, abs=0.05)
    assert found.level is Level.LOOK
    assert "42.7:100" in found.what
    assert "outside 38–40 used here" in found.what


@pytest.mark.parametrize(("water_g", "code"), [(224.6, []), (213.37, []), (200.0, ["water-weighed-less"])])
def test_water_within_the_band_says_nothing_and_too_little_is_said(water_g, code):
    _, found = check_weighed_water(fig(561.5, "g"), fig(water_g, "g"), *USED_HERE, "bowl 1")
    assert codes(found) == code


def _warm(per_degree=None):
    step = fig(per_degree, "min_K") if per_degree else None
    return powder(working_at_C=fig(22.5, "C", 20, 25), working_per_degree_min_K=step)


def test_a_warm_room_shortens_the_limit_by_what_the_studio_timed():
    shown, (found,) = at_room(_warm(-0.2), fig(30, "C"))
    assert shown.working_min.value == pytest.approx(10.5 - 0.2 * 7.5)
    assert found.code == "prepare.room-shortens"
    assert "9.0" in found.what


def test_a_warm_room_without_a_timing_is_only_pointed_out():
    shown, (found,) = at_room(_warm(), fig(30, "C"))
    assert shown.working_min.value == 10.5
    assert found.code == "prepare.room-warm"


@pytest.mark.parametrize("room_C", [18, 25])
def test_a_usual_room_says_nothing(room_C):
    assert at_room(_warm(-0.2), fig(room_C, "C"))[1] == ()


def test_the_plan_of_a_hot_day_says_so():
    assert "room-warm" in codes(planned(room_C=fig(30, "C")).findings)
    assert "room-warm" not in codes(planned().findings)
