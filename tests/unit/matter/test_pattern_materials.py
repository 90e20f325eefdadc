"""Pattern materials."""

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.pattern_materials import pattern_material, pattern_material_ids
from pourwright.matter.practice import programme


def test_wax_floats_and_resin_sinks():
    wax, resin = pattern_material("casting-wax"), pattern_material("castable-resin")
    assert (wax.density_kg_m3.low, wax.density_kg_m3.best, wax.density_kg_m3.high) == (900, 960, 1000)
    assert resin.density_kg_m3.low > 1000


def test_every_material_asks_for_a_programme_that_is_there():
    for one in map(pattern_material, pattern_material_ids()):
        assert programme(one.programme).steps


def test_every_family_has_a_material():
    families = {pattern_material(one).family for one in pattern_material_ids()}
    assert families == {"wax", "resin", "wax-resin", "thermoplastic", "organic"}


def test_densities_are_never_called_published():
    assert {pattern_material(one).density_kg_m3.kind for one in pattern_material_ids()} == {"memory"}


def test_a_wrong_material_names_the_nearest():
    with pytest.raises(DataError, match="did you mean casting-wax"):
        pattern_material("casting-wx")
