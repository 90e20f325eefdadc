"""A pour closes to the milligram, or says what is missing; nothing is ever edited."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from tests.books_help import FINE, sterling, stock

from pourwright.books.ledger import Leg, balances_off, held_mg, movements, post, reverse, sums_mg
from pourwright.books.lots import NewLot, lots, set_quarantine, take_in
from pourwright.books.masses import UNKNOWN
from pourwright.books.pours import LOSS, Casting, book_pour
from pourwright.books.tables import entry, movement
from pourwright.books.totals import owner_mg, totals_off
from pourwright.core.errors import LedgerError


def booked(books, poured, **more):
    with books.writing() as connection:
        return book_pour(connection, poured, "Teacher", **more)


def sums(books):
    with books.reading() as connection:
        assert balances_off(connection) == totals_off(connection) == ()
        return sums_mg(connection)


def test_silver_in_is_silver_in_pieces_button_and_loss(books):
    fine, copper = stock(books)
    # The sum of NEEDS K3 in milligrams: 111.00 g of silver in 120 g.
    done = booked(books, sterling(fine, copper))
    with books.reading() as connection:
        pieces = [held_mg(connection, f"piece:2026-11-28-F1-{name}") for name in "AB"]
        button = held_mg(connection, f"lot:{done.button_lot}")
        loss = held_mg(connection, LOSS)
    assert done.melt_mg["Ag"] == 110_999  # 111.110 g of 999
    assert sum(pieces[0].values()) == 21_400
    assert sum(button.values()) == 62_800
    assert sum(loss.values()) == 1_200
    silver = [one["Ag"] for one in (*pieces, button, loss)]
    assert sum(silver) == 110_999
    assert silver[0] + silver[1] == pytest.approx(51_800, abs=2)
    assert silver[2] == pytest.approx(58_090, abs=2)
    assert silver[3] == pytest.approx(1_110, abs=2)
    assert set(sums(books).values()) == {0}


def test_a_loss_too_large_says_how_much_to_look_for(books):
    fine, copper = stock(books)
    with pytest.raises(LedgerError) as refusal:
        booked(books, sterling(fine, copper, button_mg=60_400, scales_mg=0))
    assert "Look for 2.40\xa0g" in str(refusal.value)
    assert refusal.value.findings[0].code == "books.pour-lost"
    with books.reading() as connection:
        assert held_mg(connection, f"lot:{fine}") == {"Ag": 999_000, "Cu": 1_000}
    done = booked(books, sterling(fine, copper, button_mg=60_400, scales_mg=0, explained="ran into the tub"))
    assert done.loss_mg == 3_600


def test_more_out_than_in_is_refused_beyond_the_scales(books):
    fine, copper = stock(books)
    with pytest.raises(LedgerError, match="more than went in"):
        booked(books, sterling(fine, copper, button_mg=64_100))
    done = booked(books, sterling(fine, copper, button_mg=64_010))
    assert done.loss_mg == -10
    assert set(sums(books).values()) == {0}


def test_an_aborted_pour_gives_its_metal_back_as_scrap(books):
    fine, copper = stock(books)
    done = booked(books, sterling(fine, copper, castings=(), button_mg=0, scrap_mg=119_500, state="aborted"))
    with books.reading() as connection:
        (scrap,) = lots(connection, [done.scrap_lot])
    assert scrap.held_mg == 119_500
    assert scrap.melts_count == 1
    assert not scrap.is_new
    assert scrap.noble_low_ppm <= 925_000 <= scrap.noble_high_ppm


def test_a_movement_is_reversed_once_with_a_reason_and_never_changed(books):
    fine, copper = stock(books)
    mark = booked(books, sterling(fine, copper)).mark
    with pytest.raises(LedgerError, match="without a reason"), books.writing() as connection:
        reverse(connection, mark, "Teacher", " ")
    with books.writing() as connection:
        back = reverse(connection, mark, "Teacher", "wrong flask")
    with books.reading() as connection:
        assert sum(held_mg(connection, f"lot:{fine}").values()) == 1_000_000
        assert [one.reverses for one in movements(connection)][-1] == mark
    for again in (mark, back):
        with pytest.raises(LedgerError), books.writing() as connection:
            reverse(connection, again, "Teacher", "once more")
    for change in (entry.delete(), entry.update().values(mass_mg=0), movement.update().values(reason="")):
        with pytest.raises(sa.exc.DatabaseError, match="booked once"), books.writing() as connection:
            connection.execute(change)


def test_what_has_been_used_since_cannot_be_taken_back(books):
    fine, copper = stock(books, fine_mg=111_110, copper_mg=8_890)
    with books.reading() as connection:
        first = movements(connection, f"lot:{fine}")[0].mark
    booked(books, sterling(fine, copper))
    with pytest.raises(LedgerError, match="less than nothing"), books.writing() as connection:
        reverse(connection, first, "Teacher", "never came")


def test_the_same_mark_books_once(books):
    fine, copper = stock(books)
    for _ in range(2):
        with books.writing() as connection:
            post(
                connection,
                "found",
                [Leg(f"lot:{fine}", {"Ag": 5}), Leg("outside:dealer", {"Ag": -5})],
                "A",
                mark="01SAME",
            )
    with books.reading() as connection:
        assert held_mg(connection, f"lot:{fine}")["Ag"] == 999_005
    with pytest.raises(LedgerError, match="in the book already"):
        booked(books, sterling(fine, copper))
        booked(books, sterling(fine, copper))


def test_an_unbalanced_movement_and_an_unknown_account_are_refused(books):
    fine, _ = stock(books)
    with pytest.raises(LedgerError, match=r"make or lose 0\.001\sg of Ag"), books.writing() as connection:
        post(connection, "odd", [Leg(f"lot:{fine}", {"Ag": 1})], "A")
    with pytest.raises(LedgerError, match="no account lot:L-9999"), books.writing() as connection:
        post(connection, "odd", [Leg("lot:L-9999", {"Ag": 1}), Leg(f"lot:{fine}", {"Ag": -1})], "A")


def test_lots_of_others_shut_away_or_too_small_stay_in_the_drawer(books):
    fine, copper = stock(books)
    with books.writing() as connection:
        hers = take_in(connection, NewLot("scrap", {"Ag": 0.925, "Cu": 0.075}, "Ag", 0.9, 0.93, "A"), 50_000, "A", "T")
    used = {hers: 40_000}
    alone = {"used_mg": used, "castings": (), "button_mg": 40_000}
    with pytest.raises(LedgerError, match="belongs to A"):
        booked(books, sterling(fine, copper, **alone))
    with books.writing() as connection:
        set_quarantine(connection, hers, "black slag")
    with pytest.raises(LedgerError, match="black slag"):
        booked(books, sterling(fine, copper, **alone), owners=("A",))
    with books.writing() as connection:
        set_quarantine(connection, hers, "")
    done = booked(books, sterling(fine, copper, **alone), owners=("A",))
    with books.reading() as connection:
        assert lots(connection, [done.button_lot])[0].owner == "A"
        assert sum(owner_mg(connection)["A"].values()) == 50_000
    with pytest.raises(LedgerError, match=r"holds 10\.00\sg"):
        booked(books, sterling(fine, copper, name="2", **alone), owners=("A",))


@pytest.mark.parametrize("poison", ["Pb", "Cd", "Be"])
def test_poison_is_refused_at_the_door(books, poison):
    with pytest.raises(LedgerError, match=poison), books.writing() as connection:
        take_in(connection, NewLot("scrap", {"Ag": 0.99, poison: 0.01}, "Ag"), 1_000, "A", "T")
    with pytest.raises(LedgerError, match="solder"), books.writing() as connection:
        take_in(connection, NewLot("solder", {}, solder=True), 1_000, "A", "T")


def test_metal_nobody_assayed_is_gross_until_someone_does(books):
    with books.writing() as connection:
        found = take_in(connection, NewLot("scrap", {}), 40_000, "A", "T")
        done = book_pour(
            connection,
            sterling("", "", used_mg={found: 40_000}, castings=(Casting("P", "A", 39_900),), button_mg=0),
            "T",
        )
    with books.reading() as connection:
        assert held_mg(connection, "piece:P") == {UNKNOWN: 39_900}
    assert done.melt_mg == {UNKNOWN: 40_000}


def test_a_lot_is_emptied_to_the_last_milligram(books):
    with books.writing() as connection:
        lot = take_in(connection, FINE, 10_007, "dealer", "T")
    for number in range(10_007 // 1_001 + 1):
        with books.writing() as connection:
            mass_mg = min(1_001, sum(held_mg(connection, f"lot:{lot}").values()))
            book_pour(
                connection,
                sterling("", "", name=str(number), used_mg={lot: mass_mg}, castings=(), button_mg=mass_mg),
                "T",
            )
    with books.reading() as connection:
        assert held_mg(connection, f"lot:{lot}") == {}
    assert set(sums(books).values()) == {0}


def test_what_no_database_can_hold_is_refused_in_both(books):
    fine, _ = stock(books)
    heavy = 10**15
    legs = [Leg(f"lot:{fine}", {"Ag": heavy}), Leg("outside:dealer", {"Ag": -heavy})]
    small = [Leg(f"lot:{fine}", {"Ag": 1}), Leg("outside:dealer", {"Ag": -1})]
    with books.writing() as connection:
        with pytest.raises(LedgerError, match="more than a studio ever weighs"):
            post(connection, "odd", legs, "A")
        for more in ({"made_by": "A" * 81}, {"made_by": "A", "mark": "0" * 65}, {"made_by": "A", "pour_id": "x" * 81}):
            with pytest.raises(LedgerError, match="too long"):
                post(connection, "odd", small, **more)
