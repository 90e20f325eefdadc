"""The lines of the burnout."""

from tests.unit.prepare.mould_bench import RESIN, ZONE, at, fig, kiln, to_burn, wish

from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.curve import core_curve, kiln_curve


def _plan(loads=None, **wishes):
    return plan_burnout(kiln(), loads or [to_burn()], at("2026-03-29T10:00"), ZONE, wish(**wishes))


def test_kiln_line_goes_through_the_corners_of_the_steps():
    burnout = _plan()
    line = kiln_curve(burnout)
    assert [one.temperature_C for one in line] == [20, 149, 149, 371, 371, 732, 732, 540, 540]
    assert line[0].since_light_min == 0
    assert abs(line[-1].since_light_min - burnout.total_min.value) < 0.02


def test_core_line_runs_from_the_top_hold_to_the_pour():
    burnout = _plan()
    line = core_curve(burnout, 101.6, 0.285)
    top_start = next(one.start for one in burnout.steps if one.kind == "hold" and one.to_C == 732)
    assert line[0].at == top_start
    assert line[-1].at == burnout.first_pour


def test_core_is_cooler_than_the_kiln_at_first_and_hotter_at_the_pour():
    line = core_curve(_plan(), 101.6, 0.285)
    assert line[0].temperature_C < 732
    assert line[-1].temperature_C > 540


def test_a_longer_soak_brings_the_core_nearer():
    short = core_curve(_plan(), 101.6, 0.285)[-1].temperature_C
    long = core_curve(_plan(soak_min=fig(120, "min")), 101.6, 0.285)[-1].temperature_C
    assert 540 < long < short


def test_points_after_a_clock_change_carry_the_new_offset():
    line = core_curve(_plan(), 63.5, 0.285)
    assert {one.at.utcoffset().total_seconds() for one in line} == {7200, 10800}


def test_a_refused_load_has_no_line():
    refused = _plan([to_burn(stones=True), to_burn("F2", patterns=[RESIN])])
    assert kiln_curve(refused) == core_curve(refused, 63.5, 0.285) == ()
