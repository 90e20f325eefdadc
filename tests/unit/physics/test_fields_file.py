"""Fields go to disk and come back; a viewer's file is read here by its published layout."""

import base64
from dataclasses import fields, replace
from xml.etree import ElementTree

import numpy as np
import pytest
import zarr
from tests.unit.physics.made_up_freezing import SIDE_M, frozen

from pourwright.core.errors import DataError
from pourwright.physics.freeze.fields_file import (
    Lattice,
    on_grid,
    read_fields,
    read_state,
    write_fields,
    write_for_viewers,
    write_state,
)
from pourwright.physics.freeze.results import FreezeState, HeatBook, Histories


@pytest.fixture
def run():
    times_s = np.random.default_rng(2).uniform(1, 9, (4, 3, 5))
    times_s[0, 1, 2] = np.nan
    result = frozen(times_s)
    histories = Histories(np.arange(3.0), np.ones((3, 2)), np.array([1, np.nan, 3]), *(np.arange(3.0),) * 3)
    return replace(result, histories=histories, cooling_heat=HeatBook(4.0, 1.0, 3.0, 1.0))


EDGES = tuple(np.arange(side + 1) * SIDE_M for side in (4, 3, 5))
LINKS = np.array([[0, 1], [1, 2]], dtype=np.int32)
LATTICE = Lattice(EDGES, LINKS)


def _same(one, other):
    for field in fields(one):
        ours, theirs = getattr(one, field.name), getattr(other, field.name)
        if isinstance(ours, np.ndarray):
            np.testing.assert_array_equal(ours, theirs)
            assert ours.dtype == theirs.dtype
        elif hasattr(ours, "__dataclass_fields__"):
            _same(ours, theirs)
        else:
            assert repr(ours) == repr(theirs)


def test_a_run_comes_back_as_it_was(run, tmp_path):
    about = {"flask": "FL-01", "side_mm": 0.4, "made_from": {"tree_sha256": "00"}}
    write_fields(tmp_path / "run.zarr", run, LATTICE, about)
    result, lattice, said = read_fields(tmp_path / "run.zarr")
    _same(run, result)
    for ours, theirs in zip((*EDGES, LINKS), (*lattice.edges_m, lattice.links), strict=True):
        np.testing.assert_array_equal(ours, theirs)
    assert said == about


def test_an_unfinished_run_comes_back_unfinished(run, tmp_path):
    write_fields(tmp_path / "run.zarr", replace(run, finished=False, last_solid_s=float("nan")), LATTICE, {})
    result, _, _ = read_fields(tmp_path / "run.zarr")
    assert not result.finished
    assert np.isnan(result.last_solid_s)


def test_every_array_with_a_unit_says_it(run, tmp_path):
    write_fields(tmp_path / "run.zarr", run, LATTICE, {})
    group = zarr.open_group(tmp_path / "run.zarr", mode="r")
    assert group["freeze_s"].attrs["unit"] == "s"
    assert group["gradient_K_m"].attrs["unit"] == "K/m"
    assert group["edges_x_m"].attrs["unit"] == "m"
    assert group["histories/lost_J"].attrs["unit"] == "J"


def test_a_newer_or_damaged_store_is_refused_by_name(run, tmp_path):
    write_fields(tmp_path / "run.zarr", run, LATTICE, {})
    group = zarr.open_group(tmp_path / "run.zarr", mode="r+")
    group.attrs["format"] = 99
    with pytest.raises(DataError, match="format 99"):
        read_fields(tmp_path / "run.zarr")
    (tmp_path / "none.zarr").mkdir()
    with pytest.raises(DataError, match=r"none\.zarr"):
        read_fields(tmp_path / "none.zarr")
    with pytest.raises(DataError, match="there is no"):
        read_fields(tmp_path / "absent.zarr")


def test_a_state_comes_back_and_a_second_one_replaces_it(tmp_path):
    path = tmp_path / "state.zarr"
    assert read_state(path) is None
    write_state(path, FreezeState({"heat_J_m3": np.arange(4.0), "step_count": np.array(3)}, "abc"))
    write_state(path, FreezeState({"heat_J_m3": np.arange(5.0), "step_count": np.array(4)}, "abc"))
    back = read_state(path)
    assert back is not None
    assert back.fingerprint == "abc"
    np.testing.assert_array_equal(back.arrays["heat_J_m3"], np.arange(5.0))
    assert int(back.arrays["step_count"]) == 4
    assert [one.name for one in tmp_path.iterdir()] == ["state.zarr"]


def test_values_stand_where_their_cells_are(run):
    whole = on_grid(run, EDGES, "freeze_s")
    assert np.isnan(whole[0, 1, 2])
    assert np.isfinite(whole).sum() == len(run.cell)
    x, y, z = run.cell[7]
    assert whole[x, y, z] == np.float32(run.freeze_s[7])


def _floats(array):
    raw = base64.b64decode(array.text)
    assert int.from_bytes(raw[:8], "little") == len(raw) - 8
    return np.frombuffer(raw[8:], dtype="<f4")


def test_a_viewer_reads_grid_and_fields(run, tmp_path):
    write_for_viewers(tmp_path / "run.vtr", run, EDGES)
    root = ElementTree.parse(tmp_path / "run.vtr").getroot()
    assert (root.get("type"), root.get("byte_order"), root.get("header_type")) == (
        "RectilinearGrid", "LittleEndian", "UInt64",
    )  # fmt: skip
    assert root.find(".//Piece").get("Extent") == "0 4 0 3 0 5"
    planes = [_floats(one) for one in root.findall(".//Coordinates/DataArray")]
    assert [len(one) for one in planes] == [5, 4, 6]
    np.testing.assert_allclose(planes[2], EDGES[2], rtol=1e-6)
    named = {one.get("Name"): _floats(one) for one in root.findall(".//CellData/DataArray")}
    freeze = named["freeze_s"].reshape((4, 3, 5), order="F")
    np.testing.assert_array_equal(freeze, on_grid(run, EDGES, "freeze_s"))
    assert {"niyama_sqrtKs_m", "local_s", "gradient_K_m"} <= named.keys()
