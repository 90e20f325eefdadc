"""The plan of a day put together."""

from dataclasses import replace
from datetime import timedelta

import pytest
from tests.demo_day import demo_studio_and_day, made_up_report, planned

from pourwright.core.figure import given
from pourwright.core.findings import Level, stops
from pourwright.core.ids import issue_numbers
from pourwright.prepare.plan import plan_day


@pytest.fixture(scope="module")
def plan():
    outcome = planned()
    assert outcome.plan is not None
    return outcome.plan


def test_the_demo_day_is_planned_without_a_stop():
    assert not stops(planned().findings)


def test_each_piece_is_in_exactly_one_flask(plan):
    placed = [piece for flask in plan.flasks for piece in flask.pieces]
    assert sorted(placed) == sorted(piece.id for piece in plan.pieces)


def test_copies_become_pieces_of_their_own(plan):
    ordered = sum(one.copies_count for one in plan.day.pieces)
    assert len(plan.pieces) == ordered


def test_every_charge_is_between_floor_and_ceiling_and_crucible(plan):
    for flask in plan.flasks:
        need = flask.need
        assert need.floor_g.value <= need.charge_g.value <= min(need.ceiling_g.value, need.crucible_g.value)


def test_what_is_weighed_is_the_charge(plan):
    for flask in plan.flasks:
        weighed = sum(one.mass_g for one in flask.alloyed.weigh_to_aim)
        assert weighed == pytest.approx(flask.need.charge_g.value, abs=0.5 * 0.01 + 1e-9)


def test_stock_left_is_stock_less_what_the_flasks_take(plan):
    for row in plan.stock:
        taken = sum(one.mass_g for flask in plan.flasks for one in flask.alloyed.weigh_to_aim if one.lot == row.lot)
        assert row.take_g.value == pytest.approx(taken)
        assert row.left_g.value == pytest.approx(row.have_g.value - taken)
        assert row.left_g.value >= 0


def test_the_kiln_programme_ends_at_the_first_pour(plan):
    assert plan.burnout.steps[-1].end == plan.day.first_pour
    assert plan.burnout.steps[0].start == plan.burnout.light_at
    assert plan.burnout.light_at - plan.burnout.invest_by >= timedelta(hours=1)


def test_pours_follow_each_other_by_the_studios_minutes(plan):
    each = timedelta(minutes=plan.studio.habits.minutes_per_pour_min.value)
    for row, flask in enumerate(plan.flasks):
        assert flask.pour_at == plan.day.first_pour + row * each


def test_flask_numbers_are_those_that_cannot_be_mixed_up(plan):
    assert [one.number for one in plan.flasks] == list(issue_numbers(len(plan.flasks)))
    assert [one.id for one in plan.flasks] == [f"{plan.day.date}-F{one.number}" for one in plan.flasks]


def test_scrap_in_the_drawer_is_used_up_to_its_share(plan):
    most = plan.studio.habits.scrap_most_frac.value
    for flask in plan.flasks:
        assert most - 0.01 <= flask.alloyed.scrap_frac <= most + 1e-9
    assert {"L-0001", "L-0002", "L-0003"} == {row.lot for row in plan.stock}


def test_every_worst_case_keeps_the_standard(plan):
    for flask in plan.flasks:
        assert flask.alloyed.aim_low_permille.value >= 925.0 - 1e-9


def test_the_timeline_opens_extraction_for_mixing_smoke_and_quench(plan):
    open_for = {one.what for one in plan.timeline if one.extraction}
    assert {"prepare.timeline-mix", "prepare.timeline-light", "prepare.timeline-quench"} <= open_for
    assert [one.start for one in plan.timeline] == sorted(one.start for one in plan.timeline)


def test_nobody_works_alone():
    _, day = demo_studio_and_day()
    found = planned(people=day.people[:1]).findings
    assert any(one.code == "prepare.alone" and one.level is Level.STOP for one in found)


def test_alone_only_where_somebody_signed_for_it():
    studio, day = demo_studio_and_day()
    signed = replace(studio, habits=replace(studio.habits, alone_allowed_by="Teacher"))
    outcome = plan_day(signed, replace(day, people=day.people[:1]), made_up_report)
    assert not any(one.code == "prepare.alone" for one in outcome.findings)


def test_an_unknown_alloy_is_said_with_its_neighbours():
    outcome = planned(alloy="sterling-952")
    assert outcome.plan is None
    assert "sterling-925" in outcome.findings[0].what


def test_a_weighed_piece_of_unknown_size_is_asked_about():
    _, day = demo_studio_and_day()
    pieces = tuple(replace(one, longest_mm=None) for one in day.pieces)
    found = planned(pieces=pieces).findings
    assert any(one.code == "prepare.piece-size-unknown" and one.level is Level.ASK for one in found)


def test_a_piece_too_heavy_for_any_flask_stops_the_plan_with_its_name():
    outcome = planned(volume_mm3=16000.0)
    assert stops(outcome.findings)
    assert any("P0" in one.where or "P0" in one.what for one in outcome.findings if one.level is Level.STOP)


def test_the_same_day_gives_the_same_plan():
    from pourwright.prepare.plan_file import plan_as_json

    assert plan_as_json(planned().plan) == plan_as_json(planned().plan)


def test_an_empty_day_is_said():
    outcome = planned(pieces=())
    assert [one.code for one in outcome.findings] == ["prepare.no-pieces"]


def test_a_leaf_in_the_plan_brings_its_ash_step_with_extraction_before_its_pour():
    _, day = demo_studio_and_day()
    leaf = replace(day.pieces[4], material="organic", weighed_g=None, displaced_cm3=given(2.1, "cm3", "test"))
    plan = planned(pieces=(*day.pieces[:4], leaf, *day.pieces[5:])).plan
    (ash,) = [one for one in plan.timeline if one.what == "prepare.timeline-ash"]
    flask = next(one for one in plan.flasks if one.id == ash.params["flask"])
    assert ash.extraction
    assert "dust.noblow" in ash.prompts
    assert flask.pour_at - ash.end >= timedelta(minutes=15)
