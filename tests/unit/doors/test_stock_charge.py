"""A charge of least cost from the drawer: out of the books, until they exist out of the studio file."""

from __future__ import annotations

import shutil
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from tests.books_help import COPPER, FINE

from pourwright.books.lots import NewLot, take_in
from pourwright.books.prices import Price, set_price
from pourwright.books.stops import shut
from pourwright.books.store import open_books
from pourwright.doors.service.demo import make_demo
from pourwright.doors.service.stock.asking import charge_as_asked
from pourwright.doors.service.stock.charge_text import as_json, as_text
from pourwright.doors.service.stock.charging import Wish, charge_from_drawer
from pourwright.doors.service.stock.limits import Limits
from pourwright.doors.service.stock.opening import open_from_studio
from pourwright.studio.reading import read_studio

SCRAP = NewLot("scrap", {"Ag": 0.925, "Cu": 0.075}, "Ag", 0.925, 0.925, is_new=False, melts_count=1,
               price_per_g=Decimal("0.90"))  # fmt: skip


@pytest.fixture
def drawer(tmp_path):
    """The drawer of a school: 300 g of fine silver, 50 g of copper, 120 g of scrap at 925."""
    place = tmp_path / "books.sqlite"
    books = open_books(place)
    with books.writing() as connection:
        take_in(connection, FINE, 300_000, "dealer", "T", lot_id="fine")
        take_in(connection, COPPER, 50_000, "dealer", "T", lot_id="copper")
        take_in(connection, SCRAP, 120_000, "opening", "T", lot_id="scrap")
    yield books
    books.close()


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studio")
    make_demo(folder)
    return folder


def asked(books, mass="120 g", **more):
    return charge_from_drawer(Wish("sterling-925", mass, books=str(books.path), **more))


def weighed(answer, which="weigh"):
    return {one["lot"]: one["mass_g"] for one in as_json(answer)[which]}


def codes(answer):
    return [one.code for one in answer.findings]


def take_out(books, masses):
    """Weigh a charge out of the drawer for good."""
    from tests.books_help import sterling

    from pourwright.books.pours import book_pour

    whole = {name: round(1000 * mass) for name, mass in masses.items()}
    with books.writing() as connection:
        name = f"F{sum(whole.values())}"
        book_pour(connection, sterling("", "", name=name, used_mg=whole, castings=(), button_mg=0, spill_mg=0,
                                       explained="taken to another bench"), "T")  # fmt: skip


def test_three_charges_of_a_day_leave_92_9_g_of_fine_silver(drawer):
    used = {"fine": 0.0, "copper": 0.0, "scrap": 0.0}
    for mass in ("138.7 g", "110 g", "95 g"):
        masses = weighed(asked(drawer, mass))
        take_out(drawer, masses)
        used = {name: one + masses.get(name, 0.0) for name, one in used.items()}
    assert used["scrap"] == pytest.approx(120.0, abs=0.001)
    assert used["fine"] == pytest.approx(207.1, abs=0.05)
    assert used["copper"] == pytest.approx(16.6, abs=0.05)
    fine = next(one for one in asked(drawer, "10 g", lots=("fine", "copper")).parts if one.lot == "fine")
    assert fine.mass_g == pytest.approx(92.9, abs=0.05)


def test_what_to_weigh_keeps_the_worst_case_and_the_exact_mixture_stands_beside(drawer):
    found = as_json(asked(drawer))
    assert found["total_g"] == 120.0
    assert found["fineness_permille"] == pytest.approx(925.0, abs=0.001)
    assert found["fineness_low_permille"] < 925.0
    assert found["aim_low_permille"] >= 925.0
    assert found["meets_frac"] == 1.0
    assert 0 < found["exact_meets_frac"] < 1
    assert sum(one["mass_g"] for one in found["weigh_to_aim"]) == pytest.approx(120.0)
    assert found["scrap_frac"] <= 0.5
    assert found["ages_frac"] == {"0": 0.500083, "1": 0.499917}
    text = as_text(asked(drawer))
    assert "is worth 115." in text
    assert "no charge within the limits is cheaper" in text
    likely = asked(drawer, limits=Limits(likely="90 %"))
    assert as_json(likely)["proven"] is False
    assert Decimal(as_json(likely)["cost"]) <= Decimal(found["cost"])
    assert "is cheaper" not in as_text(likely)
    assert "3.1\u00a0%" in text


def test_the_scale_is_judged_as_for_named_metal(drawer):
    # NEEDS J2: nine grams are too few on a scale of whole grams, and its error alone would move the fineness too far.
    new = ("fine", "copper")
    assert "doors.charge-limit-weigh" in codes(asked(drawer, "120 g", scale="1 g", lots=new))
    anyway = asked(drawer, "120 g", scale="1 g", lots=new, limits=Limits(least="1 g"))
    assert "prepare.alloy-scale-coarse" in codes(anyway)
    assert anyway.charge is None


def test_a_scale_of_the_studio_brings_its_own_error_and_what_it_carries(drawer, demo):
    scale = read_studio(demo)[0].scales[0]
    named = asked(drawer, "60 g", scale=scale.id, studio=demo)
    assert named.charge.request.scale_error_g == scale.error_g.value
    assert named.division_g == scale.division_g.value
    with drawer.writing() as connection:
        take_in(connection, FINE, 2_000_000, "dealer", "T", lot_id="more")
        take_in(connection, COPPER, 500_000, "dealer", "T", lot_id="more-copper")
    heavy = asked(drawer, f"{2 * scale.capacity_g.value:g} g", scale=scale.id, studio=demo)
    assert codes(heavy)[-1] == "doors.charge-scale-small"
    assert heavy.charge is None
    (unknown,) = asked(drawer, scale="SCALE-X", studio=demo).findings
    assert scale.id in unknown.what


def test_whole_lumps_go_in_as_they_are(drawer):
    with drawer.writing() as connection:
        for number, mass_mg in enumerate((31_200, 27_900, 22_400, 18_600, 15_300, 9_700, 6_100)):
            lump = NewLot("button", {"Ag": 0.93, "Cu": 0.07}, "Ag", 0.93, 0.93, is_new=False, whole=True,
                          price_per_g=Decimal("0.10"), melts_count=1)  # fmt: skip
            take_in(connection, lump, mass_mg, "opening", "T", lot_id=f"B{number}")
    buttons = tuple(f"B{number}" for number in range(7))
    answer = asked(drawer, "61.8 g", lots=buttons, limits=Limits(new="0 %"))
    assert set(weighed(answer, "weigh_to_aim").values()) == {27.9, 18.6, 15.3}
    near = asked(drawer, "61.7 g", lots=buttons, limits=Limits(new="0 %"))
    assert near.charge is None
    assert {one.limit for one in near.obstacles} >= {"mass"}
    over = asked(drawer, "61.7 g", lots=buttons, limits=Limits(new="0 %", surplus="0.2 g"))
    assert sum(weighed(over, "weigh_to_aim").values()) == pytest.approx(61.8)


def test_an_infeasible_charge_says_each_limit_with_the_nearest_that_can_be_had(drawer):
    answer = asked(drawer, "600 g")
    assert [(one["limit"], one["reached"]) for one in as_json(answer)["obstacles"]] == [
        ("mass", 443.99),
        ("stock", 300),
    ]
    mass, stock = (one for one in answer.findings if one.code.startswith("doors.charge-limit"))
    assert "443.99\u00a0g can be had" in mass.what
    assert "444.45\u00a0g of lot fine" in stock.what
    again = asked(drawer, "443.99 g")
    assert again.charge is not None


def test_metal_of_an_owner_is_for_that_owner_alone_until_it_is_signed_over(drawer):
    hers = NewLot("scrap", {"Ag": 0.93, "Cu": 0.07}, "Ag", 0.93, 0.93, "Mira", is_new=False, melts_count=1)
    with drawer.writing() as connection:
        take_in(connection, hers, 40_000, "Mira", "T", lot_id="hers")
    assert "hers" not in weighed(asked(drawer))
    assert weighed(asked(drawer, "60 g", owners=("Mira",)), "weigh_to_aim")["hers"] == pytest.approx(30.0, abs=0.3)
    assert "hers" not in weighed(asked(drawer, "60 g", owners=("Mira", "Ada")))
    assert codes(asked(drawer, "60 g", lots=("hers", "fine")))[0] == "books.part-owned"
    from pourwright.books.stops import sign_over

    with drawer.writing() as connection:
        sign_over(connection, "hers", "given to the school", "Mira")
    assert asked(drawer, "30 g", lots=("hers", "fine", "copper")).charge is not None


def test_doubtful_metal_waits_to_be_asked_for_and_counts_at_its_low_end(drawer):
    odd = NewLot("scrap", {"Ag": 0.9, "Cu": 0.1}, "Ag", 0.88, 0.92, is_new=False, melts_count=1, certain=False,
                 price_per_g=Decimal("0.10"))  # fmt: skip
    with drawer.writing() as connection:
        take_in(connection, odd, 40_000, "Ada", "T", lot_id="odd")
    assert "odd" not in weighed(asked(drawer))
    answer = asked(drawer, "130 g", doubtful=True)
    masses = weighed(answer)
    assert masses["odd"] == pytest.approx(40.0, abs=0.01)
    share = 0.88 * masses["odd"] + 0.999 * masses["fine"] + 0.925 * masses.get("scrap", 0.0)
    assert share == pytest.approx(0.925 * 130, abs=0.001)


def test_metal_that_nobody_knows_is_never_used(drawer):
    with drawer.writing() as connection:
        take_in(connection, NewLot("scrap", {}), 40_000, "A", "T", lot_id="unknown")
    assert codes(asked(drawer, lots=("unknown", "fine")))[0] == "books.part-unknown"


def test_what_is_shut_away_turns_a_charge_red(drawer):
    with drawer.writing() as connection:
        shut(connection, "lot:scrap", "black slag", "T")
        shut(connection, "crucible:CR-1", "black slag", "T")
    assert "scrap" not in weighed(asked(drawer))
    assert codes(asked(drawer, lots=("scrap", "fine", "copper")))[0] == "books.part-shut"
    red = asked(drawer, crucible="CR-1")
    assert red.charge is None
    assert "black slag" in red.findings[-1].what
    assert asked(drawer, crucible="CR-2").charge is not None


def test_dated_prices_stand_in_where_a_lot_has_none(drawer):
    with drawer.writing() as connection:
        take_in(connection, NewLot("sterling-925", {"Ag": 0.925, "Cu": 0.075}, "Ag", 0.925, 0.925), 500_000, "dealer",
                "T", lot_id="grain")  # fmt: skip
        set_price(connection, Price("sterling-925", date(2026, 1, 1), Decimal("2.00"), "dealer"))
    dear = as_json(asked(drawer, lots=("grain",)))
    assert dear["cost"] == "240.00"


def test_wrong_limits_are_said_all_at_once(drawer):
    bad = Limits("half", "x", "5", ("Xx:0 %..1 %", "Zn"), ("Zn", "Qq:1 %"), "", "", "100 %")
    found = codes(asked(drawer, limits=bad))
    for code in ("share", "melts", "old", "element", "window", "burns"):
        assert f"doors.charge-{code}" in found
    assert "doors.charge-likely" in codes(asked(drawer, limits=Limits(likely="100 %")))


def test_numbers_no_studio_means_are_pointed_at(drawer):
    assert codes(asked(drawer, "1e9 kg")) == ["doors.charge-mass-most"]
    assert codes(asked(drawer, scale="1e-9 g")) == ["doors.charge-scale-fine"]
    for bad, code in (
        (Limits(surplus="-1 g"), "below"),
        (Limits(least="-1 g"), "below"),
        (Limits(burns=("Ag:100 %",)), "burns-most"),
    ):
        assert codes(asked(drawer, limits=bad)) == [f"doors.charge-{code}"]


def test_copper_that_burns_away_is_made_up_for_and_said(drawer):
    answer = asked(drawer, limits=Limits(burns=("Cu:10 %",)))
    assert answer.charge.aim.lost_g == pytest.approx(0.1 * sum(
        (1 - one.composition_frac["Ag"]) * weighed(answer, "weigh_to_aim").get(one.lot, 0.0) for one in answer.parts
        if one.lot in weighed(answer, "weigh_to_aim") and "Ag" in one.composition_frac
    ) + 0.1 * weighed(answer, "weigh_to_aim").get("copper", 0.0), abs=0.001)  # fmt: skip
    assert "burns or boils away" in as_text(answer)


def test_until_books_exist_the_lots_are_those_of_the_studio_file(demo, tmp_path):
    folder = tmp_path / "studio"
    shutil.copytree(demo, folder)
    before = charge_from_drawer(Wish("sterling-925", "120 g", studio=folder))
    assert before.charge is not None
    assert before.source == str(folder / "studio.toml")
    assert not before.in_money
    assert as_json(before)["cost"] is None
    open_from_studio("", folder, "Teacher")
    after = charge_from_drawer(Wish("sterling-925", "120 g", studio=folder))
    assert after.source == str(folder / "books.sqlite")
    assert weighed(after, "weigh_to_aim") == weighed(before, "weigh_to_aim")


def test_no_drawer_at_all_is_said(tmp_path):
    assert codes(charge_from_drawer(Wish("sterling-925", "120 g", studio=tmp_path))) == ["doors.charge-no-drawer"]
    assert codes(charge_from_drawer(Wish("stirling", "120", studio=tmp_path))) == [
        "doors.charge-alloy", "doors.charge-amount"]  # fmt: skip


def test_metal_named_on_the_command_line_needs_no_drawer_and_takes_no_limits(tmp_path):
    wish = Wish("sterling-925", "120 g", studio=Path(tmp_path))
    named = charge_as_asked(wish, ["fine-silver-999", "copper"])
    assert [one["mass_g"] for one in named.document["weigh"]] == [111.1111, 8.8889]
    both = charge_as_asked(Wish("sterling-925", "120 g", limits=Limits(new="30 %")), ["copper"])
    assert [one.code for one in both.findings] == ["doors.charge-two-ways"]
