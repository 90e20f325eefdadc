"""Figures carry value, range and trail."""

import pytest

from pourwright.core.figure import from_interval, given, reckon, trace_mover
from pourwright.core.interval import Interval


def _mass(volume_cm3, density_g_cm3):
    return volume_cm3 * density_g_cm3


def _ring():
    volume = given(2.0, "cm3", "test", 1.9, 2.1)
    density = given(10.36, "g_cm3", "test", 10.2, 10.38)
    return reckon("g", "core.given", _mass, {"volume_cm3": volume, "density_g_cm3": density})


def test_value_and_range_come_from_the_formula():
    mass = _ring()
    assert mass.value == pytest.approx(20.72)
    assert (mass.low, mass.high) == pytest.approx((1.9 * 10.2, 2.1 * 10.38))


def test_the_input_that_moves_it_most_is_named():
    assert _ring().mover == "volume_cm3"


def test_the_mover_alone_takes_it_from_low_to_high():
    mass = _ring()
    volume, density = mass.inputs["volume_cm3"], mass.inputs["density_g_cm3"]
    assert mass.moved == pytest.approx((volume.low * density.value, volume.high * density.value))


def test_a_mover_is_traced_to_the_value_that_was_given():
    charge = reckon("g", "core.given", lambda mass_g: 1.1 * mass_g, {"mass_g": _ring()})
    assert [name for name, _ in trace_mover(charge)] == ["mass_g", "volume_cm3"]
    assert trace_mover(charge)[-1][1].origin == "test"
    assert trace_mover(given(1.0, "g", "test", 0.9, 1.1)) == ()


def test_the_trail_leads_back_to_what_was_given():
    mass = _ring()
    assert list(mass.inputs) == ["volume_cm3", "density_g_cm3"]
    assert mass.inputs["density_g_cm3"].origin == "test"


def test_without_ranges_nothing_moves():
    mass = reckon("g", "core.given", lambda a_g: 2 * a_g, {"a_g": given(3.0, "g", "test")})
    assert (mass.low, mass.value, mass.high, mass.mover) == (6.0, 6.0, 6.0, "")


def test_a_falling_formula_keeps_low_below_high():
    mass = reckon(
        "g", "core.given", lambda loss_frac: 100 / (1 - loss_frac), {"loss_frac": given(0.01, "frac", "t", 0, 0.02)}
    )
    assert mass.low == pytest.approx(100)
    assert mass.high == pytest.approx(100 / 0.98)


def test_an_interval_becomes_a_figure_with_its_sources():
    figure = from_interval(Interval(1, 2, 3, "g", sources=("memory",)), "g", "table x")
    assert (figure.low, figure.value, figure.high, figure.sources) == (1, 2, 3, ("memory",))
    assert figure.as_interval().best == 2


def test_too_many_ranges_are_refused():
    inputs = {f"a{n}_g": given(1.0, "g", "t", 0.9, 1.1) for n in range(13)}
    with pytest.raises(ValueError, match="too many"):
        reckon("g", "core.given", lambda **all_g: sum(all_g.values()), inputs)
