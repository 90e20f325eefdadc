"""The drawer of the studio file goes into the books once, under its own ids, and never twice."""

from __future__ import annotations

import pytest
from tests.books_help import FINE

from pourwright.books.drawer import drawer_of, with_drawer, with_shelf
from pourwright.books.ledger import movements, sums_mg
from pourwright.books.lots import lots, take_in
from pourwright.books.opening import open_shelf, open_stock, opened
from pourwright.books.supplies import Supply, enter_supply, move_supply, supplies, supplies_off
from pourwright.core.errors import LedgerError
from pourwright.doors.service.demo import make_demo
from pourwright.studio.reading import read_studio


@pytest.fixture(scope="module")
def studio(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studio")
    make_demo(folder)
    found, _ = read_studio(folder)
    return found


def test_every_lot_is_taken_over_to_the_milligram_with_its_owner_and_its_doubt(books, studio):
    with books.writing() as connection:
        ids = open_stock(connection, studio.lots, "Teacher")
        held = {one.id: one for one in lots(connection)}
        assert set(sums_mg(connection).values()) == {0}
        assert {one.legs[1].account for one in movements(connection)} <= {f"lot:{name}" for name in ids} | {
            "outside:opening"
        }
    assert ids == tuple(one.id for one in studio.lots)
    for one in studio.lots:
        kept = held[one.id]
        assert kept.held_mg == round(1000 * one.mass_g.value)
        assert kept.owner == (one.owner or "studio")
        assert (kept.certain, kept.solder) == (one.certain, one.solder)
        if one.material == "scrap":
            assert (kept.noble_low_ppm, kept.noble_high_ppm) == (
                round(1000 * one.fineness_permille.low), round(1000 * one.fineness_permille.high))  # fmt: skip


def test_it_is_never_taken_over_twice(books, studio):
    with books.writing() as connection:
        take_in(connection, FINE, 1_000, "opening", "T", lot_id="OTHER")  # a name that means nothing by itself
        assert opened(connection).by == ""
        open_stock(connection, studio.lots, "Teacher")
    with pytest.raises(LedgerError, match="by Teacher") as refusal, books.writing() as connection:
        open_stock(connection, studio.lots[:1], "Another")
    assert refusal.value.findings[0].code == "books.opened-already"
    with books.reading() as connection:
        assert len(movements(connection)) == len(studio.lots) + 1


def test_all_or_nothing_where_an_id_is_taken_already(books, studio):
    with books.writing() as connection:
        take_in(connection, FINE, 1_000, "dealer", "T", lot_id=studio.lots[-1].id)
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        open_stock(connection, studio.lots, "Teacher")
    assert refusal.value.findings[0].code == "books.lot-known"
    with books.reading() as connection:
        assert len(lots(connection)) == 1
        assert opened(connection).any_lot
    with pytest.raises(LedgerError) as refusal, books.writing() as connection:
        open_stock(connection, (), "Teacher")
    assert refusal.value.findings[0].code == "books.opening-empty"


def test_the_plan_gets_the_same_lots_back(books, studio):
    with books.writing() as connection:
        open_stock(connection, studio.lots, "Teacher")
        back = with_drawer(studio, drawer_of(connection))
    for before, after in zip(studio.lots, back.lots, strict=True):
        assert (after.id, after.material, after.owner, after.certain, after.solder, after.shut) == (
            before.id, before.material, before.owner, before.certain, before.solder, "")  # fmt: skip
        assert after.mass_g.value == pytest.approx(before.mass_g.value)
        if before.material != "copper":
            assert after.fineness_permille.value == pytest.approx(before.fineness_permille.value)


def test_consumables_and_powders_are_taken_over_and_the_plan_gets_them_back(books, studio):
    with books.writing() as connection:
        enter_supply(connection, Supply(studio.powders[0].id, "Counted before", "g", 0, 0, 0, 0))
        taken = open_shelf(connection, studio, "Teacher")
        held = {one.id: one for one in supplies(connection)}
        for name in taken:
            move_supply(connection, name, "used", -1_000, "T")
        back = with_shelf(studio, drawer_of(connection))
        assert supplies_off(connection) == ()
    assert studio.powders[0].id not in taken
    flux = studio.consumables[0]
    assert (held[flux.id].held, held[flux.id].per_pour) == (1000 * flux.stock_g.value, 1000 * flux.per_melt_g.value)
    assert back.consumables[0].stock_g.value == pytest.approx(flux.stock_g.value - 1.0)
    assert back.powders[0].stock_g.value == 0.0
    assert "books" in back.consumables[0].stock_g.origin
