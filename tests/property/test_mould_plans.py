"""What holds for every mix and every burnout, whatever the flasks."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.prepare.mould_bench import (
    RESIN,
    SHORT_WAX,
    WAX,
    WAXLIKE,
    ZONE,
    fig,
    habits,
    kiln,
    powder,
    to_burn,
    to_invest,
    wish,
)

from pourwright.prepare.mould.burnout import plan_burnout
from pourwright.prepare.mould.investment import plan_mix
from pourwright.prepare.mould.programmes import demands_of, merge

patterns = st.lists(st.sampled_from([WAX, SHORT_WAX, RESIN, WAXLIKE]), min_size=1, max_size=3, unique=True)
kiln_loads = st.lists(st.tuples(st.floats(40, 110), patterns), min_size=1, max_size=5).map(
    lambda rows: [to_burn(f"F{number}", size, one) for number, (size, one) in enumerate(rows, 1)]
)
flasks = st.lists(
    st.tuples(st.floats(45, 105), st.floats(50, 120), st.floats(2, 30), st.floats(100, 900)), min_size=1, max_size=9
).map(lambda rows: [to_invest(f"F{number}", *row) for number, row in enumerate(rows, 1)])
pours = st.datetimes(datetime(2026, 1, 1), datetime(2027, 12, 31)).map(
    lambda one: one.replace(tzinfo=UTC, microsecond=0)
)
QUICK = settings(max_examples=40, deadline=None)


def _burnout(loads, pour, **wishes):
    return plan_burnout(kiln(), loads, pour, ZONE, wish(**wishes))


@QUICK
@given(kiln_loads, pours)
def test_burnout_steps_join_without_gaps_and_sum_to_the_total(loads, pour):
    burnout = _burnout(loads, pour)
    assert all(one.end == two.start and one.to_C == two.from_C for one, two in pairwise(burnout.steps))
    lengths_s = sum((one.end - one.start).total_seconds() for one in burnout.steps)
    assert lengths_s == (burnout.first_pour - burnout.light_at).total_seconds()
    assert lengths_s == pytest.approx(60 * burnout.total_min.value, abs=1)
    assert burnout.steps[-1].end == pour


@QUICK
@given(kiln_loads, pours, st.floats(0, 200), st.floats(0, 200))
def test_a_longer_soak_never_lights_the_kiln_later(loads, pour, one_min, other_min):
    short, long = sorted((one_min, other_min))
    lit = [_burnout(loads, pour, soak_min=fig(soak, "min")).light_at for soak in (short, long)]
    assert lit[1] <= lit[0]


@QUICK
@given(kiln_loads, kiln_loads, pours)
def test_another_flask_never_lights_the_kiln_later(loads, others, pour):
    """Holds only grow, and the climb from room to top is the same whatever the holds on the way."""
    alone, both = _burnout(loads, pour), _burnout([*loads, *others], pour)
    assert both.light_at <= alone.light_at + timedelta(seconds=1)


@QUICK
@given(kiln_loads)
def test_merged_holds_rise_and_are_at_least_what_each_flask_asks(loads):
    demands, _ = demands_of(loads)
    holds = merge(demands)
    heats = [one.temperature_C.value for one in holds]
    assert heats == sorted(heats)
    assert heats[-1] == max(one.top_C for one in demands)
    for demand in demands:
        own_min = sum(one.length_min.value for one in merge([demand]))
        assert sum(one.length_min.value for one in holds) >= own_min - 1e-9


@QUICK
@given(kiln_loads, pours)
def test_the_same_input_gives_the_same_burnout(loads, pour):
    one, two = _burnout(loads, pour), _burnout(loads, pour)
    assert [(s.start, s.end, s.to_C, s.because) for s in one.steps] == [
        (s.start, s.end, s.to_C, s.because) for s in two.steps
    ]
    assert one.findings == two.findings


@QUICK
@given(flasks, st.floats(0.3, 0.5), st.floats(1.5, 2.0))
def test_powder_and_water_weigh_what_the_slurry_weighs(loads, ratio, slurry_g_cm3):
    mix = plan_mix(loads, powder(water_ratio=fig(ratio, "ratio"), slurry_g_cm3=fig(slurry_g_cm3, "g_cm3")), habits())
    for one in mix.flasks:
        assert one.powder_g.value + one.water_g.value == pytest.approx(one.fill_cm3.value * slurry_g_cm3)


@QUICK
@given(flasks, st.floats(0.3, 0.5))
def test_without_a_slurry_density_grains_and_water_fill_the_flask(loads, ratio):
    mix = plan_mix(loads, powder(water_ratio=fig(ratio, "ratio"), slurry_g_cm3=None), habits())
    for one in mix.flasks:
        grain_g_cm3 = one.powder_g.inputs["grain_g_cm3"].value
        assert one.powder_g.value / grain_g_cm3 + one.water_g.value == pytest.approx(one.fill_cm3.value)


@QUICK
@given(flasks, st.floats(0, 0.2), st.floats(4, 20))
def test_every_flask_is_in_one_bowl_and_bowls_hold_all_powder(loads, spill, working_min):
    rules = habits(spill_frac=fig(spill, "frac"))
    mix = plan_mix(loads, powder(working_min=fig(working_min, "min")), rules)
    assert [name for bowl in mix.batches for name in bowl.flasks] == [one.flask for one in loads]
    needed_g = sum(one.powder_g.value for one in mix.flasks) * (1 + spill)
    assert sum(one.powder_g.value for one in mix.batches) == pytest.approx(needed_g)
    late = [one for one in mix.batches if one.ends_min.value > one.limit_min.value + 1e-6]
    assert all(len(one.flasks) == 1 for one in late)
    assert len(late) == sum(one.code == "prepare.mix-too-slow" for one in mix.findings)


@QUICK
@given(flasks)
def test_the_burned_out_flask_is_lighter_than_the_wet_one_and_heavier_than_its_steel(loads):
    for load, one in zip(loads, plan_mix(loads, powder(), habits()).flasks, strict=True):
        wet_g = load.steel_g.value + one.powder_g.value + one.water_g.value
        assert load.steel_g.value < 1000 * one.dry_kg.value < wet_g
