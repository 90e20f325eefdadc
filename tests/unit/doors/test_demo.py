"""The demo studio: written whole or not at all, the same each time, sound patterns, and a day that can be cast."""

import math

import numpy as np
import pytest

from pourwright.core.errors import StudioError
from pourwright.core.findings import stops
from pourwright.doors.service.demo import make_demo
from pourwright.doors.service.demo_patterns import PATTERNS
from pourwright.doors.service.plan import plan_day_file
from pourwright.studio.reading import read_day, read_studio


def _volume_mm3(mesh):
    a, b, c = (mesh.vertices_mm[mesh.faces[:, corner]] for corner in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6


def test_the_demo_reads_without_a_stop(tmp_path):
    written = make_demo(tmp_path / "demo")
    assert all(one.is_file() for one in written)
    studio, notes = read_studio(tmp_path / "demo")
    assert {one.code for one in notes} == {"studio.lot-solder", "studio.calibration-waiting"}
    day, findings = read_day(tmp_path / "demo/days/2026-12-05/day.toml", studio)
    assert findings == ()
    assert len({one.owner for one in day.pieces}) == 3


@pytest.fixture(scope="module")
def planned_demo(tmp_path_factory):
    """Plan the earlier day of the demo and then the day itself."""
    folder = tmp_path_factory.mktemp("demo") / "studio"
    make_demo(folder)
    earlier = plan_day_file(folder / "days/2026-11-21/day.toml", None, None, "a4")
    return earlier, plan_day_file(folder / "days/2026-12-05/day.toml", None, None, "a4")


def test_neither_day_of_the_demo_is_stopped(planned_demo):
    for answer in planned_demo:
        assert not stops(answer.findings), [one.what for one in answer.findings]
        assert answer.plan.flasks


def test_charges_and_marks_of_the_demo_have_room_on_both_sides(planned_demo):
    for answer in planned_demo:
        machine = answer.plan.studio.machines[0]
        for flask in answer.plan.flasks:
            assert flask.need.floor_g.high < flask.need.ceiling_g.low
            mark_mm = flask.throw.balance.mark_mm
            assert machine.weight_low_mm.value < mark_mm.low < mark_mm.high < machine.weight_high_mm.value


def test_a_new_user_sees_what_the_files_can_say(planned_demo):
    plan = planned_demo[1].plan
    codes = {one.code.removeprefix("prepare.") for one in plan.findings}
    assert {"pours-falling", "class-fits", "shrink-proposed"} <= codes
    assert {one.id for one in plan.supplies.uses} == {"GAS-1", "FLUX-1"}
    assert plan.supplies.energy_kWh.value > 0
    assert {one.what for one in plan.supplies.checks} >= {"scale", "thermocouple", "pin-and-spring", "hoses", "eyewash"}
    steps = [one.what for one in plan.aftercare.before]
    assert {"prepare.step-wash", "prepare.step-cure", "prepare.step-sprue"} <= set(steps)
    assert plan.pieces[0].pattern is not None and plan.day.pieces[0].weighed_g is not None


def test_pieces_of_the_demo_with_windows_apart_are_poured_at_falling_temperatures(planned_demo):
    flasks = planned_demo[1].plan.flasks
    assert len(flasks) == 2
    assert flasks[0].flask_temperature_C.value > flasks[1].flask_temperature_C.value
    assert flasks[0].pour_at < flasks[1].pour_at


def test_the_later_day_of_the_demo_says_what_is_not_as_it_was(planned_demo):
    plan = planned_demo[1].plan
    assert plan.repeats == "2026-11-21"
    assert {"prepare.differs-room", "prepare.differs-flask-temperature"} <= {one.what for one in plan.differences}


def test_a_folder_with_something_in_it_is_left_alone(tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(StudioError, match=r"not empty.*new folder"):
        make_demo(tmp_path)
    assert [one.name for one in tmp_path.iterdir()] == ["mine.txt"]


def test_a_file_in_the_way_is_left_alone(tmp_path):
    (tmp_path / "demo").write_text("mine")
    with pytest.raises(StudioError, match="is a file"):
        make_demo(tmp_path / "demo")
    assert (tmp_path / "demo").read_text() == "mine"


def test_an_empty_folder_is_used(tmp_path):
    assert make_demo(tmp_path)


def test_the_demo_is_the_same_each_time(tmp_path):
    first, second = make_demo(tmp_path / "one"), make_demo(tmp_path / "two")
    assert [one.read_bytes() for one in first] == [one.read_bytes() for one in second]


def test_the_demo_says_that_it_is_invented(tmp_path):
    make_demo(tmp_path / "demo")
    for name in (
        "README.txt",
        "studio.toml",
        "calibration.toml",
        "days/2026-12-05/day.toml",
        "days/2026-11-21/day.toml",
    ):
        assert "our own invention" in (tmp_path / "demo" / name).read_text("utf-8")


@pytest.mark.parametrize("name", PATTERNS)
def test_patterns_are_closed_and_of_wearable_size(name):
    mesh = PATTERNS[name]()
    assert len(mesh.faces) <= 25_000
    edges = np.sort(np.concatenate([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]]), axis=1)
    _, shared = np.unique(edges, axis=0, return_counts=True)
    assert set(shared.tolist()) == {2}
    assert 200 < _volume_mm3(mesh) < 900
    size_mm = np.ptp(mesh.vertices_mm, axis=0)
    assert 3 < size_mm.min() < size_mm.max() < 40


def test_rings_fit_a_finger():
    for name, across in (("signet-ring", 1), ("twisted-band", 1)):
        mesh = PATTERNS[name]()
        from_axis_mm = np.delete(mesh.vertices_mm, across, axis=1)
        assert 15.5 < 2 * np.linalg.norm(from_axis_mm, axis=1).min() < 19.5


def test_the_demo_funnels_leave_room_between_floor_and_ceiling(tmp_path):
    """Any tree of 2 to 6 cm3: solid metal plus button plus loss stays under what fits as liquid.

    The densities are round model inputs, 10.36 solid and 9.0 g/cm3 liquid; the plan uses the tables.
    """
    make_demo(tmp_path / "demo")
    studio, _ = read_studio(tmp_path / "demo")
    for base in studio.bases:
        button_cm3 = math.pi / 4 * base.button_diameter_mm.value**2 * base.button_height_mm.value / 1000
        assert base.funnel_cm3.value > 1.5 * button_cm3
        for tree_cm3 in (2.0, 6.0):
            floor_g = (tree_cm3 + button_cm3) * 10.36 / (1 - studio.habits.loss_frac.high)
            assert floor_g < 9.0 * (tree_cm3 + base.funnel_cm3.value)


def test_the_demo_arm_balances_every_flask_within_its_range(tmp_path):
    """Filled state with 60 to 120 g of metal; mould estimated at 1.25 g/cm3 of flask volume."""
    make_demo(tmp_path / "demo")
    studio, _ = read_studio(tmp_path / "demo")
    machine = studio.machines[0]
    for flask in studio.flasks:
        mould_g = math.pi / 4 * flask.diameter_mm.value**2 * flask.height_mm.value / 1000 * 1.25
        for metal_kg in (0.06, 0.12):
            load_kg = (flask.steel_g.value + mould_g) / 1000 + machine.cradle_kg.value
            moment_kgm = (
                load_kg * machine.flask_radius_mm.value
                + machine.crucible_kg.value * machine.crucible_radius_mm.value
                + metal_kg * machine.metal_in_flask_radius_mm.value
            ) / 1000 + machine.bare_arm_moment_kgm.value
            mark_mm = moment_kgm / machine.weight_kg.value * 1000
            assert machine.weight_low_mm.value < mark_mm < machine.weight_high_mm.value
