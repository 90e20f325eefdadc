import pytest
from tests.unit.prepare.charge_bench import codes, figure

from pourwright.core.errors import DataError
from pourwright.core.findings import Level
from pourwright.matter.alloys import alloy
from pourwright.prepare.charge.pieces import compare_factor, piece_mass
from pourwright.prepare.densities import density_lookup, liquid_g_cm3, solid_g_cm3
from pourwright.shape.pattern.report import PatternReport
from pourwright.studio.day import PatternPart, PieceOrder
from pourwright.studio.profile import StudioMaterial

STERLING = alloy("sterling-925")


def _lookup(resin=1.12, wax=0.96, spread=0.0):
    own = {"wax": ("wax", wax), "resin": ("resin", resin)}
    return density_lookup(
        [StudioMaterial(name, family, figure(value, "g_cm3", value - spread, value + spread))
         for name, (family, value) in own.items()]
    )  # fmt: skip


def _order(**changes):
    return PieceOrder(**({"id": "P01", "title": "Ring", "owner": "A", "material": "wax"} | changes))


def _report(volume_mm3, spread=0.001):
    return PatternReport(
        file="ring.stl",
        sha256="",
        units="mm",
        triangles_count=100,
        watertight=True,
        shells_count=1,
        voids_count=0,
        volume_mm3=volume_mm3,
        volume_low_mm3=volume_mm3 * (1 - spread),
        volume_high_mm3=volume_mm3 * (1 + spread),
        area_mm2=1.0,
        centre_mm=(0.0, 0.0, 0.0),
        box_mm=(1.0, 1.0, 1.0),
        wall=None,
        sections=(),
        mesh=None,
        findings=(),
    )


def _parts():
    return (PatternPart("wax", figure(6.20, "g")), PatternPart("resin", figure(4.80, "g")))


def test_a_pattern_of_wax_and_resin_is_summed_by_parts():
    piece = piece_mass(_order(parts=_parts()), None, _lookup(), STERLING)
    assert piece.volume_cm3.value == pytest.approx(10.744, abs=5e-4)
    assert piece.cast_g.value == pytest.approx(111.3, abs=0.05)
    assert piece.findings == ()


def test_times_ten_is_wrong_both_ways():
    wax, resin = compare_factor(_parts(), 10.0, _lookup(), STERLING)
    assert (wax.by_factor_g, resin.by_factor_g) == pytest.approx((62.0, 48.0))
    assert wax.error_frac == pytest.approx(-0.073, abs=5e-4)
    assert resin.error_frac == pytest.approx(0.081, abs=5e-4)


def test_stones_are_taken_off_and_flagged():
    order = _order(weighed_g=figure(3.00, "g"), stone_g=figure(0.40, "g"))
    piece = piece_mass(order, None, _lookup(), STERLING)
    assert piece.cast_g.value == pytest.approx(28.1, abs=0.05)
    assert piece.stones
    (finding,) = piece.findings
    assert finding.code == "prepare.piece-stones"
    assert "no thermal-shock quench" in finding.what
    assert "454" in finding.what


def test_stones_heavier_than_the_pattern_stop():
    order = _order(weighed_g=figure(0.40, "g"), stone_g=figure(0.40, "g"))
    piece = piece_mass(order, None, _lookup(), STERLING)
    assert piece.volume_cm3 is None
    assert "prepare.piece-all-stone" in codes(piece.findings)


def test_a_file_gives_volume_mass_and_what_the_pattern_should_weigh():
    piece = piece_mass(_order(file="ring.stl"), _report(293.0), _lookup(), STERLING)
    assert piece.cast_g.value == pytest.approx(3.04, abs=0.005)
    assert piece.cast_g.low < piece.cast_g.value < piece.cast_g.high
    assert piece.pattern_g.value == pytest.approx(0.281, abs=5e-4)
    assert piece.gap_frac is None


def test_file_and_scale_that_agree_are_left_alone():
    piece = piece_mass(_order(weighed_g=figure(0.285, "g")), _report(293.0), _lookup(), STERLING)
    assert piece.gap_frac == pytest.approx(0.0132, abs=1e-3)
    assert piece.findings == ()
    assert piece.volume_cm3.value == pytest.approx(0.293)


def test_file_and_scale_more_than_three_percent_apart_are_asked_about():
    piece = piece_mass(_order(weighed_g=figure(0.31, "g")), _report(293.0), _lookup(), STERLING)
    assert [(one.code, one.level) for one in piece.findings] == [("prepare.piece-gap", Level.ASK)]


def test_a_gap_that_the_density_explains_is_looked_at():
    piece = piece_mass(_order(weighed_g=figure(0.29, "g")), _report(293.0), _lookup(spread=0.05), STERLING)
    assert [(one.code, one.level) for one in piece.findings] == [("prepare.piece-gap-density", Level.LOOK)]


def test_parts_that_miss_the_whole_are_asked_about():
    piece = piece_mass(_order(parts=_parts(), weighed_g=figure(12.0, "g")), None, _lookup(), STERLING)
    assert codes(piece.findings) == ["prepare.piece-parts-miss"]
    assert piece.volume_cm3 is None


def test_parts_with_stones_fit_the_whole():
    order = _order(parts=_parts(), weighed_g=figure(11.4, "g"), stone_g=figure(0.4, "g"))
    piece = piece_mass(order, None, _lookup(), STERLING)
    assert codes(piece.findings) == ["prepare.piece-stones"]
    assert piece.volume_cm3.value == pytest.approx(10.744, abs=5e-4)


def test_an_unknown_material_stops_and_names_it():
    piece = piece_mass(_order(material="butter", weighed_g=figure(1.0, "g")), None, _lookup(), STERLING)
    assert codes(piece.findings) == ["prepare.piece-material"]
    assert "butter" in piece.findings[0].what
    assert piece.family == ""


def test_a_leaf_is_not_weighed_into_metal():
    piece = piece_mass(_order(material="organic", weighed_g=figure(1.0, "g")), None, _lookup(), STERLING)
    assert [(one.code, one.level) for one in piece.findings] == [("prepare.piece-organic", Level.ASK)]
    assert piece.volume_cm3 is None


def test_a_leaf_whose_density_was_measured_is():
    own = density_lookup([StudioMaterial("pod", "organic", figure(0.5, "g_cm3"))])
    piece = piece_mass(_order(material="pod", weighed_g=figure(1.05, "g")), None, own, STERLING)
    assert piece.cast_g.value == pytest.approx(2.1 * 10.36)


def test_a_piece_of_which_nothing_is_known_is_asked_about():
    assert codes(piece_mass(_order(), None, _lookup(), STERLING).findings) == ["prepare.piece-no-amount"]


def test_the_tables_serve_where_the_studio_has_no_density():
    wax = density_lookup([])("casting-wax")
    assert (wax.density_g_cm3.low, wax.density_g_cm3.high) == pytest.approx((0.90, 1.00))
    assert not wax.own
    with pytest.raises(DataError):
        density_lookup([])("butter")


def test_hotter_melt_is_lighter_and_all_melt_lighter_than_solid():
    cool = liquid_g_cm3(STERLING, figure(950.0, "C"))
    hot = liquid_g_cm3(STERLING, figure(1000.0, "C"))
    assert hot.value < cool.value < solid_g_cm3(STERLING).value


def test_an_uncertain_pour_temperature_widens_the_melts_density():
    sure = liquid_g_cm3(STERLING, figure(970.0, "C"))
    unsure = liquid_g_cm3(STERLING, figure(970.0, "C", 940.0, 1000.0))
    assert unsure.value == sure.value
    assert unsure.low < sure.low and unsure.high > sure.high
    assert sure.value == pytest.approx(9.14, abs=0.01)


def test_a_leaf_is_cast_by_the_water_it_displaces():
    leaf = piece_mass(_order(material="organic", displaced_cm3=figure(2.1, "cm3")), None, density_lookup(()), STERLING)
    assert leaf.cast_g.value == pytest.approx(21.8, abs=0.05)
    assert leaf.family == "organic"
    assert not leaf.findings
