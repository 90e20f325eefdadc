"""Metal sent to be assayed: the result narrows a composition, books balance, and nothing is written over."""

from __future__ import annotations

from datetime import date

import pytest
from tests.books_help import FINE, sterling, stock

from pourwright.books.assays import Result, assays, enter_result, send
from pourwright.books.ledger import balances_off, held_mg, movements, reverse, sums_mg
from pourwright.books.lots import NewLot, lots, take_in
from pourwright.books.masses import UNKNOWN
from pourwright.books.pours import Casting, book_pour
from pourwright.books.stops import standing
from pourwright.core.errors import LedgerError

ON = date(2026, 12, 1)


@pytest.fixture
def unknown(books):
    with books.writing() as connection:
        return take_in(connection, NewLot("scrap", {}, is_new=False), 40_000, "A", "T")


def code(refusal):
    return refusal.value.findings[0].code


def whole(books):
    with books.reading() as connection:
        assert set(sums_mg(connection).values()) <= {0}
        assert balances_off(connection) == ()


def test_a_lot_nobody_knew_gets_its_elements_and_its_gross_stays(books, unknown):
    with books.writing() as connection:
        number = send(connection, f"lot:{unknown}", "office", "T", sample_mg=500)
        assert held_mg(connection, f"lot:{unknown}") == {UNKNOWN: 39_500}
        done = enter_result(
            connection,
            number,
            Result("Ag", 0.9252, 0.9268, ON, {"Zn": 0.004}, "potentiometry", "", "c.pdf", "ab" * 32),
            "T",
        )
        held = held_mg(connection, f"lot:{unknown}")
        (lot,) = lots(connection, [unknown])
        (kept,) = assays(connection, f"lot:{unknown}")
    assert sum(held.values()) == 39_500
    assert held["Ag"] == round(39_500 * 0.926)
    assert held["Zn"] == 158
    assert (lot.certain, lot.noble, lot.noble_low_ppm, lot.noble_high_ppm) == (True, "Ag", 925_200, 926_800)
    assert lot.share_ppm == {"Ag": 926_000, "Zn": 4_000, "Cu": 70_000}
    assert (kept.result.certificate, kept.result.sha256, kept.result.reported_on) == ("c.pdf", "ab" * 32, ON)
    assert not done.outside_range
    with books.reading() as connection:
        assert [one.kind for one in movements(connection)] == ["taken in", "assay sample", "assayed"]
    whole(books)


def test_a_result_outside_the_range_is_said_and_others_keep_their_proportions(books):
    with books.writing() as connection:
        scrap = NewLot("scrap", {"Ag": 0.925, "Cu": 0.05, "Zn": 0.025}, "Ag", 0.92, 0.93, certain=False)
        lot = take_in(connection, scrap, 30_000, "A", "T")
        number = send(connection, f"lot:{lot}", "office", "T")
        done = enter_result(connection, number, Result("Ag", 0.9, 0.9, ON), "T")
        held = held_mg(connection, f"lot:{lot}")
    assert done.outside_range
    assert held == {"Ag": 27_000, "Cu": 2_000, "Zn": 1_000}
    whole(books)


def test_a_piece_is_assayed_and_its_marks_are_kept(books):
    fine, copper = stock(books)
    with books.writing() as connection:
        book_pour(connection, sterling(fine, copper), "T")
        number = send(connection, "piece:2026-11-28-F1-A", "assay office", "T")
        enter_result(connection, number, Result("Ag", 0.9262, 0.9262, ON, struck="925, sponsor, office"), "T")
        assert held_mg(connection, "piece:2026-11-28-F1-A") == {"Ag": 19_821, "Cu": 1_579}
        assert assays(connection)[0].result.struck == "925, sponsor, office"
    whole(books)


def test_lead_that_an_assay_finds_shuts_the_lot_away(books, unknown):
    with books.writing() as connection:
        number = send(connection, f"lot:{unknown}", "office", "T")
        done = enter_result(connection, number, Result("Ag", 0.8, 0.8, ON, {"Pb": 0.01}), "T")
    assert done.poison == ("Pb",)
    with books.reading() as connection:
        assert "Pb" in standing(connection)[f"lot:{unknown}"].reason
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        alone = {"castings": (Casting("P", "A", 1_000),), "button_mg": 0}
        book_pour(connection, sterling("", "", used_mg={unknown: 1_000}, **alone), "T")
    assert code(refusal) == "books.lot-shut"


def test_an_emptied_lot_is_still_narrowed(books):
    with books.writing() as connection:
        lot = take_in(connection, FINE, 1_000, "dealer", "T")
        number = send(connection, f"lot:{lot}", "office", "T")
        book_pour(connection, sterling("", "", used_mg={lot: 1_000}, castings=(), button_mg=1_000), "T")
        enter_result(connection, number, Result("Ag", 0.9995, 0.9995, ON), "T")
        (kept,) = lots(connection, [lot])
    assert (kept.held_mg, kept.noble_low_ppm) == (0, 999_500)
    whole(books)


def test_what_cannot_be_sent_or_entered_is_refused_and_nothing_is_booked(books, unknown):
    with books.writing() as connection:
        number = send(connection, f"lot:{unknown}", "office", "T")
    for work, expected in (
        (lambda c: send(c, "lot:L-9999", "office", "T"), "books.assay-subject"),
        (lambda c: send(c, "outside:A", "office", "T"), "books.assay-subject"),
        (lambda c: send(c, f"lot:{unknown}", "office", "T"), "books.assay-out"),
        (lambda c: enter_result(c, "A-9999", Result("Ag", 0.9, 0.9, ON), "T"), "books.assay-unknown"),
        (lambda c: enter_result(c, number, Result("Ag", 0.93, 0.92, ON), "T"), "books.assay-shares"),
        (lambda c: enter_result(c, number, Result("Ag", 0.9, 0.9, ON, {"Cu": 0.2}), "T"), "books.assay-shares"),
    ):
        with pytest.raises(LedgerError) as refusal, books.writing() as connection:
            work(connection)
        assert code(refusal) == expected
    with books.writing() as connection:
        enter_result(connection, number, Result("Ag", 0.9, 0.9, ON), "T")
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        enter_result(connection, number, Result("Ag", 0.92, 0.92, ON), "T")
    assert code(refusal) == "books.assay-known"
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        send(connection, f"lot:{unknown}", "office", "T", sample_mg=41_000)
    assert code(refusal) == "books.assay-sample"
    with books.reading() as connection:
        assert sum(held_mg(connection, f"lot:{unknown}").values()) == 40_000


def test_a_result_is_put_right_by_another_paper_and_not_taken_back(books, unknown):
    with books.writing() as connection:
        number = send(connection, f"lot:{unknown}", "office", "T")
        mark = enter_result(connection, number, Result("Ag", 0.9, 0.9, ON), "T").mark
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        reverse(connection, mark, "T", "a slip of the pen")
    assert code(refusal) == "books.reverse-paper"
    with books.writing() as connection:
        again = send(connection, f"lot:{unknown}", "office", "T")
        enter_result(connection, again, Result("Ag", 0.92, 0.92, ON), "T")
        assert held_mg(connection, f"lot:{unknown}")["Ag"] == 36_800
