"""After an odd melt nothing that touched it is used until somebody signs for it."""

from __future__ import annotations

import pytest
from tests.books_help import FINE, sterling, stock

from pourwright.books.drawer import drawer_of
from pourwright.books.ledger import sums_mg
from pourwright.books.lots import NewLot, lots, take_in
from pourwright.books.pours import Casting, book_pour
from pourwright.books.stops import clear, odd_melt, shut, sign_over, standing, stops_of
from pourwright.core.errors import LedgerError


def booked(books, poured, **more):
    with books.writing() as connection:
        return book_pour(connection, poured, "Teacher", **more)


def code(refusal):
    return refusal.value.findings[0].code


@pytest.fixture
def odd(books):
    """A pour in crucible CR-1 whose button went into a second pour before anybody noticed."""
    fine, copper = stock(books)
    first = booked(books, sterling(fine, copper, crucible="CR-1"))
    second = booked(
        books,
        sterling(
            "", "", "2026-11-28-F2", used_mg={first.button_lot: 60_000}, castings=(), button_mg=59_800, crucible="CR-2"
        ),
    )
    with books.writing() as connection:
        shut_now, suspects = odd_melt(connection, "2026-11-28-F1", "black slag", "Teacher")
    return first, second, shut_now, suspects


def test_crucible_button_and_all_that_was_melted_from_it_are_shut_away(books, odd):
    first, second, shut_now, suspects = odd
    assert set(shut_now) == {
        "crucible:CR-1", "crucible:CR-2", f"lot:{first.button_lot}", f"lot:{second.button_lot}"}  # fmt: skip
    assert suspects == ("L-0001", "L-0002")
    with books.reading() as connection:
        assert set(standing(connection)) == set(shut_now)
        assert {one.id for one in lots(connection) if one.quarantine} == {first.button_lot, second.button_lot}
        assert drawer_of(connection).crucibles_shut == {"CR-1": "black slag", "CR-2": "black slag"}


def test_no_pour_with_either_is_booked_until_cleared_by_a_signed_entry(books, odd):
    first, *_ = odd
    with_button = sterling("", "", "2026-11-28-F3", used_mg={first.button_lot: 1_000}, castings=(), button_mg=1_000)
    with_crucible = sterling("L-0001", "L-0002", "2026-11-28-F4", crucible="CR-1")
    for poured, expected in ((with_button, "books.lot-shut"), (with_crucible, "books.crucible-shut")):
        with pytest.raises(LedgerError, match="black slag") as refusal:
            booked(books, poured)
        assert code(refusal) == expected
    for subject in (f"lot:{first.button_lot}", "crucible:CR-1"):
        with pytest.raises(LedgerError) as refusal, books.writing() as connection:
            clear(connection, subject, " ", "Teacher")
        assert code(refusal) == "books.stop-unsigned"
        with books.writing() as connection:
            clear(connection, subject, "a coat button, fished out; assayed", "Teacher")
    assert booked(books, with_button).loss_mg == 0
    assert booked(books, with_crucible).loss_mg == 1_200
    with books.reading() as connection:
        entries = stops_of(connection, "crucible:CR-1")
        assert [(one.action, one.made_by) for one in entries] == [("shut", "Teacher"), ("cleared", "Teacher")]
        assert entries[0].pour == "2026-11-28-F1"
        assert set(sums_mg(connection).values()) == {0}


def test_what_is_not_shut_is_not_cleared_and_no_unknown_lot_is_shut(books):
    stock(books)
    for work, expected in (
        (lambda connection: clear(connection, "lot:L-0001", "fine", "T"), "books.not-shut"),
        (lambda connection: clear(connection, "crucible:CR-1", "fine", "T"), "books.not-shut"),
        (lambda connection: shut(connection, "lot:L-9999", "slag", "T"), "books.lot-unknown"),
        (lambda connection: shut(connection, "lot:L-0001", "slag", ""), "books.stop-unsigned"),
        (lambda connection: odd_melt(connection, "never", "slag", "T"), "books.pour-unknown"),
    ):
        with pytest.raises(LedgerError) as refusal, books.writing() as connection:
            work(connection)
        assert code(refusal) == expected
    with books.reading() as connection:
        assert standing(connection) == {}


def test_metal_of_a_student_and_solder_wait_for_a_signature(books):
    fine, copper = stock(books)
    with books.writing() as connection:
        hers = take_in(
            connection, NewLot("scrap", {"Ag": 0.925, "Cu": 0.075}, "Ag", 0.925, 0.925, "A"), 50_000, "A", "T"
        )
        soldered = take_in(
            connection, NewLot("scrap", {"Ag": 0.92, "Cu": 0.08}, "Ag", 0.9, 0.92, solder=True), 50_000, "dealer", "T"
        )
    shared = {"castings": (Casting("P1", "A", 20_000), Casting("P2", "B", 19_900)), "button_mg": 0}
    for name, expected in ((hers, "books.lot-owned"), (soldered, "books.lot-solder")):
        with pytest.raises(LedgerError) as refusal:
            booked(books, sterling(fine, copper, used_mg={name: 40_000}, **shared))
        assert code(refusal) == expected
    with books.writing() as connection:
        sign_over(connection, hers, "given to the class", "A")
        sign_over(connection, soldered, "hard silver solder, data sheet seen", "Teacher")
    booked(books, sterling(fine, copper, "F1", used_mg={hers: 40_000}, **shared))
    booked(books, sterling(fine, copper, "F2", used_mg={soldered: 39_900}, castings=(), button_mg=39_900))
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        sign_over(connection, fine, "why not", "Teacher")
    assert code(refusal) == "books.lot-free"


def test_a_shut_lot_signed_over_stays_shut(books):
    with books.writing() as connection:
        hers = take_in(connection, NewLot("scrap", FINE.share_frac, "Ag", 0.9, 1.0, "A"), 50_000, "A", "T")
        shut(connection, f"lot:{hers}", "odd colour", "T")
        sign_over(connection, hers, "given", "A")
        assert set(standing(connection)) == {f"lot:{hers}"}
