"""Cards to take home: what a piece is made of, how it was cast, what must not be claimed of it."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2 as pdfium
import pytest
from tests.unit.sheet.conftest import texts

from pourwright.core.findings import Level
from pourwright.sheet.cards import cards


@pytest.fixture(scope="module")
def by_piece(full_plan):
    return {one["short"]: one for one in cards(full_plan, {})}


def test_every_piece_has_a_card_in_the_order_of_the_pours(by_piece):
    assert list(by_piece) == ["P01", "P02", "P05", "P03", "P04"]


def test_lots_on_a_card_add_up_to_the_planned_weight(by_piece):
    for one in by_piece.values():
        lots = sum(float(lot["mass"].split()[0]) for lot in one["lots"])
        assert lots == pytest.approx(float(one["mass"].split()[0]), abs=0.01), one["short"]


def test_a_lot_nobody_vouches_for_bars_the_sale_without_assay(by_piece):
    unsure = by_piece["P03"]
    assert unsure["remark"] == "Not to be sold as 925 without assay"
    assert "nobody vouches" in unsure["lots"][1]["title"]
    assert by_piece["P01"]["remark"] == ""


def test_card_says_fineness_worst_case_who_weighed_and_how_it_was_cast(by_piece):
    one = by_piece["P02"]
    assert one["fineness"] == "Fineness 925.1\u00a0‰, at worst 925.0\u00a0‰."
    assert one["weighed_by"] == "Ingrid Vale"
    told = {part["name"]: part["words"] for part in one["cast"]}
    assert told["Flask"] == "1 (FL-03), at 540\u00a0°C"
    assert told["Quenched"] == "16–31\u00a0min"


def test_advice_for_the_next_try_comes_from_the_pieces_findings_but_not_from_notes(full_plan, by_piece):
    assert by_piece["P01"]["next"] == ["Thicken it to 0.8 mm, or put a second gate near it."]
    found = full_plan.pieces[0].findings[0]
    noted = replace(full_plan.pieces[0], findings=(replace(found, level=Level.NOTE),))
    quiet = replace(full_plan, pieces=(noted, *full_plan.pieces[1:]))
    assert cards(quiet, {})[0]["next"] == []


def test_a_heavy_piece_is_sent_to_the_assay_office(by_piece):
    assert "assay office" in by_piece["P04"]["assay"]


def test_two_cards_stand_on_a_page_each_with_its_places_to_write(full_papers):
    pages = texts(full_papers / "cards.pdf")
    assert len(pages) == 3
    for words in ("Place for a photo", "What it weighs", "Who weighed it", "How it came out", "What to try next"):
        assert pages[0].count(words) == 2, words


def test_a_plan_without_aftercare_prints_no_cards_and_takes_older_ones_away(printed):
    assert {one.name for one in printed.iterdir()} == {"run-sheet.pdf", "labels.pdf", "run-sheet.html"}


def test_nothing_on_a_card_crosses_the_cut(full_papers):
    for page in pdfium.PdfDocument(full_papers / "cards.pdf"):
        cut = page.get_size()[1] / 2
        text = page.get_textpage()
        for index in range(text.count_rects()):
            _, bottom, _, top = text.get_rect(index)
            assert not bottom < cut < top
