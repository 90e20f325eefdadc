"""The loader of tables, and reading from another folder."""

import shutil
from pathlib import Path

import pytest

import pourwright
from pourwright.core.errors import DataError
from pourwright.matter import _tables
from pourwright.matter.alloys import alloy
from pourwright.matter.version import tables_sha256

TABLES = Path(pourwright.__file__).parent / "matter/tables"


def test_celsius_becomes_kelvin_and_kilojoule_joule():
    row = {"value": 100.0, "low": 90.0, "high": 110.0, "unit": "degC", "kind": "memory", "source": ["memory"]}
    kelvin = _tables.interval(row)
    assert (kelvin.low, kelvin.best, kelvin.high, kelvin.unit) == (363.15, 373.15, 383.15, "K")
    assert _tables.interval(row | {"unit": "kJ/kg"}).best == 100_000


def test_a_row_without_a_range_is_exact():
    one = _tables.interval({"value": 5.0, "unit": "W/m/K", "kind": "memory", "source": ["memory"]})
    assert one.low == one.best == one.high == 5.0
    assert (one.sources, one.kind) == (("memory",), "memory")


def test_an_unknown_table_is_refused():
    with pytest.raises(DataError, match="no table 'nothing'"):
        _tables.table("nothing", "")


def test_a_changed_copy_is_read_when_asked_for(tmp_path, monkeypatch):
    shutil.copytree(TABLES, tmp_path / "tables")
    path = tmp_path / "tables/alloys.toml"
    path.write_text(path.read_text("utf-8").replace("value = 10360, low", "value = 10300, low"), "utf-8")
    monkeypatch.setenv(_tables.TABLES_VARIABLE, str(tmp_path / "tables"))
    assert alloy("sterling-925").solid_kg_m3.best == 10300
    monkeypatch.delenv(_tables.TABLES_VARIABLE)
    assert alloy("sterling-925").solid_kg_m3.best == 10360


def test_the_edition_of_the_tables_has_one_hash():
    assert len(tables_sha256()) == 64
