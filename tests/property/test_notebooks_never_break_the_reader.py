"""Whatever a spreadsheet holds, bringing it in ends in an answer with findings that can be shown."""

from __future__ import annotations

import csv

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from pourwright.core.findings import stops
from pourwright.doors.service.notebook.bringing import NotebookRequest, bring_notebook

_HEADS = st.sampled_from(["day", "metal", "mass g", "mass", "from", "lot", "pour", "used dwt", "to", "out g", "owner",
                          "cast g", "button", "price", "fineness", ""])  # fmt: skip
_CELLS = st.one_of(
    st.none(),
    st.sampled_from(["=A1", "2026-11-28", "1.2.2020", "99.99.2020", "03/04/2019", "copper", "scrap", "925", "-1",
                     "1,234", "'=x", "L-0001", "1e999", "nan", "12 dwt", "9" * 400, "0000-00-00", "\u0661"]),
    st.integers(-(10**18), 10**18),
    st.floats(allow_nan=False),
    st.dates(),
    st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=12),
)  # fmt: skip
_SHEETS = st.tuples(st.lists(_HEADS, min_size=1, max_size=7), st.lists(st.lists(_CELLS, max_size=7), max_size=4))
_QUICK = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


def assert_sound(answer):
    for one in answer.findings:
        assert one.what
        assert one.do_next
    assert answer.document.get("kept", False) is False
    assert stops(answer.findings) or "new" in answer.document


@_QUICK
@given(_SHEETS)
def test_any_sheet_is_read_or_said(tmp_path, sheet):
    heads, rows = sheet
    book = Workbook()
    for row in [heads, *rows]:
        book.active.append(row)
    book.save(tmp_path / "any.xlsx")
    with (tmp_path / "any.csv").open("w", newline="", encoding="utf-8") as handle:
        csv.writer(handle).writerows([heads, *rows])
    for name in ("any.xlsx", "any.csv"):
        assert_sound(bring_notebook(str(tmp_path / "books.sqlite"), NotebookRequest(tmp_path / name, "T")))


@_QUICK
@given(st.binary(max_size=300), st.sampled_from([".csv", ".xlsx"]))
def test_any_bytes_are_read_or_said(tmp_path, content, ending):
    path = tmp_path / f"any{ending}"
    path.write_bytes(content)
    assert_sound(bring_notebook(str(tmp_path / "books.sqlite"), NotebookRequest(path, "T")))
