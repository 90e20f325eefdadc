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


def test_the_demo_day_plans_into_two_or_three_flasks_without_a_stop(tmp_path):
    make_demo(tmp_path / "demo")
    answer = plan_day_file(tmp_path / "demo/days/2026-12-05/day.toml", None, tmp_path / "out", "a4")
    assert not stops(answer.findings), [one.what for one in answer.findings]
    assert answer.plan is not None
    assert 2 <= len(answer.plan.flasks) <= 3
    machine = answer.plan.studio.machines[0]
    for flask in answer.plan.flasks:
        assert flask.need.floor_g.high < flask.need.ceiling_g.low
        mark_mm = flask.throw.balance.mark_mm
        assert machine.weight_low_mm.value < mark_mm.low < mark_mm.high < machine.weight_high_mm.value


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
    for name in ("README.txt", "studio.toml", "calibration.toml", "days/2026-12-05/day.toml"):
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
