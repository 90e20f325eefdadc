"""A day is planned from the lots of the books once there are any, and turns red with what is shut away there."""

from __future__ import annotations

import shutil

import pytest
from tests.demo_day import demo_files, made_up_report

from pourwright.books.ledger import held_mg
from pourwright.books.stops import clear, shut
from pourwright.books.store import open_books
from pourwright.core.findings import Level
from pourwright.doors.service.plan import plan_day_file
from pourwright.doors.service.stock.drawer import with_books_stock
from pourwright.doors.service.stock.opening import open_from_studio
from pourwright.prepare.plan import plan_day
from pourwright.studio.reading import read_day, read_studio


@pytest.fixture
def studio_folder(tmp_path):
    folder = tmp_path / "studio"
    shutil.copytree(demo_files(), folder)
    return folder


def day_file(folder):
    return sorted((folder / "days").glob("*/day.toml"))[-1]


def test_without_books_the_file_counts_and_with_them_the_books(studio_folder):
    studio, _ = read_studio(studio_folder)
    assert with_books_stock(studio, studio_folder) == (studio, ())
    open_from_studio("", studio_folder, "Teacher")
    from_books, findings = with_books_stock(studio, studio_folder)
    assert [one.id for one in from_books.lots] == [one.id for one in studio.lots]
    assert "books" in from_books.lots[0].mass_g.origin
    assert [one.code for one in findings] == ["doors.stock-in-books"]


def test_lots_that_were_never_taken_over_are_said(studio_folder):
    from tests.books_help import stock

    books = open_books(studio_folder / "books.sqlite")
    studio, _ = read_studio(studio_folder)
    assert [one.code for one in with_books_stock(studio, studio_folder)[1]] == ["doors.stock-in-file"]
    stock(books)
    books.close()
    (left,) = with_books_stock(studio, studio_folder)[1]
    assert (left.code, left.level) == ("doors.stock-not-taken-over", Level.LOOK)


def test_damaged_books_stop_the_plan(studio_folder):
    (studio_folder / "books.sqlite").write_text("spilt coffee " * 2000)
    answer = plan_day_file(day_file(studio_folder), studio_folder, None, "a4")
    assert answer.plan is None
    assert answer.findings[-1].code.startswith("books.damaged")


def test_every_planned_pour_with_a_shut_lot_or_crucible_is_red_until_it_is_cleared(studio_folder):
    open_from_studio("", studio_folder, "Teacher")
    books = open_books(studio_folder / "books.sqlite")
    green = planned(studio_folder)
    assert reds(green) == []
    crucible = green.plan.day.crucible
    with books.reading() as connection:
        have_g = {use.lot: use.have_g.value for use in green.plan.stock}
        assert have_g == {name: sum(held_mg(connection, f"lot:{name}").values()) / 1000 for name in have_g}
    with books.writing() as connection:
        shut(connection, "lot:L-0003", "black slag", "Teacher")
        shut(connection, f"crucible:{crucible}", "black slag", "Teacher")
    red = reds(planned(studio_folder))
    assert {one.code for one in red} == {"prepare.lot-shut", "prepare.crucible-shut"}
    assert all("black slag" in one.what and one.level is Level.STOP for one in red)
    with books.writing() as connection:
        clear(connection, "lot:L-0003", "a coat button, fished out", "Teacher")
        clear(connection, f"crucible:{crucible}", "new glaze", "Teacher")
    books.close()
    assert reds(planned(studio_folder)) == []


def planned(folder):
    """Plan the day with the lots that the books have, as the command does."""
    studio, _ = read_studio(folder)
    studio, _ = with_books_stock(studio, folder)
    day, _ = read_day(day_file(folder), studio)
    return plan_day(studio, day, made_up_report)


def reds(outcome):
    return [one for one in outcome.findings if one.code.endswith("-shut")]
