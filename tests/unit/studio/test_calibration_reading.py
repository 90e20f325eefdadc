import pytest
from tests.unit.studio.helpers import demo_text, one_with, spoken, studio_of

from pourwright.core.findings import Level
from pourwright.studio.calibration_reading import MEASURABLE, calibrated_figure


def _with(tmp_path, *changes):
    return studio_of(tmp_path, calibration=demo_text("calibration.toml", *changes))


def test_accepted_values_take_the_place_of_the_profile(tmp_path):
    studio, _ = _with(tmp_path)
    assert studio.kilns[0].offset_C.value == -6
    assert studio.kilns[0].offset_C.origin == "calibration.toml: kiln.offset KILN-1"
    assert (studio.habits.loss_frac.low, studio.habits.loss_frac.high) == pytest.approx((0.004, 0.012))
    machine = studio.machines[0]
    assert (machine.torque_start_Nm.value, machine.torque_rate_Nm_turn.value) == (1.0, 1.6)
    assert machine.friction_frac.origin == "studio.toml: machine ARM-1, friction"
    assert machine.calibrated


def test_the_record_keeps_method_evidence_and_who_accepted(tmp_path):
    studio, _ = _with(tmp_path)
    kept = studio.calibration["kiln.offset:KILN-1"]
    assert (kept.accepted_by, kept.accepted_on, kept.unit) == ("Teacher", "2026-10-17", "C")
    assert "kiln book" in kept.evidence
    assert (kept.interval.low, kept.interval.best, kept.interval.high) == (-10, -6, -2)


def test_what_nobody_accepted_is_not_used(tmp_path):
    studio, findings = _with(tmp_path)
    assert "quench.tau:FL-02" not in studio.calibration
    found = one_with(findings, "studio.calibration-waiting")
    assert found.level is Level.NOTE
    assert found.where == "calibration.toml, line 55: quantity CAL-005, accepted_by"


def test_an_accepted_quench_time_is_available(tmp_path):
    studio, _ = _with(
        tmp_path,
        ('evidence = "invented: quench card of 14 November"',
         'evidence = "card"\naccepted_by = "Teacher"\naccepted_on = 2026-11-20'),
    )  # fmt: skip
    figure = calibrated_figure(studio, "quench.tau", "FL-02")
    assert (figure.low, figure.value, figure.high, figure.unit) == (18, 25, 33, "min")
    assert calibrated_figure(studio, "quench.tau", "FL-03") is None


def test_half_a_spring_is_not_a_calibrated_machine(tmp_path):
    studio, _ = _with(tmp_path, ('quantity = "spring.torque_rate"', 'quantity = "spring.friction"'),
                      ('value = "1.6 N.m/turn"\nlow = "1.5 N.m/turn"\nhigh = "1.7 N.m/turn"',
                       'value = "12 %"\nlow = "10 %"\nhigh = "14 %"'))  # fmt: skip
    assert not studio.machines[0].calibrated
    assert studio.machines[0].friction_frac.high == pytest.approx(0.14)


def test_without_a_file_nothing_is_calibrated(tmp_path):
    studio, _ = studio_of(tmp_path)
    assert studio.calibration == {}
    assert not studio.machines[0].calibrated


def test_bare_numbers_may_have_their_unit_beside(tmp_path):
    studio, _ = _with(tmp_path, ('value = "-6 C"\nlow = "-10 C"\nhigh = "-2 C"',
                                 'value = -6\nlow = -10.0\nhigh = -2\nunit = "C"'))  # fmt: skip
    assert studio.kilns[0].offset_C.low == -10


def test_a_newer_value_replaces_the_older(tmp_path):
    more = (
        demo_text("calibration.toml")
        + """
[[quantity]]
id = "CAL-009"
quantity = "melt.loss"
value = "0.6 %"
low = "0.5 %"
high = "0.7 %"
method = "charge less castings"
evidence = "invented"
accepted_by = "Teacher"
accepted_on = 2026-12-01
replaces = "CAL-004"
"""
    )
    studio, _ = studio_of(tmp_path, calibration=more)
    assert studio.habits.loss_frac.value == pytest.approx(0.006)
    studio, findings = studio_of(tmp_path, calibration=more.replace('replaces = "CAL-004"\n', ""))
    assert studio is None
    assert "replaces" in one_with(findings, "studio.calibration-twice").do_next


_FAULTS = [
    (('quantity = "melt.loss"', 'quantity = "melt.los"'), "studio.id-unknown", ["CAL-004, quantity", "melt.loss"]),
    (('subject = "KILN-1"', 'subject = "KILN-2"'), "studio.id-unknown", ["CAL-001, subject", "KILN-1"]),
    (('subject = "KILN-1"\n', ""), "studio.subject-missing", ["CAL-001, subject", "KILN-1"]),
    (("accepted_on = 2026-10-17\n", ""), "studio.key-missing", ["CAL-001, accepted_on"]),
    (("accepted_on = 2026-10-17", 'accepted_on = "2026-10-17"'), "studio.value-kind", ["CAL-001, accepted_on", "date"]),
    (('value = "-6 C"', "value = -6"), "studio.value-unreadable", ["CAL-001, value.best", "no unit"]),
    (('value = "-6 C"', 'value = "-16 C"'), "studio.value-order", ["CAL-001, value"]),
    (('low = "0.4 %"\n', ""), "studio.key-missing", ["CAL-004, low"]),
    (("format = 1", "format = 7"), "studio.format-newer", ["format = 7"]),
    (('method = "charge less castings, nine pours"', "method = 3"), "studio.value-kind", ["CAL-004, method"]),
]


@pytest.mark.parametrize(("change", "code", "words"), _FAULTS)
def test_each_calibration_fault_says_file_key_and_mend(tmp_path, change, code, words):
    studio, findings = _with(tmp_path, change)
    assert studio is None
    found = one_with(findings, code)
    assert found.where.startswith("calibration.toml")
    for word in words:
        assert word in spoken(found), spoken(found)


def test_a_replaced_row_must_exist(tmp_path):
    change = ('quantity = "melt.loss"', 'quantity = "melt.loss"\nreplaces = "CAL-000"')
    studio, findings = _with(tmp_path, change)
    assert studio is None
    assert "CAL-000" in one_with(findings, "studio.id-unknown").what


def test_faults_of_both_files_come_together(tmp_path):
    studio, findings = studio_of(
        tmp_path, ("flasks = 6", "flasks = 0"), calibration=demo_text("calibration.toml", ('low = "0.4 %"\n', ""))
    )
    assert studio is None
    assert {one.where.split(",")[0] for one in findings if one.level is Level.STOP} == {
        "studio.toml", "calibration.toml"}  # fmt: skip


@pytest.mark.parametrize("name", MEASURABLE)
def test_every_measurable_quantity_can_be_accepted(tmp_path, name):
    one = MEASURABLE[name]
    subject = {"kiln": "KILN-1", "machine": "ARM-1", "flask": "FL-01"}.get(one.subjects, "")
    value = one.field.shown.split("best = ")[-1].split(",")[0].strip('"')
    rows = ['format = 1\n[[quantity]]', f'quantity = "{name}"', f'value = "{value}"', f'low = "{value}"',
            f'high = "{value}"', 'method = "m"', 'evidence = "e"', 'accepted_by = "Teacher"',
            "accepted_on = 2026-11-20", f'subject = "{subject}"']  # fmt: skip
    studio, findings = studio_of(tmp_path, calibration="\n".join(rows))
    assert studio is not None, [spoken(found) for found in findings]
    assert calibrated_figure(studio, name, subject).unit == one.field.unit
