"""The cut through a frozen tree: to scale, in bands that fall in lightness, with its hot spots."""

import base64
import io
import re
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
from PIL import Image
from tests.unit.simulate.made_up_flask import fake_engine, made_up_job

from pourwright.sheet.cut_parts import section_png
from pourwright.sheet.freeze_section import freeze_section
from pourwright.simulate.conditions import best_case
from pourwright.simulate.run import assess, run_flask

JOB = made_up_job(bar_mm=1.0)
ASSESSED = assess(run_flask(JOB, best_case(JOB.conditions), 0.6, fake_engine))
PICTURE = freeze_section(ASSESSED)
SVG = "{http://www.w3.org/2000/svg}"


def test_the_picture_is_to_scale():
    root = ElementTree.fromstring(PICTURE.svg)
    assert root.get("width") == f"{PICTURE.width_mm:.2f}mm"
    assert root.get("viewBox").split()[2:] == [f"{PICTURE.width_mm:.2f}", f"{PICTURE.height_mm:.2f}"]
    first, second = root.findall(f"{SVG}rect")[:2]
    inside = float(second.get("x")) - float(first.get("x")) - float(first.get("width"))
    assert abs(inside - 2 * JOB.radius_mm) < 0.01


def test_the_same_run_gives_the_same_picture():
    assert freeze_section(ASSESSED).svg == PICTURE.svg


def test_every_hot_spot_has_its_number_and_its_neck():
    texts = [one.text for one in ElementTree.fromstring(PICTURE.svg).iter(f"{SVG}text")]
    count = len(ASSESSED.found.spots)
    assert count >= 1
    assert [one for one in texts if one.isdigit()] == [str(number) for number in range(1, count + 1)]
    assert "shrinkage only" in texts


def _bands():
    image = re.search(r'data:image/png;base64,([^"]+)"', PICTURE.svg)[1]
    return Image.open(io.BytesIO(base64.b64decode(image)))


def test_bands_can_be_told_apart_in_black_and_white():
    grey = np.unique(np.asarray(_bands().convert("L")))
    root = ElementTree.fromstring(PICTURE.svg)
    key = [one.get("fill") for one in root.findall(f"{SVG}rect") if one.get("fill", "").startswith("rgb")]
    lightness = [0.299 * r + 0.587 * g + 0.114 * b for r, g, b in (map(int, re.findall(r"\d+", one)) for one in key)]
    assert len(lightness) >= 4
    assert all(early - late > 15 for early, late in pairwise(lightness))
    assert len(grey) >= len(key)


def test_another_angle_gives_another_cut():
    turned = freeze_section(ASSESSED, 30.0)
    assert round(turned.angle_deg, 9) == 30.0
    assert turned.svg != freeze_section(ASSESSED, 90.0).svg


def test_it_becomes_a_png():
    image = Image.open(io.BytesIO(section_png(PICTURE, 4)))
    assert image.format == "PNG"
    assert abs(image.width - 4 * PICTURE.width_mm) <= 2
