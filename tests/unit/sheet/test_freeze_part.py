"""The part of a flask's page that shows how it freezes."""

import json
from dataclasses import replace
from importlib.resources import files

import font_roboto
import pypdfium2
import pytest
import typst
from tests.demo_day import planned
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.sheet.freeze import freeze_part
from pourwright.sheet.freeze_section import freeze_section
from pourwright.simulate.conditions import best_case
from pourwright.simulate.cooling import QuenchLimits
from pourwright.simulate.run import assess, run_flask
from pourwright.simulate.summary import summarise
from pourwright.simulate.sweep import Holding, Spread, Sweep

JOB = made_up_job(bar_mm=1.0)
ASSESSED = assess(run_flask(JOB, best_case(JOB.conditions), 0.6, fake_engine))
SPREAD = Spread(20.0, 40.0, 90.0, "conductivity_ratio", -0.9)
SWEEP = Sweep(20, 20, 1, 1.0, SPREAD, SPREAD, SPREAD, (Holding("P1", 0, 4, 20, 1.0, 2.0, "", 0.0),))
FLASK = replace(
    planned().plan.flasks[0], freeze=summarise(ASSESSED, QuenchLimits(800, 770, 620), "key", SWEEP, "cut.svg")
)


def test_a_flask_that_was_not_frozen_has_no_part():
    assert freeze_part(planned().plan.flasks[0], "") is None


def test_the_part_says_what_it_does_not_know():
    part = freeze_part(FLASK, "cut.svg")
    assert "shrinkage only" in part["only"]
    assert [one["fed"] for one in part["verdicts"]] == [False]
    assert part["verdicts"][0]["held"] == "Fed in 4 of 20 runs."
    assert part["times"][0]["text"] == "20 to 90\u00a0s"


@pytest.mark.parametrize("picture", ["cut.svg", ""])
def test_the_part_prints(tmp_path, picture):
    template = files("pourwright.sheet").joinpath("templates", "freeze.typ").read_bytes()
    (tmp_path / "freeze.typ").write_bytes(template)
    (tmp_path / "cut.svg").write_text(freeze_section(ASSESSED).svg, "utf-8")
    (tmp_path / "part.json").write_text(json.dumps(freeze_part(FLASK, picture)), "utf-8")
    (tmp_path / "page.typ").write_text('#import "freeze.typ": freeze-part\n#freeze-part(json("part.json"))\n', "utf-8")
    fonts = [str(font_roboto.__path__[0]) + "/files"]
    pdf = typst.compile(str(tmp_path / "page.typ"), root=str(tmp_path), font_paths=fonts, ignore_system_fonts=True)
    text = " ".join(pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_bounded().split())
    assert "all metal solid after 20 to 90 s" in text
    assert "cut off at" in text
    assert "fed is not the same as free of pores" in text
    assert ("hot spot" in text) is bool(picture)
