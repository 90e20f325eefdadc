"""The receipt and the card of a piece: one page each, whatever people write, the same bytes for the same words."""

from __future__ import annotations

import struct
import zlib
from datetime import date

import pytest
from tests.unit.sheet.conftest import texts

from pourwright.sheet.piece_papers import Keepsake, Receipt, receipt_text, write_keepsake, write_receipt

DAY = date(2026, 12, 5)
LONG = "Ring with a very long name that somebody thought up at home " * 2
HOSTILE = '#panic("no") $x$ = <b>"\\ \u202e\n\t' + LONG


def png(side=8):
    """Return a grey square as PNG, written by hand."""

    def part(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows = b"".join(b"\x00" + b"\x80" * side for _ in range(side))
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", zlib.compress(rows)) + part(b"IEND", b"")


def receipt(title="Leaf pendant", lines=5):
    facts = (("Taken in", "2026-12-03 18:00"), ("Pattern of", "casting-wax"))
    return Receipt("2026-12-05-P07", title, "Mira", "Demo Evening Studio", facts, ("One chance.",) * lines, "Mira", "T")


def keepsake(title="Leaf pendant", lots_count=3):
    lots = tuple((f"L-{number:04d}", "fine-silver-999", "1.90 g") for number in range(lots_count))
    facts = (("Cast", "2026-12-05 10:06"), ("Flask at", "572 °C"))
    remark = "Not to be sold as 925 without assay"
    return Keepsake("2026-12-05-P07", title, "Mira", "Demo Evening Studio", "Sterling silver", "5.72 g",
                    "Fineness 925.3.", remark, lots, facts, ("It came out well.",))  # fmt: skip


def pages(path):
    return len(texts(path))


def test_the_same_words_give_the_same_bytes_on_one_page(tmp_path):
    for name in ("a.pdf", "b.pdf"):
        write_receipt(receipt(), DAY, tmp_path / name)
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    assert pages(tmp_path / "a.pdf") == 1
    assert texts(tmp_path / "a.pdf")[0].count("One chance.") == 2 * 5, "half for the owner, half for the studio"


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_whatever_people_write_it_stays_one_page_of_each(tmp_path, size):
    write_receipt(receipt(HOSTILE, lines=9), DAY, tmp_path / "receipt.pdf", size)
    assert write_keepsake(keepsake(HOSTILE, lots_count=8), DAY, tmp_path / "card.pdf", size=size) is False
    assert pages(tmp_path / "receipt.pdf") == pages(tmp_path / "card.pdf") == 1
    printed = texts(tmp_path / "card.pdf")[0]
    assert "#panic(" in printed
    assert all(words in printed for words in ("L-0007", "Flask at", "What to try next", "2026-12-05-P07"))


def test_a_photo_is_drawn_and_one_that_is_none_leaves_its_place(tmp_path):
    assert write_keepsake(keepsake(), DAY, tmp_path / "bare.pdf") is False
    assert write_keepsake(keepsake(), DAY, tmp_path / "with.pdf", png(), ".png") is True
    assert write_keepsake(keepsake(), DAY, tmp_path / "broken.pdf", b"\x89PNG\r\n\x1a\n?", ".png") is False
    assert (tmp_path / "broken.pdf").read_bytes() == (tmp_path / "bare.pdf").read_bytes()
    assert b"/Image" in (tmp_path / "with.pdf").read_bytes()


def test_the_receipt_as_text_says_the_same_words():
    text = receipt_text(receipt())
    assert "2026-12-05-P07  Leaf pendant  (Mira)" in text
    assert text.count("One chance.") == 5
    assert "Agreed: Mira" in text
