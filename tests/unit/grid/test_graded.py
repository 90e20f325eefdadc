"""Graded grids and the flask in them."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.grid.graded import GROWTH_RATIO, Flask, Part, flask_cells, lay_grid

_FLASK = Flask(radius_m=0.0315, height_m=0.060, wall_m=0.003)
_LOW_M, _HIGH_M = np.array([-0.012, -0.011, 0.0]), np.array([0.012, 0.011, 0.045])


def _grid(side_m=1e-3, offset=(0.0, 0.0, 0.0), planes_m=()):
    return lay_grid(_LOW_M, _HIGH_M, _FLASK, side_m, offset, planes_m)


@pytest.mark.parametrize("offset", [(0, 0, 0), (0.5, 0.25, 0.75), (0.99, 0.01, 0.4)])
@pytest.mark.parametrize("side_m", [1e-3, 0.37e-3])
def test_cells_are_even_round_the_metal_and_grow_no_faster_than_allowed(side_m, offset):
    grid = _grid(side_m, offset)
    for axis, (edges_m, sides_m) in enumerate(zip(grid.edges_m, grid.sides_m, strict=True)):
        assert np.all(sides_m > 0)
        near = (edges_m[1:] > _LOW_M[axis] - 2 * side_m) & (edges_m[:-1] < _HIGH_M[axis] + 2 * side_m)
        near &= (edges_m[1:] > 1e-9) if axis == 2 else True
        assert np.all(np.abs(sides_m[near] / side_m - 1) < 0.03)
        steps = sides_m[1:] / sides_m[:-1]
        assert max(steps.max(), 1 / steps.min()) < GROWTH_RATIO + 0.02


def test_mouth_far_end_and_asked_planes_are_planes_of_the_grid():
    grid = _grid(1e-3, (0.3, 0.3, 0.3), (0.0063,))
    for plane_m in (0.0, 0.0063, _FLASK.height_m):
        assert np.abs(grid.z_m - plane_m).min() < 1e-12
    assert grid.sides_m[2].min() > 0.85e-3


def test_one_layer_of_air_lies_beyond_the_flask_on_every_side():
    part = flask_cells(_grid(), _FLASK).part
    assert np.all(part[[0, -1]] == Part.OUTSIDE)
    assert np.all(part[:, [0, -1]] == Part.OUTSIDE)
    assert np.all(part[:, :, [0, -1]] == Part.OUTSIDE)
    assert np.all(part[part.shape[0] // 2, part.shape[1] // 2, 1:-1] == Part.MOULD)


def test_an_offset_shifts_the_even_planes_by_that_share_of_a_side():
    plain, shifted = _grid(), _grid(offset=(0.3, 0.0, 0.0))
    assert np.min(np.abs(plain.x_m[:, None] + 0.3e-3 - shifted.x_m[None, :]), axis=0)[15:30].max() < 1e-12


def test_metal_beyond_the_flask_or_a_side_of_nothing_is_refused():
    with pytest.raises(ValueError, match="box"):
        lay_grid(_LOW_M, _HIGH_M + 0.03, _FLASK, 1e-3)
    with pytest.raises(ValueError, match="side"):
        lay_grid(_LOW_M, _HIGH_M, _FLASK, 0.0)


@pytest.mark.parametrize("side_m", [1e-3, 0.5e-3])
def test_mould_steel_and_outer_surface_are_those_of_the_true_cylinder(side_m):
    grid = _grid(side_m, (0.2, 0.6, 0.1))
    cells = flask_cells(grid, _FLASK)
    outer_m = _FLASK.radius_m + _FLASK.wall_m
    volumes_m3 = grid.volumes_m3(np.arange(grid.cells_count))
    mould_m3 = np.where(cells.part.ravel() == Part.MOULD, volumes_m3, 0.0)
    steel_m3 = np.where(cells.part.ravel() == Part.STEEL, volumes_m3, 0.0)
    mould_m3[cells.rim_cells], steel_m3[cells.rim_cells] = cells.rim_mould_m3, cells.rim_steel_m3
    assert mould_m3.sum() == pytest.approx(np.pi * _FLASK.radius_m**2 * _FLASK.height_m, rel=1e-9)
    assert steel_m3.sum() == pytest.approx(np.pi * (outer_m**2 - _FLASK.radius_m**2) * _FLASK.height_m, rel=1e-9)
    ends_m2 = [cells.air_m2[cells.air_side == side].sum() for side in (1, 2)]
    assert ends_m2 == pytest.approx([np.pi * outer_m**2] * 2, rel=1e-9)
    round_m2 = cells.air_m2[cells.air_side == 0].sum()
    assert round_m2 == pytest.approx(2 * np.pi * outer_m * _FLASK.height_m, rel=1e-9)


def test_the_round_surface_is_even_about_the_axis():
    """Each quarter has a quarter, and so has each eighth to a few hundredths: no axis is favoured."""
    grid = lay_grid(_LOW_M - np.array([0, 0.001, 0]), _HIGH_M + np.array([0, 0.001, 0]), _FLASK, 1e-3, (0.5, 0.5, 0.0))
    cells = flask_cells(grid, _FLASK)
    on_round = cells.air_side == 0
    x, y, _ = grid.centres_m(cells.air_cells[on_round]).T
    eighth = np.floor(np.arctan2(y, x) / (np.pi / 4)).astype(int) % 8
    shares = np.bincount(eighth, cells.air_m2[on_round], 8) / cells.air_m2[on_round].sum()
    assert shares.max() - shares.min() < 0.02
    assert np.all(cells.air_m >= 0)


def test_a_column_in_the_axis_of_the_flask_has_its_share_of_air_without_a_division_by_nothing():
    side_m, half_m = 1e-3, 5.5e-3
    grid = lay_grid(np.array([-half_m, -half_m, 0.01]), np.array([half_m, half_m, 0.02]), _FLASK, side_m, (0.5, 0.5, 0))
    assert min(np.abs(grid.middles_m[axis]).min() for axis in range(2)) < 1e-9
    with np.errstate(all="raise"):
        cells = flask_cells(grid, _FLASK)
    assert np.isfinite(cells.air_m2).all()
