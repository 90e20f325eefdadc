"""The grouping equals brute force, and covers each piece once."""

from hypothesis import given, settings
from hypothesis import strategies as st

from pourwright.core.figure import given as figure
from pourwright.prepare.flasking.choose import choose_flasks
from pourwright.prepare.flasking.fitting import Place, Room, fitter
from pourwright.prepare.flasking.results import PieceToPlace
from pourwright.shape.tree.rules import tree_rules
from pourwright.studio.profile import Flask, SprueBase

RULES = tree_rules(wall_mm=10.0, end_per_diameter_ratio=0.25, piece_mm=3.0)
_USABLE_G = 100.0


def _is(value, unit):
    return figure(value, unit, "test")


def _choose(pieces, diameter=150.0, height=300.0):
    flasks = [
        Flask(f"F{n}", _is(diameter, "mm"), _is(height, "mm"), _is(2, "mm"), _is(1, "g")) for n in range(len(pieces))
    ]
    ids = tuple(one.id for one in flasks)
    base = SprueBase("B", ids, _is(6, "cm3"), _is(20, "mm"), _is(10, "mm"))
    return choose_flasks(pieces, flasks, [base], dict.fromkeys(ids, _USABLE_G), RULES, 0.0)


def _fewest(weights, apart):
    """Return the size of the smallest grouping whose groups are neither too heavy nor to be kept apart."""

    def takes(group, item):
        light = sum(weights[other] for other in group) + weights[item] <= _USABLE_G
        return light and not any((other, item) in apart for other in group)

    return _smallest_grouping(len(weights), takes)


def _smallest_grouping(count, takes):
    """Try every way of putting items into groups, one item after the other."""
    best = count

    def place(item, groups):
        nonlocal best
        if item == count:
            best = min(best, len(groups))
            return
        for group in groups:
            if not takes(group, item):
                continue
            group.append(item)
            place(item + 1, groups)
            group.pop()
        place(item + 1, [*groups, [item]])

    place(0, [])
    return best


@settings(max_examples=60, deadline=None)
@given(
    weights=st.lists(st.integers(5, 95), min_size=1, max_size=10),
    pairs=st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), max_size=4),
)
def test_the_fewest_flasks_equal_brute_force(weights, pairs):
    apart = {(min(pair), max(pair)) for pair in pairs if pair[0] != pair[1] and max(pair) < len(weights)}
    pieces = [
        PieceToPlace(
            f"p{number}",
            float(grams),
            (6.0, 5.0, 3.0),
            1.5,
            apart_from=tuple(f"p{other}" for one, other in apart if one == number),
        )
        for number, grams in enumerate(weights)
    ]
    result = _choose(pieces)
    assert result.proven
    assert len(result.groups) == result.fewest_count == _fewest(weights, apart)


@settings(max_examples=20, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(3, 45), st.tuples(st.floats(8, 30), st.floats(5, 25), st.floats(2, 10)), st.floats(1, 3)),
        min_size=2,
        max_size=6,
    )
)
def test_the_fewest_flasks_equal_brute_force_where_trees_decide(drawn):
    pieces = [PieceToPlace(f"p{number}", *one) for number, one in enumerate(drawn)]
    fit = fitter(pieces, RULES, 0.0)
    place = Place("F0", "B", 63.5, 76.2, 10.0, _USABLE_G)

    def takes(group, item):
        return fit(frozenset({*group, item}), place).room is Room.FULL

    result = _choose(pieces, 63.5, 76.2)
    assert result.proven
    assert len(result.groups) == _smallest_grouping(len(pieces), takes)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(1, 60), st.tuples(*[st.floats(2, 35)] * 3), st.floats(0.5, 4)), min_size=1, max_size=9)
)
def test_every_piece_is_in_one_flask_and_every_flask_holds_its_group(drawn):
    pieces = [PieceToPlace(f"p{number}", *one) for number, one in enumerate(drawn)]
    result = _choose(pieces, 90.0, 130.0)
    assert sorted(name for group in result.groups for name in group.pieces) == sorted(one.id for one in pieces)
    for group in result.groups:
        assert group.metal_g <= _USABLE_G + 1e-6
        assert [one.id for one in group.tree.placed] == list(group.pieces)
        assert group.tree.wall_clearance_mm >= 10 - 1e-6
        assert group.tree.end_clearance_mm >= 0.25 * 90 - 1e-6
    assert result == _choose(pieces, 90.0, 130.0)
