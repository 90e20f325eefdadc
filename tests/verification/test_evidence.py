"""Our numbers against the world outside, and proof that the comparison can turn red.

Case: every row of evidence.toml: element and alloy densities, melting ranges, mould values, laws, worked examples,
and sums that other programs repeat. Source: in each row, with a key of the register. Tolerance: in each row, with
the reason. The second half spoils copies of the tables: 3 % on every density, and single values.
"""

import re
import shutil
import time
from pathlib import Path

import pytest

import pourwright
from pourwright.doors.service import verify
from pourwright.matter._tables import TABLES_VARIABLE

TABLES = Path(pourwright.__file__).parent / "matter/tables"
_DENSITY_ROWS = ("density", "density_solid_20C", "density_liquid_at_liquidus", "powder_grain", "bulk", "solids")


def test_every_piece_of_evidence_agrees():
    started = time.perf_counter()
    checks = verify.run_checks()
    assert [one.id for one in checks if not one.passed] == []
    assert time.perf_counter() - started < 10


def test_there_is_enough_evidence_of_each_kind():
    kinds = [one.kind for one in verify.run_checks() if one.group == "outside"]
    assert len(kinds) >= 25
    assert {kind: kinds.count(kind) >= 8 for kind in ("published", "standard", "computed")} == {
        "published": True, "standard": True, "computed": True}  # fmt: skip


def _wrong(folder: Path, monkeypatch) -> set[str]:
    monkeypatch.setenv(TABLES_VARIABLE, str(folder))
    return {one.id for one in verify.run_checks() if not one.passed}


def _copy_with_densities_times(factor: float, folder: Path, tables: tuple[str, ...]) -> Path:
    shutil.copytree(TABLES, folder)
    row = re.compile(rf"^({'|'.join(_DENSITY_ROWS)}) = (.*)$", re.M)
    number = re.compile(r"(value|low|high) = ([0-9.]+)")
    for name in tables:
        path = folder / f"{name}.toml"
        scaled = row.sub(
            lambda line: f"{line[1]} = " + number.sub(lambda one: f"{one[1]} = {float(one[2]) * factor}", line[2]),
            path.read_text("utf-8"),
        )
        path.write_text(scaled, "utf-8")
    return folder


@pytest.mark.parametrize("factor", [1.03, 0.97])
def test_three_percent_on_every_density_turns_verify_red(tmp_path, monkeypatch, factor):
    every = ("elements", "alloys", "moulds", "pattern_materials")
    wrong = _wrong(_copy_with_densities_times(factor, tmp_path / "tables", every), monkeypatch)
    assert {"density-silver", "density-copper", "density-gold", "sterling-ideal", "sterling-table"} <= wrong
    assert len(wrong) >= 15


@pytest.mark.parametrize(("table", "first"), [("elements", "sterling-ideal"), ("alloys", "factor-sterling")])
def test_three_percent_on_one_table_turns_verify_red(tmp_path, monkeypatch, table, first):
    assert first in _wrong(_copy_with_densities_times(1.03, tmp_path / "tables", (table,)), monkeypatch)


@pytest.mark.parametrize(
    ("table", "old", "new", "row"),
    [
        ("alloys", "893, low = 889", "888, low = 880", "sterling-liquidus"),
        ("alloys", "925, low = 925, high = 925", "920, low = 920, high = 920", "mark-sterling"),
        ("elements", "1337.33, low = 1337.33, high = 1337.33", "1336, low = 1336, high = 1336", "melting-gold"),
        ("elements", "40.078, low = 40.078, high = 40.078", "40.5, low = 40.5, high = 40.5", "gypsum-water"),
        ("moulds", "2550, low = 2450, high = 2650", "2900, low = 2800, high = 3000", "mould-porosity"),
        ("moulds", "value = 0.3004", "value = 0.34", "gypsum-diffusivity"),
        ("pattern_materials", "value = 960", "value = 995", "factor-sterling"),
    ],
)  # fmt: skip
def test_one_wrong_value_turns_its_row_red(tmp_path, monkeypatch, table, old, new, row):
    shutil.copytree(TABLES, tmp_path / "tables")
    path = tmp_path / f"tables/{table}.toml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")
    assert row in _wrong(tmp_path / "tables", monkeypatch)
