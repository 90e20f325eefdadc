import pytest
from tests.unit.prepare.charge_bench import codes, figure, lots_of

from pourwright.core.findings import Level
from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.lots import lot_from_stock, lot_from_text, take_from
from pourwright.prepare.charge.results import Weighing
from pourwright.studio.profile import StockLot

STERLING = alloy("sterling-925")


def _stock(**changes):
    plain = {"id": "L-1", "material": "scrap", "mass_g": figure(40.0, "g"), "element": "Ag"}
    return StockLot(**(plain | {"fineness_permille": figure(890.0, "permille", 880.0, 900.0)} | changes))


def test_a_metal_of_the_tables_is_read_by_its_name():
    (lot,) = lots_of("sterling-925", "fine-silver-999")
    assert (lot.name, lot.limit_g, lot.is_scrap) == ("fine-silver-999", None, False)
    assert lot.composition_frac == pytest.approx({"Ag": 0.999, "Cu": 0.001})


def test_mass_and_fineness_of_scrap_are_read():
    (lot,) = lots_of("sterling-925", "scrap:40 g@900")
    assert (lot.name, lot.limit_g.value, lot.fineness_permille.value) == ("scrap", 40.0, 900.0)
    assert lot.is_scrap and lot.certain
    assert lot.composition_frac == pytest.approx({"Ag": 0.9, "Cu": 0.1})


def test_a_range_is_counted_at_its_low_end_and_said():
    lot, findings = lot_from_text("scrap:40 g@880..900", STERLING)
    assert (lot.fineness_permille.value, lot.fineness_permille.high) == (880.0, 900.0)
    assert not lot.certain
    assert codes(findings) == ["prepare.lot-unknown-fineness"]


def test_mass_may_be_in_troy_ounces_and_fineness_in_percent():
    (lot,) = lots_of("sterling-925", "scrap-buttons:2 ozt@92.5 %")
    assert lot.limit_g.value == pytest.approx(62.2070, abs=1e-4)
    assert lot.fineness_permille.value == pytest.approx(925.0)


def test_an_alloy_of_the_tables_is_new_metal():
    (lot,) = lots_of("sterling-925", "sterling-925:50 g")
    assert not lot.is_scrap


@pytest.mark.parametrize(
    ("text", "code", "level"),
    [
        ("scrap:40@900", "prepare.lot-unreadable", Level.STOP),
        ("scrap:40 gr@900", "prepare.lot-unreadable", Level.ASK),
        ("scrap:0 g@900", "prepare.lot-mass", Level.STOP),
        ("scrap:40 g@92.5", "prepare.lot-fineness-unclear", Level.ASK),
        ("scrap:40 g@0.925", "prepare.lot-fineness-unclear", Level.ASK),
        ("scrap:40 g@1925", "prepare.lot-fineness", Level.STOP),
        ("scrap:40 g@900..880", "prepare.lot-range", Level.STOP),
        ("scrap:40 g@880..890..900", "prepare.lot-range", Level.STOP),
        ("scrap:40 g@", "prepare.lot-unreadable", Level.STOP),
        ("scrap:40 g", "prepare.lot-scrap-fineness", Level.ASK),
        ("solder:1 g@650", "prepare.lot-solder", Level.STOP),
        ("copper@999", "prepare.lot-no-fineness", Level.STOP),
        ("fine-silver", "prepare.lot-unknown", Level.STOP),
        (":40 g", "prepare.lot-form", Level.STOP),
        ("", "prepare.lot-form", Level.STOP),
    ],
)
def test_what_cannot_be_a_lot_is_refused_kindly(text, code, level):
    lot, findings = lot_from_text(text, STERLING)
    assert lot is None
    assert [(one.code, one.level) for one in findings] == [(code, level)]
    assert findings[0].what and findings[0].do_next


def test_an_unknown_name_is_answered_with_close_ones():
    _, (finding,) = lot_from_text("fine-silver", STERLING)
    assert "fine-silver-999" in finding.do_next


def test_scrap_of_an_alloy_of_three_metals_says_what_it_assumes():
    lot, findings = lot_from_text("scrap:10 g@585", alloy("gold-18k-3n"))
    assert codes(findings) == ["prepare.lot-scrap-rest"]
    assert lot.composition_frac == pytest.approx({"Au": 0.585, "Ag": 0.2075, "Cu": 0.2075})


def test_scrap_of_bronze_is_counted_as_the_same_bronze():
    lot, findings = lot_from_text("scrap:100 g", alloy("tin-bronze-c90300"))
    assert codes(findings) == ["prepare.lot-scrap-same"]
    assert lot.composition_frac == alloy("tin-bronze-c90300").composition_frac


def test_uncertain_stock_is_counted_at_its_low_end_and_certain_stock_at_its_value():
    unsure, _ = lot_from_stock(_stock(certain=False), STERLING)
    sure, findings = lot_from_stock(_stock(), STERLING)
    assert (unsure.fineness_permille.value, sure.fineness_permille.value) == (880.0, 890.0)
    assert findings == ()


def test_solder_and_students_lots_wait_for_a_signature():
    assert codes(lot_from_stock(_stock(solder=True), STERLING)[1]) == ["prepare.lot-solder"]
    assert codes(lot_from_stock(_stock(owner="Student A"), STERLING)[1]) == ["prepare.lot-owned"]
    assert lot_from_stock(_stock(solder=True, released_by="Keeper"), STERLING)[0].solder
    assert lot_from_stock(_stock(owner="Student A", released_by="Student A"), STERLING)[0] is not None


def test_a_students_lot_may_be_melted_for_that_student_alone():
    lot = _stock(owner="Student A")
    assert lot_from_stock(lot, STERLING, ["Student A"])[0] is not None
    assert lot_from_stock(lot, STERLING, ["Student A", "Student B"])[0] is None


def test_stock_of_a_table_metal_keeps_its_own_fineness():
    lot, _ = lot_from_stock(_stock(material="fine-silver-999", fineness_permille=figure(999.5, "permille")), STERLING)
    assert lot.composition_frac == pytest.approx({"Ag": 0.9995, "Cu": 0.0005})
    assert not lot.is_scrap


def test_what_was_weighed_is_gone_for_the_next_charge():
    lots = lots_of("sterling-925", "scrap:40 g@900", "copper")
    left = take_from(lots, [Weighing("scrap", 15.5), Weighing("copper", 3.0)])
    assert left[0].limit_g.value == pytest.approx(24.5)
    assert left[1].limit_g is None
