"""Laws of metal, mould, wall and contact as arrays."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.core.errors import DataError
from pourwright.matter.alloys import alloy, alloy_ids
from pourwright.matter.laws import (
    contact_law,
    freezing_shrinkage,
    metal_law,
    mould_law,
    surrounding,
    wall_emissivity,
    wall_law,
)
from pourwright.matter.moulds import mould, mould_ids
from pourwright.matter.solidification import solidification_curve


@pytest.mark.parametrize("alloy_id", alloy_ids())
def test_a_metal_law_rises_strictly_so_that_it_can_be_turned_round(alloy_id):
    law = metal_law(alloy_id)
    assert np.all(np.diff(law.temp_K) > 0)
    assert np.all(np.diff(law.enthalpy_J_m3) > 0)
    assert np.all(law.conductivity_W_mK > 0)
    assert {law.solid_frac[0], law.solid_frac[-1]} == {0.0, 1.0}


def test_spreading_the_eutectic_keeps_the_heat():
    curve, law = solidification_curve("sterling-925"), metal_law("sterling-925")
    density = alloy("sterling-925").solid_kg_m3.best
    ends_K = np.array([600.0, 1200.0])
    spread = np.diff(np.interp(ends_K, law.temp_K, law.enthalpy_J_m3))
    assert spread == pytest.approx(density * np.diff(np.interp(ends_K, curve.temp_K, curve.enthalpy_J_kg)), rel=1e-5)


def test_a_cubic_metre_of_metal_weighs_what_the_charge_reckons_with():
    law, curve = metal_law("gold-14k"), solidification_curve("gold-14k")
    assert law.enthalpy_J_m3[-1] / curve.enthalpy_J_kg[-1] == pytest.approx(alloy("gold-14k").solid_kg_m3.best)


def test_conductivity_runs_from_cold_solid_over_hot_to_melt():
    one, law = alloy("sterling-925"), metal_law("sterling-925")
    assert law.conductivity_W_mK[0] == pytest.approx(one.property("k_solid_20C").best)
    assert law.conductivity_W_mK[-1] == pytest.approx(one.property("k_liquid").best)
    hot = law.conductivity_W_mK[np.flatnonzero(law.solid_frac == 1.0)[-1]]
    assert hot == pytest.approx(one.property("k_solid_hot").best, rel=0.01)


def test_ratios_for_sampling_scale_what_they_name():
    plain, more = metal_law("sterling-925"), metal_law("sterling-925", conductivity_ratio=1.2, latent_ratio=1.1)
    assert more.conductivity_W_mK == pytest.approx(1.2 * plain.conductivity_W_mK)
    added = (more.enthalpy_J_m3 - plain.enthalpy_J_m3)[[0, -1]]
    freed = solidification_curve("sterling-925").latent_J_kg.best * alloy("sterling-925").solid_kg_m3.best
    assert added == pytest.approx([0.0, 0.1 * freed])
    assert mould_law("gypsum-bonded", conductivity_ratio=2.0).conductivity_W_mK == pytest.approx(
        2.0 * mould_law("gypsum-bonded").conductivity_W_mK
    )


@pytest.mark.parametrize("mould_id", mould_ids())
def test_a_mould_law_passes_through_its_best_values_at_600_C(mould_id):
    one, law = mould(mould_id), mould_law(mould_id)
    assert np.interp(873.15, law.temp_K, law.conductivity_W_mK) == pytest.approx(one.conductivity_W_mK.best)
    capacity = one.bulk_kg_m3.best * one.specific_heat_J_kgK(873.15).best
    assert np.interp(873.15, law.temp_K, law.heat_capacity_J_m3K) == pytest.approx(capacity)


def test_steel_of_the_wall_agrees_with_its_published_fits():
    law, kelvin = wall_law("stainless-steel"), np.array([473.15, 873.15])
    fitted = 6.308 + 0.02716 * kelvin - 7.301e-6 * kelvin**2
    assert np.interp(kelvin, law.temp_K, law.conductivity_W_mK) == pytest.approx(fitted, rel=1e-3)
    assert np.interp(kelvin, law.temp_K, law.heat_capacity_J_m3K) == pytest.approx(
        7960 * (428.46 + 0.1816 * kelvin), rel=1e-3
    )
    assert wall_law("mild-steel").conductivity_W_mK[0] == pytest.approx(53.3, abs=0.1)
    assert 0.5 < wall_emissivity().best < 1.0


def test_the_contact_falls_when_the_gap_opens():
    law = contact_law()
    assert np.interp([0.0, 1.0], law.solid_frac, law.coefficient_W_m2K) == pytest.approx([1500.0, 250.0])
    assert np.all(np.diff(law.coefficient_W_m2K) <= 0)
    assert contact_law(2000, 2000, 1.0).coefficient_W_m2K == pytest.approx([2000.0, 2000.0])


def test_a_contact_that_rises_is_refused():
    with pytest.raises(DataError, match="makes no sense"):
        contact_law(100.0, 200.0)


def test_values_of_the_surroundings_have_ranges_in_si():
    assert surrounding("surroundings").best == pytest.approx(293.15)
    for name in ("contact", "after_gap", "convection", "mould_emissivity", "contact_angle", "gate_discharge", "stop"):
        assert surrounding(name).low < surrounding(name).best < surrounding(name).high
    with pytest.raises(DataError, match="did you mean contact"):
        surrounding("contakt")


def test_shrinkage_on_freezing_is_a_range():
    shrinkage = freezing_shrinkage("sterling-925")
    assert 0.03 < shrinkage.low < shrinkage.best < shrinkage.high < 0.06
