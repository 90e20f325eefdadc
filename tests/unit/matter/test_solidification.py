"""Curves of heat and solid share for every casting alloy."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

import pourwright.matter
from pourwright.core.errors import DataError
from pourwright.core.sources import Kind
from pourwright.matter.alloys import alloy, alloy_ids
from pourwright.matter.solidification import paths, solidification_curve

EVERY = [(one, path) for one in alloy_ids() for path in paths(one)]


@pytest.mark.parametrize(("alloy_id", "path"), EVERY)
def test_heat_rises_and_solid_falls_with_temperature(alloy_id, path):
    curve = solidification_curve(alloy_id, path)
    assert np.all(np.diff(curve.enthalpy_J_kg) > 0)
    assert np.all(np.diff(curve.temp_K) >= 0)
    assert np.all(np.diff(curve.solid_frac) <= 1e-12)
    assert curve.solid_frac[0] == 1.0
    assert curve.solid_frac[-1] == 0.0
    assert curve.sources
    assert curve.kind in set(Kind)


@pytest.mark.parametrize("alloy_id", alloy_ids())
def test_heat_of_freezing_agrees_with_the_row_of_the_alloy(alloy_id):
    row, curve = alloy(alloy_id).property("latent_heat"), solidification_curve(alloy_id, paths(alloy_id)[0])
    assert curve.latent_J_kg.best == pytest.approx(row.best, rel=0.18)
    assert curve.latent_J_kg.low < curve.latent_J_kg.best < curve.latent_J_kg.high


def test_a_dilute_alloy_goes_by_the_lever_rule_and_others_by_scheil():
    assert paths("fine-silver-999")[0] == "lever"
    assert paths("sterling-925")[0] == "scheil"
    assert paths("gold-18k-3n") == ("straight",)


def test_a_straight_line_stands_between_solidus_and_liquidus():
    curve, one = solidification_curve("tin-bronze-c90300"), alloy("tin-bronze-c90300")
    middle = 0.5 * (one.liquidus_K.best + one.solidus_K.best)
    assert np.interp(middle, curve.temp_K, curve.solid_frac) == pytest.approx(0.5)
    assert curve.end_K.low < curve.end_K.best
    assert curve.kind == Kind.DERIVED


def test_a_pure_metal_freezes_at_one_temperature():
    curve = solidification_curve("pure-gold")
    place = int(np.flatnonzero(np.diff(curve.temp_K) == 0.0)[0])
    assert curve.last_frac == 1.0
    assert np.diff(curve.enthalpy_J_kg)[place] == pytest.approx(alloy("pure-gold").property("latent_heat").best)


def test_a_path_that_is_not_known_is_refused():
    with pytest.raises(DataError, match="known are straight"):
        solidification_curve("gold-9k", "scheil")


def test_an_alloy_that_lacks_a_value_is_refused_by_name(tmp_path, monkeypatch):
    copy = tmp_path / "tables"
    shutil.copytree(Path(pourwright.matter.__file__).parent / "tables", copy)
    text = (copy / "alloys.toml").read_text("utf-8")
    head, tail = text.split("[alloy.gold-9k]")
    lines = [line for line in tail.splitlines() if not line.startswith("latent_heat")]
    (copy / "alloys.toml").write_text(head + "[alloy.gold-9k]" + "\n".join(lines), "utf-8")
    monkeypatch.setenv("POURWRIGHT_TABLES", str(copy))
    with pytest.raises(DataError, match=r"gold-9k 'latent_heat'"):
        solidification_curve("gold-9k")
