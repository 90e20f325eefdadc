"""Which shell lies inside which."""

from __future__ import annotations

import pytest

from pourwright.core.findings import Level
from pourwright.shape.pattern import shells, solids
from pourwright.shape.pattern.measure import measure_mesh

BIG, SMALL = solids.box(10, 10, 10), solids.box(2, 2, 2)


def _holders(*meshes):
    return shells.holders(shells.split(solids.beside(*meshes)))


def test_shells_come_largest_first_with_signed_volumes():
    found = shells.split(solids.beside(SMALL, solids.flipped(BIG)))
    assert [one.volume_mm3 for one in found] == pytest.approx([-1000, 8])
    assert shells.turned(found[0]).volume_mm3 == pytest.approx(1000)
    assert shells.outward(found[0]).volume_mm3 == pytest.approx(1000)


def test_inside_beside_and_crossing_are_told_apart():
    assert _holders(BIG, SMALL) == [-1, 0]
    assert _holders(BIG, solids.flipped(SMALL)) == [-1, 0]
    assert _holders(BIG, solids.moved(SMALL, (20, 0, 0))) == [-1, -1]
    assert _holders(BIG, solids.moved(SMALL, (5, 0, 0))) == [-1, -1]


def test_the_innermost_holder_counts():
    assert _holders(BIG, solids.box(6, 6, 6), SMALL) == [-1, 0, 1]


def test_a_part_that_sticks_out_through_the_side_is_not_inside():
    ring = solids.torus(9.0, 1.0, 48)
    inside_the_box_of_the_ring = solids.box(3, 3, 1)
    assert _holders(ring, inside_the_box_of_the_ring) == [-1, -1]
    bent = solids.moved(solids.box(0.5, 12.0, 0.5), (9.0, 0, 0))
    assert _holders(ring, bent) == [-1, -1]


def test_telling_shells_apart_is_counted_before_it_is_begun(monkeypatch):
    nested = [solids.box(side, side, side) for side in (6, 5, 4)]
    beside = solids.moved(solids.box(1, 1, 1), (20, 0, 0))
    pieces = shells.split(solids.beside(*nested, beside))
    assert shells.nesting_steps(pieces) == 12 + 2 * 12
    assert shells.cutting_steps([pieces[0]], [pieces[1], pieces[3]]) == shells.CUT_STEPS * 24
    monkeypatch.setattr(shells, "MOST_STEPS", 20)
    found = measure_mesh(solids.beside(*nested, beside), "onion.stl").findings
    assert [(one.code, one.level) for one in found] == [("shape.shells-entangled", Level.STOP)]
    assert "4" in found[0].what and found[0].do_next
