"""Elements, ideal mixing and molar masses."""

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.elements import element, ideal_density_kg_m3, molar_mass_kg_mol


def test_silver_is_in_si():
    silver = element("Ag")
    assert silver.solid_kg_m3.best == 10490
    assert silver.melting_K.best == 1234.93
    assert silver.molar_kg_mol.best == pytest.approx(0.1078682)


def test_a_gas_has_no_density_here():
    assert element("O").solid_kg_m3 is None
    with pytest.raises(DataError, match="'O' has no density"):
        ideal_density_kg_m3({"O": 1.0})


def test_an_unknown_element_is_refused():
    with pytest.raises(DataError, match="element 'Xx'"):
        element("Xx")


def test_ideal_mixing_adds_volumes():
    half = ideal_density_kg_m3({"Ag": 0.5, "Cu": 0.5})
    assert half == pytest.approx(2 / (1 / 10490 + 1 / 8960))


def test_shares_that_do_not_add_up_are_refused():
    with pytest.raises(DataError, match="add to"):
        ideal_density_kg_m3({"Ag": 0.9})


def test_molar_mass_counts_atoms():
    assert molar_mass_kg_mol({"H": 2, "O": 1}) == pytest.approx(0.018015)
