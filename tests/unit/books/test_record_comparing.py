"""Planned, simulated and actual side by side, and whether the actual lies in the range that was stated."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from tests.books_help import sterling, stock
from tests.records_help import LOAD, plan_document, taken_in

from pourwright.books.pours import Casting, book_pour
from pourwright.books.records.actuals import QUANTITIES, TIME, enter_actual
from pourwright.books.records.comparing import compare
from pourwright.books.records.metal import metal_of
from pourwright.books.records.plans import KeptPlan, pattern_figure
from pourwright.books.records.weighings import weigh
from pourwright.core.errors import LedgerError

PIECE = "2026-12-05-P01"
AT_10 = datetime(2026, 12, 5, 10, 6, tzinfo=UTC)


@pytest.fixture
def plan():
    return KeptPlan(plan_document())


def rows(books, plan):
    with books.reading() as connection:
        return {(one.subject, one.quantity): one for one in compare(connection, plan)}


def entered(books, *values):
    with books.writing() as connection:
        for subject, name, value in values:
            enter_actual(connection, subject, name, value, "T")


def test_each_number_stands_beside_its_plan_with_difference_and_range(books, plan):
    entered(
        books,
        (LOAD, "flask-temperature", Decimal("565")),
        (LOAD, "charge", Decimal("60.02")),
        (LOAD, "pour-at", AT_10),
        (LOAD, "spin-time", Decimal("30")),
        ("2026-12-05", "top-temperature", Decimal("731")),
    )
    found = rows(books, plan)
    cold = found[LOAD, "flask-temperature"]
    assert (cold.difference, cold.verdict, cold.figure.low) == (Decimal("-15.0"), "below", 570.0)
    assert (found[LOAD, "charge"].difference, found[LOAD, "charge"].verdict) == (Decimal("0.02"), "inside")
    assert (found[LOAD, "pour-at"].difference, found[LOAD, "pour-at"].verdict) == (Decimal("6.0"), "later")
    assert (found[LOAD, "spin-time"].simulated, found[LOAD, "spin-time"].verdict) == (Decimal("21.0"), "")
    assert found["2026-12-05", "top-temperature"].verdict == "above"
    assert found[LOAD, "water"].actual is None
    assert found[LOAD, "water"].verdict == ""
    assert found[LOAD, "quench-after"].simulated == Decimal("8.0")


def test_a_value_entered_later_counts_in_place_of_the_first(books, plan):
    entered(books, (LOAD, "charge", Decimal("6.002")), (LOAD, "charge", Decimal("60.02")))
    assert rows(books, plan)[LOAD, "charge"].actual == Decimal("60.02")


def test_powder_and_water_as_they_were_weighed_sharpen_what_the_dry_flask_should_weigh(books, plan):
    with books.writing() as connection:
        weigh(connection, LOAD, "invested", 621_000, 500, "T")
    loose = rows(books, plan)[LOAD, "weighed-burned-out"].figure
    entered(books, (LOAD, "powder", Decimal("310")), (LOAD, "water", Decimal("127.1")))
    sharp = rows(books, plan)[LOAD, "weighed-burned-out"].figure
    assert sharp.inputs["water_ratio"].value == pytest.approx(0.41)
    assert sharp.high - sharp.low < 0.5 * (loose.high - loose.low)


def test_weighings_and_masses_of_pieces_are_compared_too(books, plan, tmp_path):
    taken_in(books, tmp_path, "P01", pattern_mg=1_930)
    fine, copper = stock(books)
    poured = sterling(fine, copper, name=LOAD, castings=(Casting(PIECE, "Mira", 21_400),), button_mg=97_400)
    with books.writing() as connection:
        book_pour(connection, poured, "T")
        weigh(connection, LOAD, "invested", 621_000, 500, "T")
    found = rows(books, plan)
    assert found[LOAD, "weighed-invested"].verdict == "inside"
    assert found[LOAD, "weighed-burned-out"].actual is None
    assert found[PIECE, "pattern-mass"].verdict == "inside"
    assert (found[PIECE, "piece-mass"].actual, found[PIECE, "piece-mass"].verdict) == (Decimal("21.4"), "above")
    assert found["2026-12-05-P02", "piece-mass"].actual is None


@pytest.mark.parametrize(
    ("subject", "name", "value", "code"),
    [
        (LOAD, "luck", Decimal(1), "books.quantity-unknown"),
        (LOAD, "turns", AT_10, "books.quantity-kind"),
        (LOAD, "pour-at", Decimal(1), "books.quantity-kind"),
        ("2026-12-05", "turns", Decimal(3), "books.quantity-subject"),
        (LOAD, "room", Decimal(21), "books.quantity-subject"),
    ],
)
def test_a_value_of_another_kind_or_subject_is_refused(books, subject, name, value, code):
    with pytest.raises(LedgerError) as refusal:
        entered(books, (subject, name, value))
    assert refusal.value.findings[0].code == code


def test_every_quantity_can_be_looked_for_in_a_plan_that_lacks_it():
    empty = KeptPlan({"day": {"date": "2026-12-05"}})
    for one in QUANTITIES.values():
        assert one.planned(empty, LOAD) is None
        assert one.simulated(empty, LOAD) is None
    assert empty.setup(LOAD) is None
    assert pattern_figure(empty, PIECE) is None
    assert [one.id for one in QUANTITIES.values() if one.unit == TIME] == ["lit-at", "invested-at", "pour-at"]


def test_metal_of_a_piece_is_the_ledgers_to_the_milligram_and_so_are_its_lots(books, tmp_path):
    fine, copper = stock(books)
    with books.writing() as connection:
        assert metal_of(connection, PIECE) is None
        poured = sterling(fine, copper, name=LOAD, castings=(Casting(PIECE, "Mira", 21_403),), button_mg=97_397)
        book_pour(connection, poured, "Student C")
        found = metal_of(connection, PIECE)
    assert found.mass_mg == 21_403
    assert sum(one.mass_mg for one in found.parts) == 21_403
    assert {one.lot for one in found.parts} == {fine, copper}
    assert (found.weighed_by, found.alloy, found.pour) == ("Student C", "sterling-925", LOAD)
