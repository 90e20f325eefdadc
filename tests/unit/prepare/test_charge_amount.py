import pytest
from tests.unit.prepare.charge_bench import codes, figure

from pourwright.core.findings import Level
from pourwright.prepare.charge.amount import Vessel, button_cm3, cavity_cm3, charge_need, usual_loss_frac

BUTTON = button_cm3(figure(20.0, "mm"), figure(8.0, "mm"))
SOLID, LIQUID = figure(10.36, "g_cm3"), figure(9.14, "g_cm3")
CAVITY, LOSS = figure(10.744, "cm3"), figure(0.01, "frac")


def _need(funnel_cm3=6.0, crucible_cm3=40.0, fill=0.6, liquid=LIQUID, cavity=CAVITY, **rest):
    crucible = Vessel(figure(crucible_cm3, "cm3"), figure(fill, "frac"))
    return charge_need(
        cavity,
        BUTTON,
        figure(funnel_cm3, "cm3"),
        SOLID,
        liquid,
        crucible,
        rest.pop("loss", LOSS),
        0.01,
        where="F1",
        **rest,
    )


def test_the_floor_counts_button_and_loss():
    need = _need()
    assert BUTTON.value == pytest.approx(2.513, abs=5e-4)
    assert need.button_g.value == pytest.approx(26.04, abs=0.005)
    assert need.cavity_g.value + need.button_g.value == pytest.approx(137.35, abs=0.005)
    assert need.floor_g.value == pytest.approx(138.73, abs=0.005)
    assert need.charge_g.value == 138.74
    assert need.findings == ()


def test_three_rings_on_one_base_have_one_button():
    ring = figure(1.2, "cm3")
    one = _need(cavity=cavity_cm3({"a": ring}, figure(1.0, "cm3"), figure(0.1, "cm3")))
    three = _need(cavity=cavity_cm3({"a": ring, "b": ring, "c": ring}, figure(1.0, "cm3"), figure(0.1, "cm3")))
    assert three.button_g.value == one.button_g.value
    assert three.floor_g.value - one.floor_g.value == pytest.approx(2 * 1.2 * 10.36 / 0.99)


def test_many_pieces_add_up_with_their_ranges():
    pieces = {f"P{number}": figure(1.0, "cm3", 0.9, 1.1) for number in range(40)}
    total = cavity_cm3(pieces, figure(2.0, "cm3"), figure(0.5, "cm3"))
    assert (total.low, total.value, total.high) == pytest.approx((38.5, 42.5, 46.5))


def test_the_ceiling_goes_by_the_melt_and_floor_above_it_is_said():
    need = _need(funnel_cm3=3.0)
    assert need.ceiling_g.value == pytest.approx(125.6, abs=0.05)
    assert need.charge_g is None
    assert codes(need.findings) == ["prepare.charge-funnel-small"]
    assert "4.44" in need.findings[0].do_next
    assert "split the tree" in need.findings[0].do_next


def test_the_funnel_asked_for_is_just_enough():
    assert _need(funnel_cm3=4.44).charge_g is not None
    assert _need(funnel_cm3=4.42).charge_g is None


def test_a_charge_above_the_ceiling_is_refused_with_the_surplus():
    need = _need(funnel_cm3=3.0, offered_g=figure(160.0, "g"))
    assert need.charge_g is None
    much = next(one for one in need.findings if one.code == "prepare.charge-too-much")
    assert much.level is Level.STOP
    assert "34.4\u00a0g too much will leave the flask" in much.what


def test_a_charge_below_the_floor_is_refused():
    assert codes(_need(offered_g=figure(130.0, "g")).findings) == ["prepare.charge-too-little"]


def test_a_charge_between_floor_and_ceiling_is_taken():
    need = _need(offered_g=figure(145.0, "g"))
    assert need.charge_g.value == 145.0
    assert need.findings == ()


def test_a_small_crucible_proposes_a_split():
    need = _need(crucible_cm3=20.0, liquid=figure(9.3, "g_cm3"))
    assert need.crucible_g.value == pytest.approx(111.6, abs=0.05)
    assert need.charge_g is None
    (finding,) = need.findings
    assert finding.code == "prepare.charge-crucible-small"
    assert "14.9" in finding.what and "12.0" in finding.what
    assert "111.6" in finding.do_next and "2 pours" in finding.do_next


def test_an_offered_charge_that_the_crucible_cannot_hold():
    need = _need(crucible_cm3=26.0, offered_g=figure(152.0, "g"))
    assert codes(need.findings) == ["prepare.charge-crucible-small"]


def test_the_low_end_of_the_melts_density_counts():
    need = _need(liquid=figure(9.14, "g_cm3", 8.9, 9.3))
    assert need.ceiling_g.value == pytest.approx(16.744 * 8.9)
    assert need.crucible_g.value == pytest.approx(24.0 * 8.9)


def test_the_charge_covers_the_high_end_of_the_need():
    need = _need(cavity=figure(10.744, "cm3", 10.6, 10.9))
    assert need.floor_g.high <= need.charge_g.value < need.floor_g.high + 0.01


def test_where_the_high_end_does_not_fit_the_most_that_fits_is_taken():
    need = _need(funnel_cm3=4.6, cavity=figure(10.744, "cm3", 10.6, 11.2))
    assert codes(need.findings) == ["prepare.charge-tight"]
    assert need.floor_g.value < need.charge_g.value <= need.ceiling_g.value < need.floor_g.high


def test_a_button_larger_than_its_funnel_is_refused():
    assert "prepare.charge-button-big" in codes(_need(funnel_cm3=2.0).findings)


def test_without_a_loss_of_its_own_the_studio_gets_common_practice():
    usual = usual_loss_frac()
    assert (usual.low, usual.value, usual.high) == pytest.approx((0.002, 0.01, 0.01))
    assert _need(loss=None).floor_g.value == pytest.approx(138.73, abs=0.005)


def test_every_figure_says_how_it_was_made():
    need = _need()
    assert set(need.floor_g.inputs) == {"cavity", "button", "solid", "loss"}
    assert need.ceiling_g.inputs["liquid"].how == "prepare.charge-low-end"
    assert need.charge_g.inputs["floor"] is need.floor_g
