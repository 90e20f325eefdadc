"""The balance service: texts in, mark and forces out."""

import json

import pytest

from pourwright.core.findings import Level
from pourwright.doors.service.balance import as_json, as_text, balance

_TYPED = {
    "flask": "0.780 kg@230 mm",
    "crucible": "0.420 kg@150 mm",
    "charge": "140 g@150 mm..225 mm",
    "weight": "1.200 kg",
}


def _answer(**changes):
    return balance(**(_TYPED | changes))


def test_typed_texts_give_the_marks_and_forces():
    plain = as_json(_answer())
    assert plain["mark_mm"] == pytest.approx(228.25)
    assert plain["start_mark_mm"] == pytest.approx(219.5)
    assert plain["halfway_mark_mm"] == pytest.approx(223.875)
    assert plain["moment_start_kgm"] == pytest.approx(0.2634)
    assert plain["start_force_N"] == pytest.approx(10.36, abs=0.01)
    assert plain["residual_force_N"] == pytest.approx(5.18, abs=0.01)
    assert plain["stated_rpm"] == 300
    assert json.loads(json.dumps(plain)) == plain


def test_arm_and_speed_can_be_given():
    plain = as_json(_answer(arm="24 g.m", rpm="150 rpm"))
    assert plain["mark_mm"] == pytest.approx(248.25)
    assert plain["start_force_N"] == pytest.approx(10.36 / 4, abs=0.01)


def test_other_units_are_read():
    assert as_json(_answer(flask="780 g@23 cm", weight="1200 g"))["mark_mm"] == pytest.approx(228.25)


def test_the_metal_may_start_beside_the_crucibles_middle():
    plain = as_json(_answer(charge="140 g@160 mm..225 mm"))
    assert plain["mark_mm"] == pytest.approx(228.25)
    assert plain["start_mark_mm"] == pytest.approx((0.2634 + 0.140 * 0.010) / 1.2 * 1000, abs=1e-3)


def test_the_text_says_the_mark_and_draws_the_arm():
    lines = as_text(_answer()).splitlines()
    assert "228.3\u00a0mm" in lines[0]
    drawn = next(line for line in lines if "─" in line).strip()
    assert (drawn[0], drawn[-1]) == ("W", "F")
    shaft, crucible = drawn.index("O"), drawn.index("C")
    assert (crucible - shaft) / (len(drawn) - 1 - shaft) == pytest.approx(150 / 230, abs=0.03)
    assert "10.4\u00a0N" in lines[-2]
    assert "5.2\u00a0N" in lines[-1]


def test_all_wrong_texts_are_named_at_once():
    answer = balance("0.780", "0.420 kg@-150 mm", "140 g@150 mm", "1.200 mm", "x", "0 rpm")
    assert [one.where for one in answer.findings] == [
        "--flask",
        "--crucible",
        "--charge",
        "--weight",
        "--arm",
        "--rpm",
    ]
    assert {one.level for one in answer.findings} == {Level.STOP}
    assert all(one.what and one.do_next for one in answer.findings)
    assert as_text(answer) == ""
    assert as_json(answer)["mark_mm"] is None


def test_an_unclear_unit_is_asked_about():
    (finding,) = _answer(weight="1200 gr").findings
    assert finding.level is Level.ASK


def test_an_arm_that_outweighs_the_flask_has_no_mark():
    (finding,) = _answer(arm="-0.5 kg.m").findings
    assert finding.code == "doors.balance-no-mark"
    assert "0.5" in finding.what
