"""How likely a piece is at its standard, followed back through all remelts, against drawing lots."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from tests.books_help import COPPER, FINE, sterling, stock

from pourwright.books.assays import Result, enter_result, send
from pourwright.books.lots import NewLot, lots, take_in
from pourwright.books.passport import passport, pieces_of, worth_of
from pourwright.books.pours import Casting, book_pour
from pourwright.core.errors import LedgerError

ERROR_MG = 5.0


def pour(connection, name, used, castings=(), button_mg=0):
    return book_pour(
        connection,
        sterling("", "", name, used_mg=used, castings=castings, button_mg=button_mg, scales_mg=100,
                 expected_loss_mg=10_000),
        "Ada",
    )  # fmt: skip


@pytest.fixture
def twice_melted(books):
    """Doubtful scrap and fine silver, whose button goes with more of both into a second pour and a piece."""
    with books.writing() as connection:
        fine = take_in(connection, FINE, 300_000, "dealer", "T", lot_id="fine")
        copper = take_in(connection, COPPER, 50_000, "dealer", "T", lot_id="copper")
        scrap = NewLot("scrap", {"Ag": 0.91, "Cu": 0.09}, "Ag", 0.88, 0.94, is_new=False, melts_count=1, certain=False)
        odd = take_in(connection, scrap, 100_000, "A", "T", lot_id="odd")
        first = pour(connection, "F1", {fine: 55_000, copper: 3_900, odd: 60_000}, button_mg=118_000)
        pour(connection, "F2", {first.button_lot: 59_000, fine: 40_000, copper: 3_200}, (Casting("P1", "A", 30_000),),
             72_000)  # fmt: skip
    return books


def judged(books, piece="P1", standard=925.0):
    with books.reading() as connection:
        return passport(connection, piece, standard, "Ag", ERROR_MG)


def by_drawing(standard, draws=400_000, seed=4):
    """Draw the two melts of the fixture as they were weighed."""
    chance = np.random.default_rng(seed)
    fine, odd = chance.uniform(0.999, 1.0, draws), chance.uniform(0.88, 0.94, draws)

    def melt(parts):
        masses = [mass + chance.uniform(-ERROR_MG, ERROR_MG, draws) for mass, _ in parts]
        return sum(mass * share for mass, (_, share) in zip(masses, parts, strict=True)) / sum(masses)

    first = melt([(55_000, fine), (3_900, 0.0), (60_000, odd)])
    return float(np.mean(melt([(59_000, first), (40_000, fine), (3_200, 0.0)]) >= standard / 1000))


def test_a_piece_is_followed_back_lump_by_lump(twice_melted):
    found = judged(twice_melted)
    shares = {one.lot.id: one.share_frac for one in found.roots}
    half = 59_000 / 102_200
    assert shares["odd"] == pytest.approx(half * 60_000 / 118_900)
    assert shares["fine"] == pytest.approx(half * 55_000 / 118_900 + 40_000 / 102_200)
    assert sum(shares.values()) == pytest.approx(1.0)
    assert {one.lot.id: one.melts_count for one in found.roots} == {"odd": 1, "fine": 0, "copper": 0}
    assert (found.owner, found.weighed_by, found.pour, found.mass_mg) == ("A", "Ada", "F2", 30_000)
    assert found.low_permille < found.best_permille < found.high_permille


@pytest.mark.parametrize("standard", [920.0, 925.0, 930.0, 935.0])
def test_the_probability_is_that_of_drawing_the_melts(twice_melted, standard):
    found = judged(twice_melted, standard=standard)
    drawn = by_drawing(standard)
    # Five standard errors of the draws; the fineness is linear in the errors to far less than that.
    assert found.meets_frac == pytest.approx(drawn, abs=5 * 0.0008 + 5e-4)


def test_the_one_assay_worth_paying_for_settles_the_doubt(twice_melted):
    before = judged(twice_melted, standard=930.0)
    assert 0.05 < before.meets_frac < 0.95
    assert list(before.worth_frac) == ["odd"]
    assert worth_of([before, before]) == ("odd", pytest.approx(2 * before.worth_frac["odd"]))
    with twice_melted.writing() as connection:
        number = send(connection, "lot:odd", "office", "T")
        enter_result(connection, number, Result("Ag", 0.915, 0.915, date(2026, 12, 1)), "T")
    after = judged(twice_melted, standard=930.0)
    doubt = [min(one.meets_frac, 1 - one.meets_frac) for one in (before, after)]
    assert doubt[1] < doubt[0]
    assert after.worth_frac == {}
    assert worth_of([after]) == ("", 0.0)


def test_the_pieces_of_a_pour_are_listed(twice_melted):
    with twice_melted.reading() as connection:
        assert pieces_of(connection, "F2") == ("P1",)
        for none in ("F1", "never"):
            with pytest.raises(LedgerError):
                pieces_of(connection, none)


def test_the_button_of_a_doubtful_melt_stays_doubtful_with_the_range_of_its_parts(twice_melted):
    with twice_melted.reading() as connection:
        first = next(one for one in lots(connection) if one.provenance == "F1")
    weights = {"fine": 55_000 / 118_900, "odd": 60_000 / 118_900}
    low, high = (0.999 * weights["fine"] + 0.88 * weights["odd"], weights["fine"] + 0.94 * weights["odd"])
    assert not first.certain
    assert (first.noble_low_ppm, first.noble_high_ppm) == (
        pytest.approx(1e6 * low, abs=1), pytest.approx(1e6 * high, abs=1))  # fmt: skip


def test_a_button_that_was_assayed_ends_the_way_back(twice_melted):
    with twice_melted.writing() as connection:
        button = next(one.id for one in lots(connection) if one.provenance == "F1")
        number = send(connection, f"lot:{button}", "office", "T")
        enter_result(connection, number, Result("Ag", 0.93, 0.93, date(2026, 12, 1)), "T")
    found = judged(twice_melted)
    assert {one.lot.id for one in found.roots} == {button, "fine", "copper"}


def test_a_piece_that_was_assayed_itself_goes_by_that(twice_melted):
    with twice_melted.writing() as connection:
        number = send(connection, "piece:P1", "office", "T")
        enter_result(connection, number, Result("Ag", 0.9262, 0.927, date(2026, 12, 1)), "T")
    found = judged(twice_melted)
    assert (found.assayed, found.meets_frac, found.low_permille) == (True, 1.0, pytest.approx(926.2))


def test_metal_nobody_knows_has_no_probability(books):
    stock(books)
    with books.writing() as connection:
        unknown = take_in(connection, NewLot("scrap", {}), 40_000, "A", "T")
        pour(connection, "F1", {"L-0001": 30_000, unknown: 1_000}, (Casting("P1", "A", 30_800),))
    assert judged(books).meets_frac is None
    with pytest.raises(LedgerError) as refusal:
        judged(books, "never")
    assert refusal.value.findings[0].code == "books.piece-not-cast"
