"""Which piece goes into which flask."""

from dataclasses import replace

import pytest

from pourwright.core.figure import given
from pourwright.core.findings import Level
from pourwright.prepare.flasking.choose import base_for, choose_flasks
from pourwright.prepare.flasking.results import PieceToPlace
from pourwright.prepare.flasking.wishes import common_window_C
from pourwright.shape.pattern import mass, solids
from pourwright.shape.pattern.poses import poses_of
from pourwright.shape.tree.rules import tree_rules
from pourwright.studio.profile import Flask, SprueBase

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)


def _is(value, unit):
    return given(value, unit, "test")


def flask(name, diameter=63.5, height=101.6):
    return Flask(name, _is(diameter, "mm"), _is(height, "mm"), _is(2, "mm"), _is(300, "g"))


def base(name, fits, funnel=6.0, depth=12.0):
    return SprueBase(name, tuple(fits), _is(funnel, "cm3"), _is(20, "mm"), _is(depth, "mm"))


def piece(name, grams, box=(10.0, 8.0, 4.0), **more):
    return PieceToPlace(name, grams, box, 2.0, **more)


def _choose(pieces, flasks=None, usable=124.0, density=0.0):
    flasks = flasks or [flask(f"FL-{number}") for number in range(1, 7)]
    ids = [one.id for one in flasks]
    return choose_flasks(pieces, flasks, [base("B", ids)], dict.fromkeys(ids, usable), RULES, density)


def _codes(result):
    return [(one.code, one.level) for one in result.findings]


def _together(result, one, other):
    return any({one, other} <= set(group.pieces) for group in result.groups)


def _eight():
    return [piece(f"p{grams}", float(grams)) for grams in (70, 60, 55, 40, 35, 30, 20, 14)]


def test_eight_patterns_need_three_flasks_and_two_are_impossible():
    """Grams include each pattern's share of the tree: 324 g in all, 124 g usable a flask."""
    result = _choose(_eight())
    assert (len(result.groups), result.fewest_count, result.proven) == (3, 3, True)
    assert all(group.metal_g <= 124 for group in result.groups)
    assert sorted(name for group in result.groups for name in group.pieces) == sorted(one.id for one in _eight())
    assert result.findings == ()


def test_two_flasks_for_those_eight_are_refused_with_the_number_that_would_do():
    result = _choose(_eight(), [flask("FL-1"), flask("FL-2")])
    assert result.groups == ()
    assert _codes(result) == [("prepare.flasking-too-few", Level.STOP)]
    assert "2 flasks" in result.findings[0].what
    assert "3 would do" in result.findings[0].what


def test_a_day_that_first_fit_gets_wrong_is_still_packed_into_the_fewest():
    grams = [0.45, 0.45, 0.35, 0.35, 0.2, 0.2]  # first fit: 3 flasks; 45+35+20 twice: 2
    result = _choose([piece(f"p{number}", 100 * share) for number, share in enumerate(grams)], usable=100.0)
    assert (len(result.groups), result.proven) == (2, True)


def test_each_steel_flask_is_used_once():
    used = [group.flask for group in _choose(_eight()).groups]
    assert len(used) == len(set(used))


def test_pieces_that_must_share_do():
    pieces = [replace(one, together="set" if one.id in ("p70", "p20") else "") for one in _eight()]
    result = _choose(pieces)
    assert _together(result, "p70", "p20")
    assert len(result.groups) == 3


def test_pieces_that_must_not_share_do_not():
    pieces = [
        replace(one, apart_from=("p40", "p35", "p30", "p20", "p14") if one.id == "p70" else ()) for one in _eight()
    ]
    result = _choose(pieces)
    assert [group.pieces for group in result.groups if "p70" in group.pieces] == [("p70",)]
    assert (len(result.groups), result.proven) == (4, True)


def test_a_wish_for_a_flask_is_kept():
    pieces = [replace(one, wish_flask="FL-5" if one.id == "p14" else "") for one in _eight()]
    assert next(group.flask for group in _choose(pieces).groups if "p14" in group.pieces) == "FL-5"


def test_wishes_that_clash_are_all_named():
    pieces = [
        piece("a", 5.0, together="x", apart_from=("b",)),
        piece("b", 5.0, together="x"),
        piece("c", 5.0, together="y", wish_flask="FL-1"),
        piece("d", 5.0, together="y", wish_flask="FL-2"),
        piece("e", 5.0, together="z", stones=True),
        piece("f", 5.0, together="z"),
        piece("g", 5.0, together="w", window_C=(600.0, 640.0)),
        piece("h", 5.0, together="w", window_C=(460.0, 520.0)),
    ]
    result = _choose(pieces)
    names = [code.removeprefix("prepare.flasking-") for code, _ in _codes(result)]
    assert names == ["apart", "two-flasks", "stones", "windows"]
    assert all(one.what and one.do_next for one in result.findings)
    assert "600\u00a0°C" in result.findings[-1].what


def test_windows_without_a_common_temperature_never_share():
    result = _choose([piece("hot", 5.0, window_C=(600.0, 640.0)), piece("cool", 5.0, window_C=(460.0, 520.0))])
    assert (len(result.groups), result.proven) == (2, True)


def test_windows_that_overlap_share_their_overlap():
    result = _choose(
        [piece("mid", 5.0, window_C=(500.0, 560.0)), piece("cool", 5.0, window_C=(460.0, 520.0)), piece("any", 5.0)]
    )
    (group,) = result.groups
    assert group.window_C == (500.0, 520.0)


def test_without_windows_there_is_no_common_one():
    assert common_window_C([None, None]) is None
    assert common_window_C([(1.0, 2.0), (2.0, 3.0)]) == (2.0, 2.0)


def test_a_piece_with_stones_shares_only_with_its_like():
    result = _choose([piece("a", 5.0, stones=True), piece("b", 5.0, stones=True), piece("c", 5.0)])
    assert _together(result, "a", "b")
    assert not _together(result, "a", "c")


def test_the_smallest_flask_that_fits_is_taken():
    flasks = [flask("large", 101.6, 120.0), flask("small", 63.5, 76.2), flask("middle", 76.2, 101.6)]
    assert [group.flask for group in _choose([piece("ring", 5.0, (22.0, 22.0, 4.0))], flasks).groups] == ["small"]
    assert [group.flask for group in _choose([piece("bar", 5.0, (50.0, 5.0, 5.0))], flasks).groups] == ["middle"]


def test_many_rings_are_split_where_the_tree_would_not_fit():
    rings = [piece(f"r{number:02d}", 5.0, (22.0, 22.0, 4.0)) for number in range(14)]
    result = _choose(rings, [flask(f"FL-{number}") for number in range(4)], usable=500.0)
    assert (len(result.groups), result.proven) == (3, True)
    assert all(len(group.pieces) <= 6 for group in result.groups)
    assert all(group.tree.end_clearance_mm >= 0.25 * 63.5 for group in result.groups)


def test_sprue_and_gates_count_as_metal():
    light, heavy = (_choose([piece("a", 61.9), piece("b", 61.9)], density=density) for density in (0.0, 10.36))
    assert len(light.groups) == 1
    assert len(heavy.groups) == 2
    tree = heavy.groups[0].tree
    assert heavy.groups[0].metal_g == pytest.approx(61.9 + 10.36e-3 * (tree.sprue_volume_mm3 + tree.gates_volume_mm3))


def test_a_piece_that_fits_no_flask_is_named_with_what_is_lacking():
    result = _choose([piece("spear", 20.0, (95.0, 60.0, 60.0)), piece("ring", 5.0)])
    assert result.groups == ()
    assert _codes(result) == [("prepare.flasking-too-big", Level.STOP)]
    what = result.findings[0].what
    assert "spear" in what
    assert "mm" in what
    assert "ring" not in what


def _meshed(name, mesh):
    box_mm = tuple(float(side) for side in mass.sides_mm(mesh))
    return piece(name, 30.0, box_mm, mesh=mesh, poses=poses_of(mesh, mass.centre_mm(mesh)))


def test_a_piece_drawn_askew_that_fits_once_turned_is_told_how():
    bar = solids.box(70.0, 8.0, 6.0)
    askew = solids.rotated(solids.rotated(bar, (0, 1, 0), 45.0), (0, 0, 1), 45.0)
    assert [group.pieces for group in _choose([_meshed("bar", bar)]).groups] == [("bar",)]
    result = _choose([_meshed("bar", askew)])
    assert result.groups == ()
    assert _codes(result) == [("prepare.flasking-fits-turned", Level.STOP)]
    assert "70.0 × 8.0 × 6.0 mm" in result.findings[0].what


def test_a_piece_too_big_however_it_is_turned_is_just_too_big():
    spear = solids.rotated(solids.box(110.0, 12.0, 8.0), (1, 1, 0), 30.0)
    assert _codes(_choose([_meshed("spear", spear)])) == [("prepare.flasking-too-big", Level.STOP)]


def test_a_piece_too_heavy_for_every_flask_is_named_with_the_excess():
    result = _choose([piece("anchor", 150.0)])
    assert _codes(result) == [("prepare.flasking-too-heavy", Level.STOP)]
    assert "26.00\u00a0g" in result.findings[0].what


def test_a_piece_with_thin_cover_everywhere_is_placed_alone_and_said():
    tall = piece("tall", 5.0, (70.0, 6.0, 6.0))  # 12 + 5 + 70 leaves 14.6 mm of the 15.9 wanted
    result = _choose([tall, piece("leaf", 2.0)])
    assert not _together(result, "tall", "leaf")
    group = next(one for one in result.groups if "tall" in one.pieces)
    assert [one.code for one in group.findings] == ["shape.tree-end-thin"]


def test_a_flask_without_a_base_is_left_out_and_said():
    result = choose_flasks([piece("a", 5.0)], [flask("F"), flask("G")], [base("B", ["G"])], {"G": 100.0}, RULES, 0.0)
    assert [group.flask for group in result.groups] == ["G"]
    assert _codes(result) == [("prepare.flasking-no-base", Level.LOOK)]


def test_a_studio_without_flasks_is_told_so():
    result = choose_flasks([piece("a", 5.0)], [], [], {}, RULES, 0.0)
    assert _codes(result) == [("prepare.flasking-no-flask", Level.STOP)]
    assert result.findings[0].what


def test_a_wish_for_a_flask_without_base_is_said():
    result = _choose([piece("a", 5.0, wish_flask="FL-9")])
    assert _codes(result) == [("prepare.flasking-wish-unknown", Level.STOP)]
    assert "FL-9" in result.findings[0].what


def test_the_base_with_the_larger_funnel_is_taken():
    bases = [base("small", ["F"], 3.0), base("large", ["F"], 6.0), base("other", ["G"], 9.0)]
    assert base_for(flask("F"), bases).id == "large"
    assert base_for(flask("H"), bases) is None


def test_a_day_without_pieces_needs_no_flask():
    result = _choose([])
    assert (result.groups, result.findings, result.proven) == ((), (), True)
