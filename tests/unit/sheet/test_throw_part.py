"""The part of a flask's page that shows how it fills, and its drawing."""

from dataclasses import replace
from xml.etree.ElementTree import fromstring

import pytest
from lxml import html
from tests.demo_day import planned
from tests.unit.sheet import sample_plan
from tests.unit.sheet.conftest import texts
from tests.unit.simulate.thrown_flask import flask_job, ways

from pourwright.core.text import say
from pourwright.sheet.run_sheet import write_run_sheet
from pourwright.sheet.throw import throw_chart_of, throw_cut_of, throw_part
from pourwright.sheet.throw_section import throw_section
from pourwright.simulate.throw_conditions import best_throw
from pourwright.simulate.throw_fields import fields_of
from pourwright.simulate.throw_run import run_throw, sample_throws
from pourwright.simulate.throw_summary import FillWindow, Told, summarise_throw

JOB = flask_job()
RUN = run_throw(JOB, best_throw(JOB.conditions), ways())
SAMPLES = sample_throws(JOB, 3, ways())
WINDOW = FillWindow(460.0, 560.0, 0.9, 350.0, 700.0, True)
TOLD = Told("key", 3.0, False, "throw-F1.svg", {"P1": WINDOW, "P2": replace(WINDOW, low_C=None)})
SAID = summarise_throw(RUN, SAMPLES, [], TOLD)
KEPT = fields_of(RUN, SAMPLES)
FLASK = replace(planned().plan.flasks[0], fill=SAID)


def test_a_flask_whose_filling_was_not_reckoned_has_no_part():
    assert throw_part(planned().plan.flasks[0], None, None) is None
    assert throw_chart_of(planned().plan.flasks[0]) is None


def test_each_piece_is_told_in_words_and_boxes_not_in_colour():
    part = throw_part(FLASK, None, None)
    for row, piece in zip(part["pieces"], SAID.pieces, strict=True):
        assert row["state"] in ("fills", "may fail", "likely to fail")
        assert row["boxes"].count(True) == round(10 * piece.fill_probability_frac)
        assert row["count"] == f"{piece.filled_count} of 3"
    assert [row["window"] for row in part["pieces"]] == ["460 to 560\u00a0°C", "none: other gate"]


def test_the_part_says_what_is_not_seen_that_nobody_measured_the_machine_and_where_to_stand():
    part = throw_part(FLASK, None, None)
    assert "splash" in part["only"]
    assert "not calibrated" in part["calibrated"]
    assert "stand clear" in part["clear"]
    assert throw_part(replace(FLASK, fill=replace(SAID, calibrated=True)), None, None)["calibrated"] == ""


def test_an_empty_piece_says_why_and_what_never_came_has_no_time():
    run = run_throw(flask_job(shut=("P1",)), best_throw(JOB.conditions))
    part = throw_part(replace(FLASK, fill=summarise_throw(run, None, [], TOLD)), None, None)
    row = part["pieces"][0]
    assert (row["state"], row["full"], row["fills"]) == ("likely to fail", "–", False)
    assert "the way there does not fill" in row["place"]
    assert row["count"] == "0 % of it"


def test_the_drawing_is_to_scale_with_a_ring_for_each_piece_and_hatching_for_what_is_empty():
    drawn = throw_section(JOB.flask, KEPT, SAID.pieces)
    root = fromstring(drawn.svg)
    rings = root.iter("{http://www.w3.org/2000/svg}circle")
    assert len(list(rings)) == len(SAID.pieces) + 1  # and one in the key
    assert drawn.height_mm == pytest.approx(JOB.flask.height_mm + 4)
    words = " ".join(root.itertext())
    assert "stays empty" in words and "after release" in words
    empty = run_throw(flask_job(shut=("P1",)), best_throw(JOB.conditions))
    assert throw_section(JOB.flask, fields_of(empty, None), SAID.pieces).svg != drawn.svg


def test_the_same_filling_is_drawn_the_same():
    assert throw_section(JOB.flask, KEPT, SAID.pieces).svg == throw_section(JOB.flask, KEPT, SAID.pieces).svg


def test_the_page_stands_on_paper_and_screen_with_cut_and_chart(tmp_path):
    plan = sample_plan.plan()
    flask = replace(plan.flasks[0], fill=SAID, throw=planned().plan.flasks[0].throw)
    (tmp_path / "throw-F1.svg").write_text(throw_section(JOB.flask, KEPT, SAID.pieces).svg, "utf-8")
    assert throw_cut_of(flask, tmp_path) is not None
    write_run_sheet(replace(plan, flasks=(flask, *plan.flasks[1:])), tmp_path)
    pages = [page for page in texts(tmp_path / "run-sheet.pdf") if "How surely each piece fills" in page]
    assert len(pages) == 1
    assert "Force on the metal" in pages[0]
    screen = html.fromstring((tmp_path / "run-sheet.html").read_text("utf-8"))
    assert "How it fills" in screen.text_content()
    assert len(screen.xpath("//h3[text()='How it fills']/following-sibling::div//img")) >= 2


def test_the_chart_names_the_last_metal_only_where_it_lies_on_it():
    flask = replace(FLASK, throw=planned().plan.flasks[0].throw)
    end_s = flask.throw.course.line.time_s[-1]
    early, late = (throw_chart_of(replace(flask, fill=replace(SAID, runs_to_s=one * end_s))) for one in (0.5, 1.2))
    assert say("sheet.force.filled") in early.svg
    assert say("sheet.force.filled") not in late.svg


def test_a_drawing_that_is_none_of_ours_is_left_out(tmp_path):
    (tmp_path / "throw-F1.svg").write_text("<html/>", "utf-8")
    assert throw_cut_of(FLASK, tmp_path) is None
