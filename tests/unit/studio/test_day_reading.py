"""Every fault of a day file is a finding that names file, key and mend."""

from datetime import UTC, datetime

import pytest
from tests.unit.studio.helpers import day_of, one_with, spoken, studio_of

from pourwright.core.findings import Level
from pourwright.studio.reading import read_day

_CHANGES = [
    (('alloy = "sterling-925"', 'alloy = "sterling-952"'), "studio.id-unknown", ["alloy", "sterling-925"]),
    (('alloy = "sterling-925"', 'alloy = "gold-14k"'), "studio.crucible-metal", ["crucible", "silver", "gold"]),
    (('alloy = "sterling-925"', 'alloy = "yellow-brass-c85700"'), "studio.alloy-refused", ["alloy", "lead"]),
    (('scale = "SCALE-FINE"\n', ""), "studio.choose-one", ["scale", "SCALE-FINE, SCALE-BENCH"]),
    (('scale = "SCALE-FINE"', 'scale = "SCALE-FIN"'), "studio.id-unknown", ["scale", "SCALE-FINE"]),
    (('alloy = "sterling-925"', 'alloy = "sterling-925"\nkiln = "KILN-2"'), "studio.id-unknown", ["kiln", "KILN-1"]),
    (('"L-0003"]', '"L-0033"]'), "studio.id-unknown", ["use_lots", "L-0003"]),
    (('"L-0003"]', '"L-0005"]'), "studio.lot-owned", ["use_lots", "Student A", "released_by"]),
    (('first_pour = "10:00"', 'first_pour = "ten"'), "studio.time-form", ["first_pour", '"10:00"']),
    (('first_pour = "10:00"', 'first_pour = "25:00"'), "studio.time-form", ["first_pour"]),
    (('first_pour = "10:00"', "first_pour = 10"), "studio.value-kind", ["first_pour", "clock"]),
    (("date = 2026-12-05", 'date = "5 December"'), "studio.value-kind", ["date", "date = 2026-12-05"]),
    (("date = 2026-12-05", "date = 2026-12-05T10:00:00"), "studio.value-kind", ["date"]),
    (('scale = "SCALE-FINE"', 'scale = "SCALE-FINE"\nflask_temperature = "900"'), "studio.value-unclear",
     ["flask_temperature", "Celsius or Fahrenheit", '"540 C"']),
    (('scale = "SCALE-FINE"', 'scale = "SCALE-FINE"\ninvested_at = 2026-12-05T11:00:00'), "studio.invested-late",
     ["invested_at", "after the first pour"]),
    (('scale = "SCALE-FINE"', 'scale = "SCALE-FINE"\ninvested_at = "yesterday"'), "studio.time-form", ["invested_at"]),
    (('scale = "SCALE-FINE"', 'scale = "SCALE-FINE"\nmachin = "ARM-1"'), "studio.key-unknown", ["machin", "machine"]),
    (("format = 1", "format = 2"), "studio.format-newer", ["format = 2"]),
    (('role = "pourer"', 'role = "thrower"'), "studio.choice-unknown", ["person Student C, role", "pourer"]),
    (('role = "pourer"', 'role = "helper"'), "studio.nobody-pours", ["person", "pourer"]),
    (('id = "P02"', 'id = "P01"'), "studio.id-double", ["piece P01"]),
    (('material = "castable-resin"', 'material = "castable-rasin"'), "studio.material-unknown",
     ["piece P01, material", "castable-resin", "approved_by", "smoke"]),
    (('[[piece.part]]\nmaterial = "demo-blue-wax"', '[[piece.part]]\nmaterial = "soap"'), "studio.material-unknown",
     ["part no. 1, material", "soap"]),
    (("signet-ring.stl", "signet-rin.stl"), "studio.pattern-missing", ["piece P01, file", "patterns/signet-ring.stl"]),
    (("patterns/signet-ring.stl", "../signet-ring.stl"), "studio.pattern-outside", ["piece P01, file"]),
    (("patterns/signet-ring.stl", "C:/signet-ring.stl"), "studio.pattern-outside", ["piece P01, file"]),
    (('units = "mm"', 'units = "feet"'), "studio.choice-unknown", ["piece P01, units", "inch"]),
    (("copies = 2", "copies = 0"), "studio.value-low", ["piece P04, copies", "below 1"]),
    (('weighed = "1.62 g"\n', ""), "studio.piece-unmeasured", ["piece P05, weighed", "[[piece.part]]"]),
    (('weighed = "1.62 g"', 'weighed = "1.62 g"\nstone = "9 ct"'), "studio.stone-over-whole",
     ["piece P05, stone", "1.80"]),
    (('longest = "22 mm"\n', ""), "studio.size-missing", ["piece P05, longest", "callipers"]),
    (('22 mm"\nwish_flask = "FL-02"', '22 mm"\nwish_flask = "FL-9"'), "studio.id-unknown",
     ["piece P05, wish_flask", "FL-0"]),
    (('thickest = "3.5 mm"', 'thickest = "3.5 mm"\nweighed = "1.25 g"'), "studio.weighed-twice",
     ["piece P06, weighed"]),
    (('mass = "0.74 g"', 'mass = "0 g"'), "studio.value-not-above", ["part no. 1, mass"]),
]  # fmt: skip


@pytest.mark.parametrize(("change", "code", "words"), _CHANGES, ids=lambda part: part if isinstance(part, str) else "")
def test_each_fault_of_a_day_says_file_key_and_mend(tmp_path, change, code, words):
    day, findings = day_of(tmp_path, change)
    assert day is None
    found = one_with(findings, code)
    assert found.level in (Level.STOP, Level.ASK)
    assert found.where.startswith("day.toml")
    for word in words:
        assert word in spoken(found), spoken(found)


def test_several_faults_of_a_day_come_at_once(tmp_path):
    day, findings = day_of(
        tmp_path,
        ('alloy = "sterling-925"', 'alloy = "silver"'),
        ('first_pour = "10:00"', 'first_pour = "noon"'),
        ("copies = 2", "copies = 0"),
        ('longest = "22 mm"\n', ""),
        ('role = "pourer"', 'role = "thrower"'),
    )
    assert day is None
    assert {one.code for one in findings} == {
        "studio.id-unknown", "studio.time-form", "studio.value-low", "studio.size-missing", "studio.choice-unknown",
    }  # fmt: skip


def test_the_demo_day_reads_without_a_finding(tmp_path):
    day, findings = day_of(tmp_path)
    assert findings == ()
    assert day.first_pour == datetime(2026, 12, 5, 9, 0, tzinfo=UTC)
    assert str(day.first_pour.tzinfo) == "Europe/Vienna"
    assert (day.kiln, day.machine, day.crucible, day.powder) == ("KILN-1", "ARM-1", "CR-SILVER", "POWDER-A")
    assert [one.copies_count for one in day.pieces] == [1, 1, 1, 2, 1, 1]
    assert day.pieces[5].parts[1].mass_g.origin == "day.toml: part no. 2, mass"
    assert len(day.sha256) == 64


def test_lots_left_out_means_what_is_certain_free_of_solder_and_nobodys(tmp_path):
    day, _ = day_of(tmp_path, ('use_lots = ["L-0001", "L-0002", "L-0003"]\n', ""))
    assert day.use_lots == ("L-0001", "L-0002", "L-0003")


def test_a_students_lot_serves_everyone_once_it_is_released(tmp_path):
    signed = ('owner = "Student A"', 'owner = "Student A"\nreleased_by = "Student A"')
    day, findings = day_of(tmp_path, ('"L-0003"]', '"L-0005"]'), studio_changes=(signed,))
    assert day is not None, [one.what for one in findings]
    assert "L-0005" in day.use_lots


def test_an_unapproved_material_of_the_studio_is_not_planned(tmp_path):
    day, findings = day_of(tmp_path, studio_changes=(('approved_by = "Teacher"\n', ""),))
    assert day is None
    codes = [one for one in findings if one.code == "studio.material-unapproved"]
    assert [one.where.split(": ")[1] for one in codes] == ["piece P05, material", "part no. 1, material"]


def test_nobody_pours_alone_unless_someone_signed(tmp_path):
    alone = (
        ('[[person]]\nname = "Teacher"\nrole = "caller"\n\n', ""),
        ('[[person]]\nname = "Student A"\nrole = "helper"\n\n', ""),
    )
    day, findings = day_of(tmp_path, *alone)
    assert day is None
    assert "alone_allowed_by" in one_with(findings, "studio.nobody-alone").do_next
    (tmp_path / "signed").mkdir()
    signed = ("flasks_per_vacuum = 3", 'flasks_per_vacuum = 3\nalone_allowed_by = "Teacher"')
    day, _ = day_of(tmp_path / "signed", *alone, studio_changes=(signed,))
    assert day is not None


def test_a_folder_of_another_date_is_looked_at(tmp_path):
    day, findings = day_of(tmp_path, ("date = 2026-12-05", "date = 2026-12-06"))
    assert day is not None
    assert one_with(findings, "studio.date-folder").level is Level.LOOK


def test_a_skipped_hour_is_refused(tmp_path):
    day, findings = day_of(tmp_path, ("date = 2026-12-05", "date = 2026-03-29"), ('"10:00"', '"02:30"'))
    assert day is None
    assert "clocks go forward" in one_with(findings, "studio.time-skipped").what


def test_a_repeated_hour_asks_which(tmp_path):
    day, findings = day_of(tmp_path, ("date = 2026-12-05", "date = 2026-10-25"), ('"10:00"', '"02:30"'))
    found = one_with(findings, "studio.time-double")
    assert day is None
    assert found.level is Level.ASK
    assert '"02:30+02:00"' in found.do_next
    assert '"02:30+01:00"' in found.do_next


@pytest.mark.parametrize(("written", "utc_hour"), [("02:30+02:00", 0), ("02:30+01:00", 1)])
def test_a_repeated_hour_with_its_offset_is_clear(tmp_path, written, utc_hour):
    day, _ = day_of(tmp_path, ("date = 2026-12-05", "date = 2026-10-25"), ('"10:00"', f'"{written}"'))
    assert day.first_pour.astimezone(UTC) == datetime(2026, 10, 25, utc_hour, 30, tzinfo=UTC)


def test_an_offset_that_the_clocks_do_not_have_is_refused(tmp_path):
    day, findings = day_of(tmp_path, ('"10:00"', '"10:00+05:00"'))
    assert day is None
    assert '"06:00+01:00"' in one_with(findings, "studio.time-offset").do_next


@pytest.mark.parametrize("written", ['"9:30"', "09:30:00", '"09:30"'])
def test_times_may_be_written_in_several_ways(tmp_path, written):
    day, _ = day_of(tmp_path, ('"10:00"', written))
    assert f"{day.first_pour:%H:%M}" == "09:30"


def test_a_missing_day_file_is_one_finding(tmp_path):
    studio, _ = studio_of(tmp_path)
    day, findings = read_day(tmp_path / "day.toml", studio)
    assert day is None
    assert [one.code for one in findings] == ["studio.file-missing"]
    assert [one.code for one in read_day(tmp_path, studio)[1]] == ["studio.file-is-folder"]
