"""What the day file wishes for single pieces reaches the plan."""

from dataclasses import replace

from tests.demo_day import demo_studio_and_day, made_up_report, planned

from pourwright.core.figure import given
from pourwright.core.findings import Level
from pourwright.prepare.plan import plan_day
from pourwright.studio.day_reading import read_day


def _orders(**first):
    _, day = demo_studio_and_day()
    free = [replace(one, wish_flask="") for one in day.pieces]
    return (replace(free[0], **first), *free[1:])


def _span(low, high):
    return given((low + high) / 2, "C", "day.toml", low, high)


def _held(plan):
    return [
        {next(one.order for one in plan.pieces if one.id == name) for name in flask.pieces} for flask in plan.flasks
    ]


def test_orders_kept_apart_are_in_different_flasks():
    _, day = demo_studio_and_day()
    plan = planned(pieces=_orders(apart_from=(day.pieces[1].id,))).plan
    assert not any({0, 1} <= orders for orders in _held(plan))


def test_orders_with_the_same_word_share_a_flask():
    orders = _orders(together="set")
    plan = planned(pieces=(*orders[:-1], replace(orders[-1], together="set"))).plan
    assert any({0, len(orders) - 1} <= one for one in _held(plan))


def _outside(asked, chosen):
    found = planned(
        pieces=_orders(flask_temperature_C=asked), flask_temperature_C=given(chosen, "C", "day.toml")
    ).findings
    return [one for one in found if one.code == "prepare.flask-temperature-outside"]


def test_a_flask_outside_the_span_asked_for_a_piece_stops_the_plan():
    (found,) = _outside(_span(500.0, 560.0), 620.0)
    assert found.level is Level.STOP
    assert all(part in found.what for part in ("620", "500", "560"))


def test_a_flask_inside_the_span_is_left_alone():
    assert _outside(_span(500.0, 560.0), 540.0) == []


def test_a_file_ordered_twice_in_the_same_units_is_measured_once():
    studio, day = demo_studio_and_day()
    first = next(one for one in day.pieces if one.file)
    seen = []

    def measure(order):
        seen.append((order.file, order.units))
        return made_up_report(order)

    plan_day(studio, replace(day, pieces=(*day.pieces, replace(first, id="P99"))), measure)
    assert seen.count((first.file, first.units)) == 1


def test_a_piece_kept_apart_from_an_unknown_one_is_said(tmp_path):
    studio, day = demo_studio_and_day()
    from pathlib import Path

    text = (Path(day.folder) / "day.toml").read_text()
    first = text.index("[[piece]]") + len("[[piece]]")
    path = tmp_path / "day.toml"
    path.write_text(text[:first] + '\napart_from = ["P77"]' + text[first:])
    _, found = read_day(path, studio)
    assert any(one.code == "studio.id-unknown" and "P77" in one.what for one in found)
