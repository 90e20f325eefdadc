"""The sheet for a screen: one file, no script, nothing from elsewhere, users' words as text, all the paper says."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from itertools import pairwise

import pytest
from lxml import html
from tests.unit.sheet import sample_plan

from pourwright.sheet.run_sheet import write_run_sheet
from pourwright.sheet.screen.parts import SIGNS


@pytest.fixture(scope="module")
def source(full_papers):
    return (full_papers / "run-sheet.html").read_text("utf-8")


@pytest.fixture(scope="module")
def page(source):
    return html.document_fromstring(source.encode())


def _words(node):
    return " ".join(node.text_content().split())


def test_there_is_no_script_and_no_inline_style_or_handler(page):
    assert page.xpath("//script | //iframe | //object | //embed | //form | //base") == []
    assert page.xpath("//@style | //@onclick | //@onerror | //@onload") == []


def test_every_source_and_link_lies_in_the_page_itself(page):
    for address in page.xpath("//@src | //link/@href"):
        assert address.startswith("data:"), address[:60]
    for link in page.xpath("//a/@href"):
        assert link.startswith("#")
        assert page.xpath(f"//*[@id='{link[1:]}']"), link


def test_policy_allows_the_pages_own_style_by_hash_and_nothing_inline(page):
    policy = page.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")[0]
    style = page.xpath("//style")[0].text
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http:" not in policy


def test_style_loads_nothing_from_elsewhere(page):
    style = page.xpath("//style")[0].text
    assert "@import" not in style
    assert all(one.startswith("data:font/ttf") for one in re.findall(r"url\((.{20})", style))


def test_hostile_names_are_text_letter_for_letter(page, source):
    assert "<script" not in source
    assert "<img src=x" not in source
    title = sample_plan.HOSTILE_TITLE
    assert _words(page).replace("\u200b", "").count(title) >= 3
    assert sample_plan.MARKUP_TITLE in _words(page).replace("\u200b", "")


def test_language_title_and_headings_are_in_order(page):
    assert page.get("lang") == "en"
    assert len(page.xpath("//h1")) == 1
    levels = [int(node.tag[1]) for node in page.xpath("//h1 | //h2 | //h3 | //h4")]
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_section_is_in_the_contents_and_the_other_way_round(page):
    sections = page.xpath("//main/section/@id")
    assert [link[1:] for link in page.xpath("//nav//a/@href")] == sections
    assert {"glance", "warnings", "before", "kiln", "flask-1", "flask-2", "after", "clean", "cards"} <= set(sections)


def test_ids_are_given_once(page):
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_every_picture_has_words_for_who_cannot_see_it(page):
    pictures = page.xpath("//img[not(@class='sign')]")
    assert len(pictures) > 10
    assert all(len(one.get("alt", "")) > 20 for one in pictures)


@pytest.mark.parametrize(
    "words",
    [
        "63.41\u00a0g", "138.73\u00a0g", "214.6\u00a0mm", "Fri 22:45", "726\u00a0°C", "2 h 00 min", "925.1\u00a0‰",
        "16–31\u00a0min",
        "1\u2009133\u00a0g", "2\u00a0g lacking", "overdue", "Flame off the flask",
        "Respirator on. Others back. Hood on. Under water.", "Wax out with steam first.", "13:35", "7.78\u00a0g",
        "Thicken it to 0.8 mm", "Powder tin opened on",
    ],
)  # fmt: skip
def test_the_screen_says_what_the_paper_says(page, full_pages, words):
    assert words in page.text_content()
    assert " ".join(words.replace("\u2009", " ").split()) in " ".join(full_pages).replace("\u2009", " ")


def test_states_are_words(page):
    for node in page.xpath("//*[contains(@class, 'state')]"):
        assert _words(node)


def test_marks_are_explained_in_their_own_section(page):
    for part in page.xpath("//section"):
        used = {_words(node) for node in part.xpath(".//sup[@class='mark']")}
        told = {_words(node)[0] for node in part.xpath(".//ul[@class='legend']/li")}
        assert used == told
        assert told <= set(SIGNS.values())


def test_notice_that_defers_to_local_codes_is_on_the_page(page):
    assert "local codes" in _words(page.xpath("//footer")[0])


def test_nothing_on_the_screen_promises_safety(page):
    words = _words(page)
    assert not [one for one in ("is safe", "guarantee", "ensures") if one in words]


def test_boxes_are_drawn_and_keep_nothing(page):
    assert page.xpath("//input | //textarea | //button | //select") == []
    assert len(page.xpath("//span[@class='box']")) > 40


def test_the_same_plan_gives_the_same_bytes(full_plan, full_papers, tmp_path):
    for path in write_run_sheet(full_plan, tmp_path):
        assert path.read_bytes() == (full_papers / path.name).read_bytes(), path.name


def test_a_plan_without_what_goes_round_it_has_no_empty_sections(printed):
    bare = html.document_fromstring((printed / "run-sheet.html").read_bytes())
    sections = bare.xpath("//main/section/@id")
    assert "after" not in sections
    assert "cards" not in sections
    assert "before" in sections, "its powder is counted"


def test_a_flask_left_to_cool_has_no_quench_words_at_the_tub(plan, tmp_path):
    dry = replace(plan.flasks[0].quench, basis="prepare.quench-basis-hand-warm")
    cool = replace(plan, flasks=(replace(plan.flasks[0], quench=dry),))
    write_run_sheet(cool, tmp_path)
    page = html.document_fromstring((tmp_path / "run-sheet.html").read_bytes())
    tub = _words(page.xpath("//section[@id='tub']")[0])
    assert "until a hand can rest on it" in tub
    assert "Under water" not in tub


def test_a_sign_stands_before_every_caution_and_adds_no_words(page):
    signs = page.xpath("//p[@class='caution']/img")
    assert len(signs) == len(page.xpath("//p[@class='caution']"))
    assert {one.get("alt") for one in signs} == {""}
