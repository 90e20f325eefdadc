"""The keys of the hinged arm: they may stay away, they may be calibrated, and they must agree."""

import re

import pytest
from tests.unit.studio.helpers import demo_text, one_with, studio_of

from pourwright.core.findings import Level
from pourwright.studio.calibration_reading import MEASURABLE

_HINGE_KEYS = re.compile(r"^(?:hinge_radius|outer_mass|outer_radius|folded|lip|mouth) = .*\n", re.M)


def test_a_profile_without_the_hinge_reads_as_before(tmp_path):
    lines = _HINGE_KEYS.findall(demo_text("studio.toml"))
    studio, findings = studio_of(tmp_path, *((one, "") for one in lines), calibration=demo_text("calibration.toml"))
    assert len(lines) == 6
    machine = studio.machines[0]
    assert {one.level for one in findings} == {Level.NOTE}
    assert machine.calibrated
    assert [machine.hinge_radius_mm, machine.outer_kg, machine.lip_deg, machine.friction_dry_Nm] == [None] * 4


def test_the_demo_states_its_hinge_with_ranges(tmp_path):
    machine = studio_of(tmp_path)[0].machines[0]
    assert machine.hinge_radius_mm.value == 100
    assert (machine.outer_kg.low, machine.outer_kg.high) == pytest.approx((0.39, 0.41))
    assert (machine.lip_deg.low, machine.lip_deg.value, machine.lip_deg.high) == pytest.approx((20, 25, 30))


@pytest.mark.parametrize("name", [one for one in MEASURABLE if one.startswith("arm.")])
def test_every_quantity_of_the_arm_can_be_measured_and_accepted(tmp_path, name):
    field = MEASURABLE[name].field
    value = re.findall(r'"([^"]+)"', field.shown)[0]
    row = (
        f'[[quantity]]\nid = "CAL-100"\nquantity = "{name}"\nsubject = "ARM-1"\nvalue = "{value}"\nlow = "{value}"\n'
        f'high = "{value}"\nmethod = "m"\nevidence = "e"\naccepted_by = "Teacher"\naccepted_on = 2026-11-01\n'
    )
    studio, _ = studio_of(tmp_path, calibration=f"format = 1\n\n{row}")
    machine = studio.machines[0]
    assert getattr(machine, field.attr).origin == f"calibration.toml: {name} ARM-1"
    assert not machine.calibrated  # the spring itself was not measured


def test_friction_that_rises_with_the_square_of_the_speed_keeps_its_unit(tmp_path):
    studio, _ = studio_of(tmp_path, ('folded = "90 deg"', 'friction_air = "0.00006 N.m.s2"'))
    assert studio.machines[0].friction_air_Nms2.value == pytest.approx(6e-5)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('hinge_radius = "100 mm"', 'hinge_radius = "180 mm"', ("hinge_radius", "outer_radius")),
        ('hinge_radius = "100 mm"', 'hinge_radius = "240 mm"', ("hinge_radius", "flask_radius")),
    ],
)
def test_a_hinge_beyond_what_hangs_on_it_is_refused(tmp_path, old, new, words):
    studio, findings = studio_of(tmp_path, (old, new))
    assert studio is None
    said = [f"{one.where} {one.what}" for one in findings if one.code == "studio.not-below"]
    assert any(all(word in line for word in words) for line in said)


def test_a_friction_without_its_time_is_refused(tmp_path):
    found = one_with(
        studio_of(tmp_path, ('folded = "90 deg"', 'friction_air = "0.00006 N.m"'))[1], "studio.value-unreadable"
    )
    assert "0.00006 N.m.s2" in found.do_next
