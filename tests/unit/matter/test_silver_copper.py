"""Freezing of silver-copper against tables that two other solvers made from the same published coefficients."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from pourwright.core.errors import DataError
from pourwright.matter.silver_copper import eutectic_point, freezing_path, liquidus_K, silver_melting_K, solidus_K

DATA = Path(__file__).parent / "data"
ZERO_C_K = 273.15


def _rows(name: str, copper_percent: float):
    with (DATA / name).open() as lines:
        return [row for row in csv.DictReader(lines) if float(row["wt_pct_Cu"]) == copper_percent]


def test_the_eutectic_lies_where_it_was_measured():
    point = eutectic_point()
    assert point.temp_K - ZERO_C_K == pytest.approx(779.1, abs=0.1)
    assert point.melt_frac == pytest.approx(0.281, abs=0.004)
    assert point.silver_solid_frac == pytest.approx(0.088, abs=0.006)
    assert silver_melting_K() - ZERO_C_K == pytest.approx(961.78, abs=0.01)


@pytest.mark.parametrize(("copper", "liquidus_C", "solidus_C"), [(0.0416, 923.93, 879.83), (0.075, 896.26, 802.75)])
def test_liquidus_and_solidus_agree_with_the_diagram(copper, liquidus_C, solidus_C):
    assert liquidus_K(copper) - ZERO_C_K == pytest.approx(liquidus_C, abs=0.02)
    assert solidus_K(copper) - ZERO_C_K == pytest.approx(solidus_C, abs=0.02)


def test_sterling_keeps_an_eighth_of_its_melt_for_the_eutectic():
    assert freezing_path(0.075, "scheil").liquid_frac[-1] == pytest.approx(0.1135, abs=5e-5)


@pytest.mark.parametrize("copper_percent", [4.16, 7.5, 10.0])
@pytest.mark.parametrize(("path", "column"), [("lever", "fs_lever"), ("scheil", "fs_scheil")])
def test_solid_shares_agree_with_the_table(copper_percent, path, column):
    way = freezing_path(copper_percent / 100, path)
    rows = [row for row in _rows("silver_copper_shares.csv", copper_percent) if float(row[column]) < 1.0]
    temp_K = np.array([float(row["T_C"]) + ZERO_C_K for row in rows])
    solid = np.interp(-temp_K, -way.temp_K, 1.0 - way.liquid_frac)
    # the table rounds temperatures to 0.01 K, and near the liquidus the share runs 0.03 per kelvin
    assert np.max(np.abs(solid - [float(row[column]) for row in rows])) < 7e-4


@pytest.mark.parametrize("copper_percent", [4.16, 7.5, 10.0])
def test_heat_in_balance_agrees_with_the_table(copper_percent):
    way = freezing_path(copper_percent / 100, "lever")
    rows = _rows("silver_copper_heat.csv", copper_percent)
    temp_K = np.array([float(row["T_C"]) + ZERO_C_K for row in rows])
    given = np.array([float(row["H_minus_H25C_kJ_per_kg_equilibrium"]) for row in rows])
    solid, melt = temp_K < way.temp_K[-1], temp_K > way.temp_K[0]
    found = np.interp(-temp_K, -way.temp_K, way.enthalpy_J_kg)
    found[solid] = way.solid_J_kg(temp_K[solid])
    found[melt] = way.melt_J_kg(temp_K[melt])
    assert np.max(np.abs((found - found[0]) / 1e3 - given)) < 0.15  # of 400 kJ/kg


def test_both_paths_give_off_the_same_heat_but_for_mixing():
    """From one melt to solid the two differ only by copper that stays dissolved: under 5 % of the heat."""
    hot_K, cold_K = np.array([1173.15]), np.array([873.15])
    lever, scheil = freezing_path(0.075, "lever"), freezing_path(0.075, "scheil")
    assert lever.melt_J_kg(hot_K) == pytest.approx(scheil.melt_J_kg(hot_K))
    given_off = [float(one.melt_J_kg(hot_K)[0] - one.solid_J_kg(cold_K)[0]) for one in (lever, scheil)]
    assert given_off[1] == pytest.approx(given_off[0], rel=0.045)
    assert given_off[1] < given_off[0]


def test_finer_steps_change_nothing_that_matters():
    coarse, fine = (freezing_path(0.075, "scheil", count) for count in (121, 961))
    assert coarse.liquid_frac[-1] == pytest.approx(fine.liquid_frac[-1], rel=2e-4)
    assert coarse.enthalpy_J_kg[-1] == pytest.approx(fine.enthalpy_J_kg[-1], rel=1e-4)


@pytest.mark.parametrize(("copper", "path", "word"), [(0.075, "quick", "lever, scheil"), (0.4, "lever", "silver side")])
def test_what_is_not_known_is_refused(copper, path, word):
    with pytest.raises(DataError, match=word):
        freezing_path(copper, path)
