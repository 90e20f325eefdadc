"""Mould materials."""

import pytest

from pourwright.core.errors import DataError
from pourwright.core.interval import Shape
from pourwright.matter.moulds import mould, mould_ids, reference_property


def test_gypsum_diffusivity_near_600_C():
    spread = mould("gypsum-bonded").diffusivity_m2_s(873.15)
    assert spread.best == pytest.approx(0.285e-6, rel=0.005)
    assert spread.low == pytest.approx(0.20 / (1350 * 1150 * 1.08))
    assert spread.high == pytest.approx(0.80 / (1050 * 1150 * 0.92))


def test_heat_capacity_follows_the_table_between_its_points():
    gypsum = mould("gypsum-bonded")
    assert gypsum.specific_heat_J_kgK(473.15).best == 950
    assert gypsum.specific_heat_J_kgK(573.15).best == pytest.approx((950 + 1070) / 2)
    assert gypsum.specific_heat_J_kgK(293.15).best == pytest.approx(740 - 5 * 210 / 175)


@pytest.mark.parametrize("temp_K", [200.0, 1200.0])
def test_heat_capacity_far_outside_the_table_is_refused(temp_K):
    with pytest.raises(DataError, match="tabulated from"):
        mould("gypsum-bonded").specific_heat_J_kgK(temp_K)


def test_hold_limit_in_both_scales():
    gypsum = mould("gypsum-bonded")
    assert gypsum.hold_limit_C.best == pytest.approx(732)
    assert gypsum.hold_limit_K.best == pytest.approx(732 + 273.15)


def test_bulk_porosity_and_solids_agree():
    for one in map(mould, mould_ids()):
        assert one.bulk_kg_m3.best == pytest.approx(
            (1 - one.porosity_frac.best) * one.property("solids").best, rel=0.02
        )


def test_permeability_is_spread_over_decades():
    assert mould("gypsum-bonded").permeability_m2.shape is Shape.LOG_UNIFORM
    assert mould("phosphate-bonded").permeability_m2.best < mould("gypsum-bonded").permeability_m2.best


def test_a_wrong_mould_names_the_nearest():
    with pytest.raises(DataError, match="did you mean gypsum-bonded"):
        mould("gypsum")


def test_reference_material_is_kept_apart():
    assert reference_property("set-gypsum", "conductivity").best == 0.3004
    assert "set-gypsum" not in mould_ids()
    with pytest.raises(DataError, match="reference material 'chalk'"):
        reference_property("chalk", "conductivity")
