"""Labels: number, grams, and a square code that reads back."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2 as pdfium
import pytest
import zxingcpp

from pourwright.sheet.labels import code_text, labels


@pytest.fixture(scope="module")
def label_page(printed):
    return pdfium.PdfDocument(printed / "labels.pdf")[0]


def test_codes_on_the_labels_read_back_as_load_and_charge(label_page):
    read = zxingcpp.read_barcodes(label_page.render(scale=4).to_pil())
    assert sorted(one.text for one in read) == sorted(
        ["2026-12-05-F1 63.41 g", "2026-12-05-F2 138.73 g"] * 2
    )  # fmt: skip


def test_number_and_grams_stand_on_the_label(label_page):
    text = label_page.get_textpage().get_text_bounded().split()
    assert {"1", "2", "63", "139", "138.73", "2026-12-05-F2"} <= set(text)


def test_each_flask_has_a_label_for_itself_and_one_for_its_metal(plan):
    rows = labels(plan)
    assert [(row["number"], row["kind"]) for row in rows] == [(1, "flask"), (1, "metal"), (2, "flask"), (2, "metal")]
    assert [row["charge"] for row in rows[2:]] == ["139\u00a0g", "138.73\u00a0g"]


def test_code_of_a_flask_without_a_charge_is_its_load(plan):
    one = plan.flasks[0]
    assert code_text(replace(one, need=replace(one.need, charge_g=None))) == "2026-12-05-F1"
