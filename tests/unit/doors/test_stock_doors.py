"""What a person types about the drawer, and what comes back."""

from __future__ import annotations

import hashlib
from datetime import date

import pytest
from tests.books_help import sterling, stock

from pourwright.books.lots import lots
from pourwright.books.pours import book_pour
from pourwright.books.purses import purses
from pourwright.books.store import open_books
from pourwright.core.findings import Level
from pourwright.doors.service.stock.adding import add_stock, buy_stock, enter_price, hand_out_stock, list_prices
from pourwright.doors.service.stock.assaying import Report, enter_assay, list_assays, send_to_assay
from pourwright.doors.service.stock.intake import Brought
from pourwright.doors.service.stock.passports import piece_passport, pour_passports
from pourwright.doors.service.stock.stops import let_out, list_stops, report_odd_melt, shut_away, sign_over
from pourwright.doors.service.stock.supplying import Marks, count, list_supplies, move, name_supply
from pourwright.doors.service.stock.sweeping import Statement, enter_settlement, list_sweeps, send_away

DAY = date(2026, 12, 1)


@pytest.fixture
def place(tmp_path):
    return str(tmp_path / "books.sqlite")


@pytest.fixture
def cast(place):
    """Books with a pour of two pieces of sterling."""
    books = open_books(place)
    fine, copper = stock(books)
    with books.writing() as connection:
        book_pour(connection, sterling(fine, copper, crucible="CR-1"), "Ada")
    books.close()
    return place


def codes(answer):
    return [one.code for one in answer.findings]


def held(place, name):
    books = open_books(place)
    with books.reading() as connection:
        (found,) = lots(connection, [name])
    books.close()
    return found


@pytest.mark.parametrize(
    ("brought", "element", "said"),
    [
        (Brought("scrap", "900", holds=("Pb:1 %",)), "lead", "29 CFR 1910.1025"),
        (Brought("scrap", "900", holds=("cd:0.1 %",)), "cadmium", "29 CFR 1910.1027"),
        (Brought("scrap", holds=("Be:2 %",)), "beryllium", "refused at intake"),
        (Brought("scrap", solder=True), "solder", "29 CFR 1910.1027"),
    ],
)
def test_poison_and_unknown_solder_are_refused_with_the_reason_and_its_source(place, brought, element, said):
    answer = add_stock(place, brought, "40 g", "A", "T")
    (stop,) = [one for one in answer.findings if one.level is Level.STOP]
    assert element in stop.what
    assert said in stop.why
    assert stop.sources
    books = open_books(place)
    with books.reading() as connection:
        assert lots(connection, empty_too=True) == ()
    books.close()


def test_a_trace_and_solder_of_known_composition_come_in(place):
    trace = add_stock(place, Brought("scrap", "900", holds=("Pb:0.01 %",)), "40 g", "A", "T")
    assert trace.document["lot"]["held_g"] == 40.0
    known = add_stock(place, Brought("scrap", "650", holds=("Zn:15 %",), solder=True), "5 g", "A", "T")
    assert known.document["lot"]["share_frac"] == {"Ag": 0.65, "Cu": 0.2, "Zn": 0.15}
    assert known.document["lot"]["solder"]


def test_scrap_is_as_sure_as_what_was_said_of_it(place):
    told = {
        "926": (926.0, 926.0, True),
        "900..925": (900.0, 925.0, False),
        "": (0.0, 1000.0, False),
    }
    for fineness, expected in told.items():
        lot = add_stock(place, Brought("scrap", fineness), "40 g", "A", "T").document["lot"]
        assert (lot["fineness_low_permille"], lot["fineness_high_permille"], lot["certain"]) == expected
        assert lot["melts_count"] == 1


def test_what_is_typed_wrong_is_said(place):
    for brought, code in (
        (Brought("silver"), "doors.charge-alloy"),
        (Brought("scrap", "925..900"), "doors.stock-fineness"),
        (Brought("copper", price="-1"), "doors.stock-price"),
        (Brought("copper", holds=("Zn",)), "doors.stock-holds"),
        (Brought("copper", holds=("Zn:60 %", "Sn:60 %")), "doors.stock-holds"),
    ):
        assert code in codes(add_stock(place, brought, "40 g", "A", "T"))
    assert codes(add_stock(place, Brought("copper"), "40", "A", "T")) == ["doors.charge-amount"]


def test_metal_bought_has_its_price_from_that_day_and_its_cost_in_the_till(place):
    answer = buy_stock(place, Brought("fine-silver-999"), "500 g", "dealer", "540.00", False, DAY, "T")
    assert answer.document["per_g"] == "1.0800"
    owed = buy_stock(place, Brought("copper"), "1 kg", "mill", "12.50", True, DAY, "T")
    assert owed.document["lot"]["price_per_g"] == "0.0125"
    books = open_books(place)
    with books.reading() as connection:
        assert purses(connection) == {"till": -54_000, "metal": 55_250, "dealer:mill": -1_250}
    books.close()
    assert list_prices(place).document["prices"][1] == {
        "metal": "fine-silver-999", "from": "2026-12-01", "per_g": "1.0800", "source": "dealer"}  # fmt: skip
    assert codes(enter_price(place, "copper", "0.02", DAY, "")) == ["books.price-known"]
    assert codes(enter_price(place, "copper", "0.02", date(2026, 12, 2), "")) == []
    assert codes(buy_stock(place, Brought("copper"), "1 kg", "mill", "1.005", True, DAY, "T")) == ["doors.stock-price"]


def test_metal_is_handed_out_with_a_reason_and_no_more_than_there_is(cast):
    assert codes(hand_out_stock(cast, "L-0002", "1 kg", "A", "taken home", "T")) == ["books.lot-too-little"]
    assert codes(hand_out_stock(cast, "L-0002", "10 g", "A", " ", "T")) == ["books.stop-unsigned"]
    assert hand_out_stock(cast, "L-0002", "10 g", "A", "taken home", "T").document["mass_g"] == 10.0
    assert held(cast, "L-0002").held_mg == 200_000 - 8_890 - 10_000


def test_a_certificate_is_kept_by_its_hash_with_the_result(cast, tmp_path):
    paper = tmp_path / "report.pdf"
    paper.write_bytes(b"%PDF the office found 926.4")
    assert send_to_assay(cast, "L-0003", "office", "0.5 g", "", "T").document["assay"] == "A-0001"
    answer = enter_assay(cast, "A-0001", Report("925.9..926.3", DAY, paper=paper), "T")
    result = answer.document["result"]
    assert result["sha256"] == hashlib.sha256(paper.read_bytes()).hexdigest()
    assert result["certificate"] == "report.pdf"
    kept = list(tmp_path.glob(f"records/*/{result['sha256']}.pdf"))
    assert kept[0].read_bytes() == paper.read_bytes()
    assert held(cast, "L-0003").certain
    assert list_assays(cast, "L-0003").document["assays"][0]["result"] == result
    assert codes(enter_assay(cast, "A-0001", Report("926", DAY, paper=tmp_path / "gone.pdf"), "T")) == [
        "doors.paper-unread"]  # fmt: skip
    assert codes(enter_assay(cast, "A-0001", Report("", DAY), "T")) == ["doors.stock-fineness"]


def test_a_result_outside_what_was_held_to_and_poison_are_pointed_out(cast):
    send_to_assay(cast, "L-0001", "office", "", "", "T")
    answer = enter_assay(cast, "A-0001", Report("990", DAY, holds=("Pb:0.5 %",)), "T")
    assert codes(answer) == ["doors.assay-outside", "doors.assay-poison"]
    assert "Pb" in held(cast, "L-0001").quarantine


def test_a_passport_says_the_lots_the_worst_case_and_the_law(cast, tmp_path):
    answer = piece_passport(cast, "2026-11-28-F1-A", "0.01 g", None)
    found = answer.document
    assert sum(one["mass_g"] for one in found["lots"]) == pytest.approx(found["mass_g"], abs=0.01)
    assert found["weighed_by"] == "Ada"
    assert 0 < found["meets_frac"] < 1
    assert found["law"]["statement"].startswith("Ask your assay office")
    assert codes(answer) == ["doors.passport-not-sold"]
    assert "not to be sold as 925 without assay" in answer.findings[0].what
    (tmp_path / "studio.toml").write_text(
        'format = 1\nname = "S"\nzone = "Europe/London"\ncountry = "united-kingdom"\n'
    )
    send_to_assay(cast, "piece:2026-11-28-F1-A", "office", "", "", "T")
    enter_assay(cast, "A-0001", Report("925.4", DAY, struck="925"), "T")
    assayed = piece_passport(cast, "2026-11-28-F1-A", "0.01 g", None)
    assert (assayed.document["meets_frac"], assayed.document["assayed"], codes(assayed)) == (1.0, True, [])
    assert codes(piece_passport(cast, "P99", "0.01 g", None)) == ["books.piece-not-cast"]


def test_all_pieces_of_a_pour_are_judged_together(cast):
    answer = pour_passports(cast, "2026-11-28-F1", "0.01 g")
    assert [one["piece"] for one in answer.document["pieces"]] == ["2026-11-28-F1-A", "2026-11-28-F1-B"]
    assert answer.document["assay_worth"] in ("", "L-0001")
    (remark,) = answer.findings
    assert "2026-11-28-F1-A, 2026-11-28-F1-B" in remark.what
    assert codes(pour_passports(cast, "never", "0.01 g")) == ["books.pour-unknown"]


def test_a_heavy_piece_falls_under_the_law_of_its_country(cast, tmp_path):
    from tests.demo_day import demo_files

    text = (demo_files() / "studio.toml").read_text("utf-8")
    (tmp_path / "uk").mkdir()
    (tmp_path / "uk" / "studio.toml").write_text(f'country = "united-kingdom"\n{text}', "utf-8")
    law = piece_passport(cast, "2026-11-28-F1-A", "0.01 g", tmp_path / "uk").document["law"]
    assert (law["country"], law["applies"], law["sources"]) == ("united-kingdom", True, ["hallconv_uk"])


def test_an_odd_melt_from_report_to_signed_entry(cast):
    answer = report_odd_melt(cast, "2026-11-28-F1", "black slag", "Ada")
    assert answer.document["shut"] == ["crucible:CR-1", "lot:L-0003"]
    assert answer.document["suspects"] == ["L-0001", "L-0002"]
    assert len(list_stops(cast).document["shut"]) == 2
    assert codes(let_out(cast, "L-0003", "", "T")) == ["books.stop-unsigned"]
    entries = let_out(cast, "L-0003", "assayed", "Teacher").document["entries"]
    assert [(one["action"], one["made_by"]) for one in entries] == [("shut", "Ada"), ("cleared", "Teacher")]
    assert [one["subject"] for one in list_stops(cast).document["shut"]] == ["crucible:CR-1"]
    assert codes(shut_away(cast, "L-0009", "odd", "T")) == ["books.lot-unknown"]
    assert codes(sign_over(cast, "L-0001", "why", "T")) == ["books.lot-free"]


def test_a_settlement_is_shared_and_shown(cast):
    sent = send_away(cast, "refiner", "840 g", date(2020, 1, 1), date(2100, 1, 1), "", "T")
    assert sent.document["sweep"] == "S-0001"
    came = Statement(("Ag:0.5 g",), "50.01", "10.00")
    owners = enter_settlement(cast, "S-0001", came, "T").document["owners"]
    assert [(one["owner"], one["money"]) for one in owners] == [("A", "15.29"), ("B", "24.72")]
    assert list_sweeps(cast).document["sweeps"][0]["settled"]
    assert codes(enter_settlement(cast, "S-0001", came, "T")) == ["books.sweep-settled"]
    wrong = Statement(("Ag",), "x", "-1")
    assert set(codes(enter_settlement(cast, "S-0001", wrong, "T"))) == {"doors.pour-form", "doors.stock-price"}


def test_supplies_are_counted_in_their_unit(place):
    name_supply(place, "powder", "Powder", "g", Marks("560 g", "2 kg", "10 kg"))
    name_supply(place, "crucibles", "", "count", Marks("", "2", "5"))
    assert move(place, "powder", "2.5 kg", False, "", "T").document["held"] == 2500.0
    assert move(place, "powder", "3 kg", True, "", "T").document["held"] == -500.0
    assert move(place, "crucibles", "3", False, "", "T").document["to_order"] == 0.0
    short = list_supplies(place, only_short=True)
    assert [(one["supply"], one["to_order"]) for one in short.document["supplies"]] == [("powder", 10_500.0)]
    assert codes(short) == ["doors.supply-below"]
    assert count(place, "powder", "6.4 kg", "counted", "T").document["held"] == 6400.0
    assert codes(count(place, "crucibles", "3 kg", "counted", "T")) == ["doors.supply-count"]
    assert codes(count(place, "powder", "-3 kg", "counted", "T")) == ["doors.supply-count"]
    assert codes(move(place, "wax", "3", False, "", "T")) == ["books.supply-unknown"]
    assert codes(name_supply(place, "powder", "", "g", Marks("x", "1", "2 kg"))) == ["doors.charge-amount"] * 2
