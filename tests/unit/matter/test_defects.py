"""The atlas is whole, and a fault misspelt is told its neighbours."""

from __future__ import annotations

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.defects import defect, defect_ids


def test_every_fault_says_how_it_looks_and_rests_on_something():
    found = [defect(one) for one in defect_ids()]
    assert len(found) == len({one.title for one in found}) >= 16
    assert all(one.looks_like and one.where and one.tell and one.sources for one in found)
    assert all("_" not in one.id for one in found)


def test_a_fault_misspelt_names_its_neighbours():
    with pytest.raises(DataError, match="gas-porosity"):
        defect("gas-porosety")
