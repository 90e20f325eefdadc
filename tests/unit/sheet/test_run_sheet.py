"""The printed sheet: read back as text, measured on the page, printed twice."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from itertools import combinations

import pypdfium2 as pdfium
import pypdfium2.raw as pdfium_raw
import pytest
from tests.unit.sheet import sample_plan
from tests.unit.sheet.conftest import texts

from pourwright.doors.service.plan import SHEETS
from pourwright.sheet.run_sheet import FILES, write_run_sheet
from pourwright.studio.profile import PrintUnits

MM = 72 / 25.4
_LEAST_MARGIN_MM = 6.0


def _page(pages, *words):
    """Return the text of the one page that has all these words."""
    found = [text for text in pages if all(word in text for word in words)]
    assert len(found) == 1, (words, len(found))
    return found[0]


def _boxes(page):
    text = page.get_textpage()
    return [text.get_rect(index) for index in range(text.count_rects())]


def _assert_nothing_is_cut_off_or_covered(path, indices=None):
    document = pdfium.PdfDocument(path)
    for number in indices or range(len(document)):
        page = document[number]
        width, height = page.get_size()
        boxes = _boxes(page)
        assert boxes, f"page {number} is empty"
        for left, bottom, right, top in boxes:
            assert left >= _LEAST_MARGIN_MM * MM, number
            assert right <= width - _LEAST_MARGIN_MM * MM, number
            assert bottom >= _LEAST_MARGIN_MM * MM, number
            assert top <= height - _LEAST_MARGIN_MM * MM, number
        covered = [pair for pair in combinations(boxes, 2) if _overlap_share(*pair) > 0.35]
        assert not covered, f"page {number}: {[_words(page, box) for pair in covered for box in pair]}"


def _overlap_share(one, other):
    across = min(one[2], other[2]) - max(one[0], other[0])
    up = min(one[3], other[3]) - max(one[1], other[1])
    smaller = min((box[2] - box[0]) * (box[3] - box[1]) for box in (one, other))
    return across * up / smaller if across > 0 and up > 0 and smaller > 0 else 0.0


def _words(page, box):
    return page.get_textpage().get_text_bounded(*box)


def test_cover_says_all_a_stand_in_needs(pages):
    cover = pages[0]
    for words in ("Saturday 5 December 2026", "14:00", "Fri 22:45", "Fri 20:45", "63.41 g", "138.73 g", "540 °C",
                  "214.6 mm", "228.3 mm", "2.5–4", "16–31 min", "19–37 min", "Tomás Ferrow", "Ασπασία Quill",
                  "FL-03", "P01, P02, P05", "Extraction on", "fetch help"):  # fmt: skip
        assert words in cover, words


def test_notice_that_defers_to_local_codes_is_on_every_page(pages):
    assert all("local codes" in text and "licensed practice" in text for text in pages)


def test_nothing_printed_promises_safety(pages):
    assert not [text for text in pages if "is safe" in text or "guarantee" in text or "ensures" in text]


def test_kiln_page_has_light_time_and_set_points(pages):
    kiln = _page(pages, "The kiln", "All set-points are readings")
    for words in ("Fri 22:45", "150 °C", "371 °C", "726 °C", "534 °C", "732 °C", "58 min"):
        assert words in kiln, words


def test_mixing_page_has_powder_water_and_minutes(pages):
    mixing = _page(pages, "Bowl 1")
    for words in ("1 133 g", "453 g", "420 g", "244 g", "6.5 min", "9.0 min", "never the reverse"):
        assert words in mixing, words


def test_weighing_page_has_every_pan(pages):
    weighing = _page(pages, "Out of the drawer")
    for words in ("34.07 g", "77.35 g", "6.26 g", "111.42 g", "188.58 g", "925.1 ‰", "63.41 g", "138.73 g"):
        assert words in weighing, words


def test_build_page_has_pieces_owners_and_limits_of_the_charge(pages):
    build = _page(pages, "Flask 2: Build and weigh")
    for words in ("24.6 g", "Ελένη", "77.35 g", "136.6 g", "148.1 g", "167.4 g", "610 g", "244 g", "925.1 ‰"):
        assert words in build, words


def test_machine_page_has_mark_winding_and_limit(pages):
    machine = _page(pages, "Flask 2: Set the machine, cold")
    for words in ("228.3 mm", "never past 4", "219.5 mm", "10 N", "200–228 rpm", "73 kPa", "not calibrated"):
        assert words in machine, words


def test_winding_comes_before_the_melt_and_the_melt_before_the_flask(pages):
    text = " ".join(pages)
    order = ("Wind 3 turns, counted aloud", "Heat the empty crucible", "Charge in: 63.41", "number at the kiln door",
             "Mouth to crucible?", "Crucible up?", "People clear?", "say “Release”")  # fmt: skip
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_way_back_stands_beside_the_release(pages):
    pour = _page(pages, "Flask 1: Pour")
    for words in ("Release", "The way back", "Flame off the flask", "Flask to the kiln", "ingot mould",
                  "unwound by hand", "Only then adjust", "Released at", "Weight out", "What happened", "16–31 min",
                  "Black heat is not proof"):  # fmt: skip
        assert words in pour, words


def test_tub_page_has_the_quench_words_and_times(pages):
    tub = _page(pages, "At the tub", "Respirator on")
    for words in ("Respirator on. Others back. Hood on. Under water.", "16–31 min", "19–37 min", "14:16 – 14:31"):
        assert words in tub, words


def test_last_page_shuts_down_and_watches_for_fire(pages):
    for words in ("gas off", "bled", "15:12", "60 min", "cool running", "Signed"):
        assert words in pages[-1], words


def test_marks_are_explained_on_their_page_and_only_there(pages):
    for text in pages:
        assert ("†" in text) == ("not calibrated: nobody" in text)
        assert ("‡" in text) == ("‡ common practice, no source." in text)


def test_users_markup_stays_plain_text(pages):
    build = _page(pages, "Flask 1: Build and weigh")
    squeezed = build.replace(" ", "")
    assert sample_plan.MARKUP_TITLE.replace(" ", "") in squeezed


def test_very_long_title_is_all_there(pages):
    build = _page(pages, "Flask 2: Build and weigh")
    assert "Sternschnuppenbeobachtungsstundenverzeichnisblatt" in build.replace(" ", "").replace("\u200b", "")


@pytest.mark.parametrize("name", ["run-sheet", "labels"])
def test_nothing_is_cut_off_or_covered(printed, name):
    _assert_nothing_is_cut_off_or_covered(printed / f"{name}.pdf")


def test_body_is_never_smaller_than_eight_points(printed):
    for page in pdfium.PdfDocument(printed / "run-sheet.pdf"):
        for thing in page.get_objects(filter=[pdfium_raw.FPDF_PAGEOBJ_TEXT], max_depth=6):
            assert thing.get_font_size() * abs(thing.get_matrix().d) >= 5.0


def test_flask_circle_measures_its_true_diameter(printed):
    document = pdfium.PdfDocument(printed / "run-sheet.pdf")
    page = next(page for page in document if "Flask 1: Build" in page.get_textpage().get_text_bounded())
    sizes = []
    for thing in page.get_objects(filter=[pdfium_raw.FPDF_PAGEOBJ_PATH], max_depth=6):
        left, bottom, right, top = thing.get_bounds()
        sizes.append(((right - left) / MM, (top - bottom) / MM))
    drawn_mm = 63.5 + 2 * 0.8 / MM  # the box round a path is wider by its line on each side
    assert any(abs(wide - drawn_mm) < 0.1 and abs(high - drawn_mm) < 0.1 for wide, high in sizes)


def test_date_inside_the_file_is_the_days(printed):
    meta = pdfium.PdfDocument(printed / "run-sheet.pdf").get_metadata_dict()
    assert "20261205" in meta["CreationDate"]
    assert str(printed) not in str(meta)


def test_letter_in_american_units_prints_as_well(plan, tmp_path):
    american = replace(plan, studio=replace(plan.studio, units=PrintUnits("dwt", "in", "F")))
    path, labels, *_ = write_run_sheet(american, tmp_path, paper="letter")
    document = pdfium.PdfDocument(path)
    assert [round(side / MM) for side in document[0].get_size()] == [216, 279]
    text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    for words in ("40.774 dwt", "8.988 in", "1 004 °F"):
        assert words in text, words
    _assert_nothing_is_cut_off_or_covered(path)
    _assert_nothing_is_cut_off_or_covered(labels)


def test_every_file_is_one_that_an_overtaken_plan_takes_away(full_papers):
    assert {one.name for one in full_papers.iterdir()} == set(FILES) == set(SHEETS)


def test_unknown_paper_is_refused(plan, tmp_path):
    with pytest.raises(ValueError, match="none of a4, letter"):
        write_run_sheet(plan, tmp_path, paper="foolscap")


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_eight_flasks_fit_on_the_cover(full_plan, tmp_path, paper):
    loads = tuple(
        replace(full_plan.flasks[index % 2], id=f"2026-12-05-F{number}", number=number,
                pour_at=full_plan.flasks[0].pour_at + timedelta(minutes=12 * index))
        for index, number in enumerate((1, 2, 3, 4, 5, 7, 8, 10))
    )  # fmt: skip
    path, *_ = write_run_sheet(replace(full_plan, flasks=loads, aftercare=None), tmp_path, paper)
    first, second = texts(path)[:2]
    for words in ("15:24", "Respirators only", "In an emergency ring", "Pages:", "Shutting down"):
        assert words in first, words
    assert second.endswith(f"Page 2 of {len(texts(path))}")
    assert "What the plan warns of" in second
    _assert_nothing_is_cut_off_or_covered(path, (0, 1))


def test_nothing_of_the_full_plan_is_cut_off_or_covered(full_papers):
    for path in full_papers.glob("*.pdf"):
        _assert_nothing_is_cut_off_or_covered(path)


def test_nothing_of_the_full_plan_is_cut_off_or_covered_on_letter(full_plan, tmp_path):
    for path in write_run_sheet(full_plan, tmp_path, "letter"):
        if path.suffix == ".pdf":
            _assert_nothing_is_cut_off_or_covered(path)


def test_cover_lists_the_pages_where_they_are(full_pages):
    for name in ("Before the day", "The kiln", "Weighing the metal", "The weigh-up", "Shutting down"):
        number = int(re.search(rf"{name} (\d+)", full_pages[0])[1])
        assert full_pages[number - 1].count(name) >= 1, name


def test_three_pages_a_flask(full_pages):
    assert sum("Flask 1:" in text and "2026-12-05-F1" in text for text in full_pages) == 3


def test_kiln_page_has_segments_with_rate_and_hold(pages):
    kiln = _page(pages, "The kiln", "All set-points are readings")
    for words in ("Rate", "Hold", "Reached", "130 °C/h", "2 h 00 min", "1 h 55 min"):
        assert words in kiln, words


def test_wax_and_ash_stand_overleaf_of_the_kiln(full_pages):
    front = _page(full_pages, "All set-points are readings")
    assert "Wax comes out before the kiln" in front
    back = _page(full_pages, "Wax out with steam first.", "Tap out the ash.")
    for words in ("Fri 22:15", "Fri 23:00", "13:35", "at least 15 min", "Never blow out"):
        assert words in back, words


def test_page_before_the_day_has_supplies_checks_and_weights(full_pages):
    page = _page(full_pages, "Equipment checks")
    for words in (
        "propane",
        "2 g lacking",
        "may run short",
        "overdue",
        "100 g test mass",
        "no sticky spot",
        "Base alone",
    ):
        assert words in page, words


def test_weigh_up_and_clean_up_have_their_pages(full_pages):
    weigh = _page(full_pages, "The weigh-up", "Whole casting, before cutting")
    assert "24.60 g" in weigh
    assert "8.72 g" in weigh
    assert "Spent pickle, where to" in _page(full_pages, "Everything wet.")
