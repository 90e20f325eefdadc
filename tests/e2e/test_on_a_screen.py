"""The sheet for a screen in a real browser, as a phone and as a laptop show it; the screenshots are kept to look at."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright
from tests.unit.sheet import sample_plan

from pourwright.doors.service.demo import make_demo
from pourwright.doors.service.plan import plan_day_file
from pourwright.sheet.run_sheet import write_run_sheet

_PICTURES = Path(__file__).resolve().parents[2] / "build/screens"
_SCREENS = {"phone": (390, 844), "laptop": (1366, 768)}
_FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
          "--disable-sync", "--no-first-run"]  # fmt: skip
_MM_PER_PX = 25.4 / 96
_LEAST_TARGET_PX = 48
_LEAST_CONTRAST = 7.0

# Contrast of every element that holds text of its own with the nearest ground that is painted.
_CONTRASTS = """() => {
  const part = c => { c /= 255; return c <= 0.03928 ? c / 12.92 : Math.pow((c + 0.055) / 1.055, 2.4); };
  const rgb = text => text.match(/[\\d.]+/g).map(Number);
  const light = c => 0.2126 * part(c[0]) + 0.7152 * part(c[1]) + 0.0722 * part(c[2]);
  const ground = node => {
    for (let one = node; one; one = one.parentElement) {
      const c = rgb(getComputedStyle(one).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) return c;
    }
    return [255, 255, 255];
  };
  return [...document.querySelectorAll('body *')]
    .filter(node => [...node.childNodes].some(one => one.nodeType === 3 && one.textContent.trim()))
    .map(node => {
      const [a, b] = [light(rgb(getComputedStyle(node).color)), light(ground(node))].sort((x, y) => y - x);
      return [(a + 0.05) / (b + 0.05), node.textContent.slice(0, 40)];
    });
}"""
_WIDER_THAN_SCREEN = """() => [...document.querySelectorAll('body *')]
  .filter(node => node.getBoundingClientRect().right > innerWidth + 1)
  .map(node => node.tagName + ' ' + node.textContent.slice(0, 40))"""
_HEADINGS = """() => [...document.querySelectorAll('h1, h2, h3, h4')]
  .map(node => { const box = node.getBoundingClientRect(); return [box.width, box.height]; })"""
_INLINE_SCRIPT = """() => {
  const script = document.createElement('script');
  script.textContent = 'window.taken = true';
  document.body.append(script);
  return window.taken === true;
}"""


@pytest.fixture(scope="module")
def browser():
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        pytest.fail("Debian's chromium is needed to look at the sheet on a screen")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """The sheet of a made-up day with awkward names and everything in it, and that of the demo day."""
    full, home = tmp_path_factory.mktemp("full"), tmp_path_factory.mktemp("home") / "studio"
    write_run_sheet(sample_plan.full_plan(), full)
    make_demo(home)
    day = max(home.glob("days/*/day.toml"))
    plan_day_file(day, None, None, "a4")
    return {"full": full / "run-sheet.html", "demo": day.parent / "run-sheet.html"}


class Seen:
    """A page as it was opened: what it asked for and what the browser complained of."""

    def __init__(self, browser, path, screen):
        width, height = _SCREENS[screen]
        self.page = browser.new_page(viewport={"width": width, "height": height})
        self.asked, self.complaints = [], []
        self.page.on("request", lambda one: self.asked.append(one.url))
        self.page.on("console", lambda one: self.complaints.append(one.text))
        self.page.on("pageerror", lambda one: self.complaints.append(str(one)))
        self.page.goto(path.as_uri())
        self.page.wait_for_load_state("load")
        self.page.evaluate("() => document.fonts.ready.then(() => true)")


@pytest.fixture(scope="module", params=[(name, screen) for name in ("full", "demo") for screen in _SCREENS],
                ids="-".join)  # fmt: skip
def seen(request, browser, sheets):
    name, screen = request.param
    opened = Seen(browser, sheets[name], screen)
    _PICTURES.mkdir(parents=True, exist_ok=True)
    opened.page.screenshot(path=str(_PICTURES / f"{name}-{screen}.png"), full_page=True)
    yield opened
    opened.page.close()


def test_the_browser_has_nothing_to_complain_of(seen):
    assert seen.complaints == []


def test_nothing_is_asked_of_anybody_but_the_file_itself(seen):
    assert [one for one in seen.asked if not one.startswith(("file:", "data:"))] == []
    assert len([one for one in seen.asked if one.startswith("file:")]) == 1


def test_nothing_reaches_past_the_edge_of_the_screen(seen):
    assert seen.page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")
    assert seen.page.evaluate(_WIDER_THAN_SCREEN) == []


def test_every_heading_can_be_seen(seen):
    shown = seen.page.evaluate(_HEADINGS)
    assert len(shown) > 30
    assert all(wide > 0 and high > 0 for wide, high in shown)
    for words in ("The day at a glance", "What the plan warns of", "Before the day", "Mixing", "The kiln",
                  "Weighing the metal", "Flask 1", "At the tub", "After the quench", "Clean up and waste",
                  "Shutting down", "Cards to take home"):  # fmt: skip
        assert seen.page.get_by_role("heading", name=words, exact=True, level=2).count() == 1, words


def test_its_own_type_and_every_picture_are_there(seen):
    assert seen.page.evaluate("() => document.fonts.check('16px Sheet')")
    assert seen.page.evaluate("() => [...document.images].every(one => one.complete && one.naturalWidth > 0)")


def test_links_of_the_contents_are_large_enough_for_a_glove(seen):
    for link in seen.page.locator("nav a").all():
        box = link.bounding_box()
        assert box["height"] >= _LEAST_TARGET_PX
        assert box["width"] >= _LEAST_TARGET_PX


def test_text_is_dark_on_light_or_light_on_dark(seen):
    weak = [row for row in seen.page.evaluate(_CONTRASTS) if row[0] < _LEAST_CONTRAST]
    assert weak == []


def test_the_keyboard_reaches_the_contents_and_goes_where_it_says(browser, sheets):
    opened = Seen(browser, sheets["demo"], "laptop")
    page = opened.page
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip"
    for _ in range(6):
        page.keyboard.press("Tab")
    target = page.evaluate("() => document.activeElement.getAttribute('href')")
    assert target == "#kiln"
    page.keyboard.press("Enter")
    page.wait_for_function("() => Math.abs(document.querySelector('#kiln').getBoundingClientRect().top) < 60")
    page.close()


def test_a_script_that_gets_in_is_not_run(browser, sheets):
    opened = Seen(browser, sheets["full"], "laptop")
    assert opened.page.evaluate(_INLINE_SCRIPT) is False
    assert any("Content Security Policy" in one for one in opened.complaints)
    assert opened.page.title().startswith("Saturday 5 December 2026")
    opened.page.close()


def test_the_tree_is_as_large_as_life(browser, sheets):
    opened = Seen(browser, sheets["full"], "laptop")
    above = opened.page.locator("#flask-1 img[alt^='The flask from above']")
    wide_mm = above.bounding_box()["width"] * _MM_PER_PX
    flask_mm, walls_mm, margin_mm = 63.5, 2 * 1.5, 2 * 1.5
    assert wide_mm == pytest.approx(flask_mm + walls_mm + margin_mm, abs=0.5)
    opened.page.close()


def test_printed_from_the_browser_it_is_paper_without_its_contents(browser, sheets):
    opened = Seen(browser, sheets["full"], "laptop")
    opened.page.emulate_media(media="print")
    assert not opened.page.locator("nav").is_visible()
    assert opened.page.locator("#flask-2 h2").is_visible()
    assert opened.page.pdf(format="A4", prefer_css_page_size=True).startswith(b"%PDF")
    opened.page.close()
