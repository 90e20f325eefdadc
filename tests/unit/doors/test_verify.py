"""The verify service: groups, tolerances, and what it prints."""

import dataclasses
import json
import tomllib
from importlib.resources import files

import pytest

from pourwright.core.errors import DataError
from pourwright.core.sources import register
from pourwright.doors.service import verify
from pourwright.doors.service.evidence import metals, moulds, prints, programs, sums


def _check(**changes):
    usual = {"id": "one", "what": "One thing", "ours": 10.0, "reference": 10.0, "tolerance": 0.01, "tol_kind": "rel",
             "unit": "kg", "kind": "published", "sources": ("its90",), "because": "two figures printed"}  # fmt: skip
    return verify.Check(**(usual | changes))


@pytest.mark.parametrize(
    ("changes", "passed"),
    [
        ({"ours": 10.1}, True),
        ({"ours": 10.11}, False),
        ({"ours": 9.89}, False),
        ({"ours": -10.0, "reference": -10.05}, True),
        ({"ours": 10.1, "tol_kind": "abs"}, False),
        ({"ours": 10.005, "tol_kind": "abs"}, True),
        ({"ours": float("nan")}, False),
        ({"ours": 925.0, "reference": 925.0, "tolerance": 0.0, "tol_kind": "abs"}, True),
    ],
)
def test_a_check_passes_within_its_tolerance_only(changes, passed):
    assert _check(**changes).passed is passed


@pytest.mark.parametrize(
    ("kind", "group"),
    [
        ("published", "outside"),
        ("standard", "outside"),
        ("computed", "outside"),
        ("analytic", "arithmetic"),
        ("memory", "memory"),
    ],
)
def test_only_what_was_read_or_run_elsewhere_is_evidence(kind, group):
    assert _check(kind=kind).group == group


def test_every_row_has_a_number_of_ours_and_every_number_a_row():
    text = files("pourwright.doors.service.evidence").joinpath("evidence.toml").read_text("utf-8")
    rows = tomllib.loads(text)["check"]
    parts = [metals.OURS, moulds.OURS, prints.OURS, sums.OURS]
    assert len({row["id"] for row in rows}) == len(rows) == sum(map(len, parts))
    assert {row["oracle"] for row in rows if "oracle" in row} == programs.ORACLES.keys()
    assert all(("oracle" in row) != ("reference" in row) for row in rows)


def test_a_row_without_a_number_of_ours_is_refused(monkeypatch):
    monkeypatch.setattr(prints, "OURS", {name: one for name, one in prints.OURS.items() if name != "troy-ounce"})
    with pytest.raises(DataError, match="troy-ounce"):
        verify.run_checks()


def test_evidence_rests_on_sources_that_were_read():
    for one in verify.run_checks():
        first = register()[one.sources[0]]
        assert (first.read != "not read") == (one.group == "outside" or one.sources[0].startswith("chv_")), one.id


def test_json_holds_what_another_judge_needs():
    plain = json.loads(json.dumps(verify.as_json([_check(sources=("its90", "scipy"))])))
    row = plain["checks"][0]
    assert {"id", "ours", "reference", "tolerance", "tol_kind", "unit", "kind", "source"} <= row.keys()
    assert row["source"] == "its90, scipy"
    assert row["passed"] is True


def test_the_text_keeps_the_groups_apart_and_ends_with_the_verdict():
    checks = [_check(), _check(id="two", kind="analytic"), _check(id="three", kind="memory")]
    lines = verify.as_text(checks).splitlines()
    heads = ("OUTSIDE", "OUR OWN", "FROM MEMORY")
    places = [next(n for n, line in enumerate(lines) if line.startswith(head)) for head in heads]
    assert places == sorted(places)
    assert lines[-1] == "All 1 pieces of outside evidence agree with us, and so do 1 sums of our own."


def test_the_text_names_what_does_not_agree_and_why_it_should():
    text = verify.as_text([_check(), _check(id="bad-one", ours=11.0)])
    assert "Printed values, read: 1 of 2 agree" in text
    assert "  NO  One thing" in text
    assert "two figures printed" in text
    assert text.splitlines()[-1].startswith("1 of our numbers do not agree: bad-one.")


def test_memory_is_never_counted_as_evidence():
    text = verify.as_text([_check(), _check(id="three", kind="memory")])
    assert text.splitlines()[-1].startswith("All 1 pieces of outside evidence")


def test_a_check_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        _check().ours = 1.0
