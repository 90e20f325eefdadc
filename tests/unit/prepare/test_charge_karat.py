import pytest
from tests.unit.prepare.charge_bench import codes, figure

from pourwright.prepare.charge.karat import addition_g, change_fineness, karat_permille

TROY_OUNCE_G = 31.1034768


def test_a_troy_ounce_of_fine_gold_to_750():
    added_g = addition_g(TROY_OUNCE_G, 1000.0, 750.0, 0.0)
    assert added_g == pytest.approx(10.37, abs=0.005)
    assert TROY_OUNCE_G + added_g == pytest.approx(41.47, abs=0.005)


def test_585_gold_raised_to_750():
    assert addition_g(10.0, 585.0, 750.0, 1000.0) == pytest.approx(6.60)


def test_nothing_is_added_where_nothing_is_wanted():
    assert addition_g(10.0, 750.0, 750.0, 1000.0) == 0.0


@pytest.mark.parametrize("added", [0.0, 700.0, 750.0])
def test_metal_on_the_wrong_side_never_helps(added):
    with pytest.raises(ValueError, match="never makes"):
        addition_g(10.0, 585.0, 750.0, added)


def test_karat_marks_are_twenty_fourths():
    assert karat_permille(18) == 750.0
    assert karat_permille(14) == pytest.approx(583.33, abs=0.01)


def test_an_unknown_lot_gives_a_range_of_what_to_add():
    added, findings = change_fineness(
        figure(10.0, "g"),
        figure(585.0, "permille", 580.0, 590.0),
        figure(750.0, "permille"),
        figure(1000.0, "permille"),
    )
    assert findings == ()
    assert (added.low, added.value, added.high) == pytest.approx((6.4, 6.6, 6.8))
    assert added.mover == "has"


def test_a_change_that_cannot_be_made_is_said():
    added, findings = change_fineness(
        figure(10.0, "g"), figure(585.0, "permille"), figure(750.0, "permille"), figure(0.0, "permille"), "ring"
    )
    assert added is None
    assert codes(findings) == ["prepare.karat-never"]
