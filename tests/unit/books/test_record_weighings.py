"""The five weighings find a wrong flask, what is left in a mould, and a short pour, before the mould is broken."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.records_help import LOAD, START

from pourwright.books.records.checksum import STAGES, WeighedLoad, expected_g, judge, metal_g, tree_g
from pourwright.books.records.entering import take_back
from pourwright.books.records.plans import LoadSetup, loss_figure
from pourwright.books.records.weighings import weigh, weighings
from pourwright.core.errors import LedgerError
from pourwright.core.figure import given
from pourwright.core.findings import Level

SCALE_G = 0.5


def known(value, unit="g", low=None, high=None):
    return given(value, unit, "test", low, high)


def setup(number=1, dry_g=490.9, powder_g=300.0, charge_g=60.0, cavity_g=30.0):
    """Return a load of our own invention: 196 g of steel, 8 g of pattern on its sprue."""
    return LoadSetup(
        f"2026-12-05-F{number}",
        number,
        known(196.0),
        known(8.0, low=7.8, high=8.2),
        known(powder_g, low=0.98 * powder_g, high=1.02 * powder_g),
        known(0.40, "ratio", 0.38, 0.42),
        known(0.30, "frac", 0.25, 0.40),
        known(dry_g, low=dry_g - 8, high=dry_g + 8),
        known(charge_g),
        known(cavity_g, low=29.0, high=31.0),
        loss_figure(),
    )


def read(number=1, made=None, **grams):
    """Return a load with readings, each half a gram uncertain."""
    stages = {name.replace("_", "-"): known(value, low=value - SCALE_G, high=value + SCALE_G)
              for name, value in grams.items()}  # fmt: skip
    return WeighedLoad(made or setup(number), stages)


def codes(found):
    return [one.code for one in found]


def test_flask_4_of_1012_g_that_reads_1130_g_is_asked_whether_it_is_flask_6():
    four, six, nine = (setup(number, dry_g) for number, dry_g in ((4, 1012.0), (6, 1130.0), (9, 870.0)))
    (found,) = judge(read(made=four, burned_out=1130.0), "burned-out", [WeighedLoad(one) for one in (four, six, nine)])
    assert found.code == "books.weighing-other-flask"
    assert found.level is Level.ASK
    assert "that is flask 6?" in found.what
    plain = found.what.replace("\u00a0", " ").replace("\u2009", "")
    assert "should weigh 1012.0 g" in plain
    assert "1130.0 g was read" in plain
    assert judge(read(made=four, burned_out=1013.0), "burned-out", [WeighedLoad(six)]) == ()


def test_a_weight_that_is_no_other_flasks_is_not_blamed_on_one():
    four, six = setup(4, 1012.0), setup(6, 1130.0)
    assert codes(judge(read(made=four, burned_out=1060.0), "burned-out", [WeighedLoad(six)])) == [
        "books.weighing-dry-wet"
    ]


def test_burned_out_is_expected_from_what_was_really_in_the_flask():
    # 196 g steel + 8 g pattern + 420 g slurry at 40:100; 300 g of powder lose 0.30 x 0.0621 of bound water.
    dry = expected_g(read(base=310.0, pattern=318.0, invested=624.0))["burned-out"]
    assert dry.value == pytest.approx(196 + 300 * (1 - 0.30 * 0.0621), abs=0.02)
    assert dry.low < dry.value < dry.high
    assert set(dry.inputs) == {"invested_g", "steel_g", "tree_g", "water_ratio", "hemihydrate_frac"}
    assert expected_g(read())["burned-out"].value == 490.9, "as planned while nothing was weighed"


@pytest.mark.parametrize(
    ("burned_out", "code", "level"),
    [
        (490.4, None, None),
        (503.5, "books.weighing-dry-heavy", Level.STOP),
        (530.0, "books.weighing-dry-wet", Level.STOP),
        (470.0, "books.weighing-dry-light", Level.LOOK),
    ],
)
def test_residue_water_and_a_broken_mould_are_told_apart(burned_out, code, level):
    one = read(base=310.0, pattern=318.0, invested=624.0, burned_out=burned_out)
    found = judge(one, "burned-out")
    assert codes(found) == ([code] if code else [])
    assert [one.level for one in found] == ([level] if level else [])


@pytest.mark.parametrize(
    ("cast", "code"),
    [
        (550.6, []),
        (520.0, ["books.weighing-short-perhaps", "books.weighing-metal-missing"]),
        (510.0, ["books.weighing-short", "books.weighing-metal-missing"]),
        (535.0, ["books.weighing-metal-missing"]),
        (556.0, ["books.weighing-cast-heavy"]),
        (480.0, ["books.weighing-no-metal"]),
    ],
)
def test_a_short_pour_is_found_by_weight_before_the_mould_is_broken(cast, code):
    one = read(burned_out=491.0, cast=cast)
    assert metal_g(one).value == pytest.approx(cast - 491.0)
    assert codes(judge(one, "cast")) == code


def test_where_the_scale_cannot_tell_nothing_is_claimed():
    cavity = judge(read(burned_out=491.0, cast=520.9), "cast")
    assert "cannot be told" in cavity[0].what
    coarse = WeighedLoad(setup(), {"burned-out": known(503.5, low=493.5, high=513.5)})
    assert judge(coarse, "burned-out") == ()


@pytest.mark.parametrize(
    ("stage", "grams", "code"),
    [
        ("pattern", {"base": 310.0, "pattern": 316.0}, "books.weighing-pattern-light"),
        ("pattern", {"base": 310.0, "pattern": 321.0}, "books.weighing-pattern-heavy"),
        ("invested", {"invested": 590.0}, "books.weighing-invested-light"),
        ("invested", {"invested": 660.0}, "books.weighing-invested-heavy"),
        ("invested", {"base": 310.0, "invested": 934.0}, "books.weighing-base-left-on"),
        ("cast", {"cast": 500.0}, "books.weighing-cast-light"),
    ],
)
def test_each_weighing_has_its_own_likely_causes(stage, grams, code):
    (found,) = judge(read(**grams), stage)
    assert found.code == code
    assert found.why or found.do_next


def test_as_expected_says_nothing_at_any_stage():
    whole = {"base": 310.0, "pattern": 318.0, "invested": 624.0, "burned_out": 490.4, "cast": 550.2}
    assert [judge(read(**whole), stage) for stage in STAGES] == [()] * 5
    assert tree_g(read(**whole)).value == 8.0
    assert list(expected_g(read(**whole))) == ["pattern", "invested", "burned-out", "cast"]


def test_the_last_standing_reading_counts_and_a_wrong_one_stays_to_be_read(books):
    with books.writing() as connection:
        weigh(connection, LOAD, "invested", 624_000, 500, "T", START)
        wrong = weigh(connection, LOAD, "invested", 934_000, 500, "T", START + timedelta(minutes=1))
    with books.writing() as connection:
        assert weighings(connection, (LOAD,))[LOAD]["invested"].mass_mg == 934_000
        take_back(connection, wrong, "T", "its base was still on")
        left = weighings(connection, (LOAD,))[LOAD]
    assert (left["invested"].mass_mg, left["invested"].figure.high) == (624_000, 624.5)
    for stage, mass_mg in (("poured", 1), ("cast", 0)):
        with pytest.raises(LedgerError), books.writing() as connection:
            weigh(connection, LOAD, stage, mass_mg, 500, "T")
