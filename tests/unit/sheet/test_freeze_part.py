"""The part of a flask's page that shows how it freezes."""

from dataclasses import replace

import pytest
from lxml import html
from tests.demo_day import planned
from tests.unit.sheet import sample_plan
from tests.unit.sheet.conftest import texts
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.sheet.freeze import cut_of, freeze_part
from pourwright.sheet.freeze_section import freeze_section
from pourwright.sheet.run_sheet import write_run_sheet
from pourwright.simulate.conditions import best_case
from pourwright.simulate.cooling import QuenchLimits
from pourwright.simulate.run import assess, run_flask
from pourwright.simulate.summary import summarise
from pourwright.simulate.sweep import Holding, Spread, Sweep

JOB = made_up_job(bar_mm=1.0)
ASSESSED = assess(run_flask(JOB, best_case(JOB.conditions), 0.6, fake_engine))
SPREAD = Spread(20.0, 40.0, 90.0, "conductivity_ratio", -0.9, 20)
SWEEP = Sweep(20, 20, 1, 1.0, SPREAD, SPREAD, SPREAD, (Holding("P1", 0, 4, 20, 1.0, 2.0, "", 0.0),))
FLASK = replace(
    planned().plan.flasks[0], freeze=summarise(ASSESSED, QuenchLimits(800, 770, 620), "key", SWEEP, "cut.svg")
)


def test_a_flask_that_was_not_frozen_has_no_part():
    assert freeze_part(planned().plan.flasks[0], None) is None


def test_the_part_says_what_it_does_not_know():
    part = freeze_part(FLASK, None)
    assert "shrinkage only" in part["only"]
    assert [one["fed"] for one in part["verdicts"]] == [False]
    assert part["verdicts"][0]["held"] == "Fed in 4 of 20 runs."
    assert part["times"][0]["text"] == "20 to 90\u00a0s"
    assert "of 20 runs" in part["ranges"]


def test_without_runs_over_the_ranges_the_part_says_that_times_have_no_range():
    alone = replace(FLASK, freeze=summarise(ASSESSED, QuenchLimits(800, 770, 620), "key"))
    part = freeze_part(alone, None)
    assert "may be off was not asked for" in part["ranges"]
    assert " to " not in part["times"][0]["text"]
    assert part["verdicts"][0]["held"] == ""


def test_every_hot_spot_has_a_row_with_its_place_and_void():
    part = freeze_part(FLASK, None)
    assert len(part["spots"]) == len(FLASK.freeze.hot_spots) > 0
    number, where, cut, last, void = part["spots"][0]
    assert number == "1" and where.startswith("P1, ") and where.endswith("up from the mouth")
    assert cut.endswith("s") and last.endswith("s") and "to" in void


@pytest.mark.parametrize(
    "content",
    [
        None,
        b"<svg",
        b'<!DOCTYPE svg><svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm"/>',
        b"<html/>",
        b'<svg xmlns="http://www.w3.org/2000/svg" width="9"/>',
    ],
)
def test_a_picture_that_is_not_there_or_not_ours_is_left_out(tmp_path, content):
    if content is not None:
        (tmp_path / "cut.svg").write_bytes(content)
    assert cut_of(FLASK, tmp_path) is None


def test_a_picture_is_taken_from_the_days_folder_only(tmp_path):
    (tmp_path / "cut.svg").write_text(freeze_section(ASSESSED).svg, "utf-8")
    (tmp_path / "day").mkdir()
    strayed = replace(FLASK, freeze=replace(FLASK.freeze, picture="../cut.svg"))
    assert cut_of(strayed, tmp_path / "day") is None


@pytest.fixture(scope="module")
def frozen_papers(tmp_path_factory):
    """Papers of the made-up plan with its first flask frozen, written elsewhere than where its cut lies."""
    home, out = tmp_path_factory.mktemp("day"), tmp_path_factory.mktemp("out")
    (home / "cut.svg").write_text(freeze_section(ASSESSED).svg, "utf-8")
    plan = sample_plan.plan()
    first, *others = plan.flasks
    write_run_sheet(replace(plan, flasks=(replace(first, freeze=FLASK.freeze), *others)), out, day_folder=home)
    return out


SAID = ("How it freezes", "all metal solid after", "20 to 90 s", "cut off at", "Fed in 4 of 20 runs.",
        "fed is not the same as free of pores", "Hot spots, the largest void first", "up from the mouth")  # fmt: skip


def test_paper_and_screen_say_the_same_of_the_freezing(frozen_papers):
    paper = " ".join(texts(frozen_papers / "run-sheet.pdf"))
    page = html.parse(str(frozen_papers / "run-sheet.html"))
    screen = " ".join(" ".join(page.xpath("//section[@id='flask-1']//text()")).split())
    for words in SAID:
        assert words in paper, words
        assert words in screen, words


def test_the_cut_stands_on_paper_and_on_the_screen(frozen_papers, printed):
    page = html.parse(str(frozen_papers / "run-sheet.html"))
    cuts = [one for one in page.xpath("//img") if one.get("alt").startswith("Cut through the tree")]
    assert len(cuts) == 1 and cuts[0].get("src").startswith("data:image/png;base64,")
    frozen = next(text for text in texts(frozen_papers / "run-sheet.pdf") if "Flask 1: How it freezes" in text)
    assert "neck closed" in frozen


def test_a_frozen_flask_has_one_page_more_and_the_others_stay_as_they_were(frozen_papers, printed):
    frozen, plain = texts(frozen_papers / "run-sheet.pdf"), texts(printed / "run-sheet.pdf")
    assert sum("Flask 1:" in text for text in frozen) == sum("Flask 1:" in text for text in plain) + 1
    assert not any("How it freezes" in text for text in plain)
    assert "How it freezes" not in (printed / "run-sheet.html").read_text("utf-8")
