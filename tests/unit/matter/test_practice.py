"""Rules, programmes and the scaling of holds."""

import pytest

from pourwright.core.errors import DataError
from pourwright.matter.practice import hold_scaling, programme, programme_ids, rule, rule_ids


def test_a_rule_with_a_span():
    water = rule("inv.wp.range")
    assert (water.value, water.low, water.high, water.unit) == (None, 38, 42, "g water / 100 g powder")
    assert (water.strictness, water.kind) == ("check", "memory")


def test_a_rule_with_one_figure():
    most = rule("burn.hardmax")
    assert (most.value, most.low, most.high, most.unit, most.strictness) == (750, None, None, "C", "hard")


def test_a_rule_without_figures():
    down = rule("gate.down")
    assert (down.value, down.low, down.high, down.unit) == (None, None, None, "")


def test_every_rule_can_be_read_and_knows_its_strictness():
    assert {rule(one).strictness for one in rule_ids()} == {"hard", "check", "advice", "fact"}


def test_programmes_never_pass_the_limit_of_gypsum():
    limit = rule("burn.hardmax").value
    for one in map(programme, programme_ids()):
        assert all(20 < step.hold_C <= limit and step.hold_h > 0 for step in one.steps)


def test_the_standard_wax_programme():
    steps = [(step.hold_C, step.hold_h) for step in programme("prog.wax.standard").steps]
    assert steps == [(150, 1.0), (350, 1.5), (730, 2.0)]


def test_scaling_has_no_upper_end():
    scaling = hold_scaling()
    assert (scaling.reference_diameter_mm, scaling.exponent_ratio, scaling.floor_ratio) == (64, 2.0, 0.6)
    assert scaling.kind == "common-practice"


@pytest.mark.parametrize(
    ("ask", "wrong", "near"), [(rule, "burn.mx", "burn.max"), (programme, "prog.wax", "prog.wax.")]
)
def test_a_wrong_name_names_the_nearest(ask, wrong, near):
    with pytest.raises(DataError, match=f"did you mean .*{near}"):
        ask(wrong)
