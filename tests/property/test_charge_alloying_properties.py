"""What holds for every charge: nothing is lost, the worst case is honest, more poor scrap never helps."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.unit.prepare.charge_bench import charge_of, lots_of, masses

from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.mixture import mixed_permille

MASSES_G = st.integers(2000, 40000).map(lambda hundredths: hundredths / 100)
FINENESS = st.integers(700, 960)
DIVISIONS_G = st.sampled_from([0.001, 0.01, 0.02, 0.05, 0.1])
FEW = settings(max_examples=20, deadline=None, derandomize=True)


def _silver(mass_g, scrap_g, fineness, division_g, **rest):
    return charge_of(
        "sterling-925",
        mass_g,
        f"scrap:{scrap_g} g@{fineness}",
        "fine-silver-999",
        "copper",
        division_g=division_g,
        **rest,
    )


@FEW
@given(MASSES_G, st.integers(1, 200), FINENESS, DIVISIONS_G)
def test_weights_add_up_and_no_metal_is_lost(mass_g, scrap_g, fineness, division_g):
    charge, _ = _silver(mass_g, scrap_g, fineness, division_g)
    assume(charge is not None)
    assert sum(one.mass_g for one in charge.weigh) == pytest.approx(charge.total_g, abs=1e-9)
    aimed_g = sum(one.mass_g for one in charge.weigh_to_aim)
    assert mass_g - 1e-9 <= aimed_g < mass_g + division_g
    silver_frac = {"scrap": fineness / 1000, "fine-silver-999": 0.999, "copper": 0.0}
    silver_g = sum(mass * silver_frac[name] for name, mass in masses(charge.weigh).items())
    assert silver_g == pytest.approx(0.925 * charge.total_g, abs=3e-4)


@FEW
@given(MASSES_G, st.integers(1, 200), FINENESS, DIVISIONS_G)
def test_the_worst_case_is_below_nominal_and_the_aim_never_below_the_standard(mass_g, scrap_g, fineness, division_g):
    charge, findings = _silver(mass_g, scrap_g, fineness, division_g)
    if charge is None:
        assert any(one.level == "stop" for one in findings)
        return
    assert charge.fineness_low_permille.value <= charge.fineness_permille.value + 1e-9
    assert charge.aim_low_permille.value >= 925.0 - 1e-9
    assert charge.aim_low_permille.value <= charge.aim_permille.value
    assert charge.scrap_frac <= 0.5 + 1e-9
    assert masses(charge.weigh_to_aim).get("scrap", 0.0) <= scrap_g + 1e-9
    marks = [one.mass_g / division_g for one in charge.weigh_to_aim]
    assert marks == pytest.approx([round(one) for one in marks], abs=1e-6)


@FEW
@given(MASSES_G, st.integers(5, 100), FINENESS, st.integers(1, 50))
def test_poorer_scrap_never_needs_less_fine_silver(mass_g, scrap_g, fineness, poorer):
    good, _ = _silver(mass_g, scrap_g, fineness, 0.01)
    poor, _ = _silver(mass_g, scrap_g, fineness - poorer, 0.01)
    assume(good is not None and poor is not None)
    same_scrap = masses(good.weigh).get("scrap") == masses(poor.weigh).get("scrap")
    assume(same_scrap)
    assert masses(poor.weigh)["fine-silver-999"] >= masses(good.weigh)["fine-silver-999"] - 1e-4


@FEW
@given(st.integers(5, 60), st.integers(5, 60), st.integers(700, 900))
def test_more_scrap_below_the_mixture_never_raises_its_fineness(less_g, more_g, fineness):
    small, large = sorted((less_g, less_g + more_g))
    mixed = [mixed_permille([100.0, scrap], [925.0, fineness]) for scrap in (small, large)]
    assert mixed[1] <= mixed[0] <= 925.0


@FEW
@given(
    st.integers(500, 5000).map(lambda hundredths: hundredths / 100),
    st.sampled_from(["gold-18k-3n", "gold-18k-2n", "gold-14k"]),
)
def test_gold_meets_every_metal_of_the_alloy(mass_g, alloy_id):
    charge, _ = charge_of(alloy_id, mass_g, "fine-gold-9999", "fine-silver-999", "copper", division_g=0.001)
    assert charge is not None
    lots = {one.name: one for one in lots_of(alloy_id, "fine-gold-9999", "fine-silver-999", "copper")}
    for element, wanted in alloy(alloy_id).composition_frac.items():
        shares = {name: lot.composition_frac.get(element, 0.0) for name, lot in lots.items()}
        held_g = sum(mass * shares[name] for name, mass in masses(charge.weigh).items())
        assert held_g / mass_g == pytest.approx(wanted, abs=1e-4)
    assert charge.aim_low_permille.value >= alloy(alloy_id).fineness_permille - 1e-9


@FEW
@given(MASSES_G, st.integers(1, 200), FINENESS, DIVISIONS_G)
def test_the_same_lots_give_the_same_charge(mass_g, scrap_g, fineness, division_g):
    first, second = (_silver(mass_g, scrap_g, fineness, division_g) for _ in range(2))
    assert (first[0] is None) == (second[0] is None)
    if first[0] is not None:
        assert first[0].weigh == second[0].weigh and first[0].weigh_to_aim == second[0].weigh_to_aim
