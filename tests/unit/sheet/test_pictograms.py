"""A drawing before each caution: one for each topic, black on nothing, small."""

from __future__ import annotations

import re

from lxml import etree

from pourwright.matter.safety import prompts, topics
from pourwright.sheet.pictograms import pictogram, pictograms

# Sentences that are no cautions: the notice at the foot, and the way back, which is a list of its own.
_NO_DRAWING = {"wording", "pour"}


def test_every_topic_of_cautions_has_its_drawing():
    assert {topic for topic in topics() if not pictogram(topic)} == _NO_DRAWING
    assert all(prompts(topic) for topic in topics())


def test_drawings_are_plain_lines_of_one_size_without_text_or_reference():
    for name, drawing in pictograms().items():
        root = etree.fromstring(drawing)
        assert root.get("viewBox") == "0 0 24 24", name
        assert {etree.QName(one).localname for one in root.iter()} <= {"svg", "path", "rect", "circle"}, name
        assert set(re.findall(rb"#[0-9a-f]+", drawing)) <= {b"#000", b"#fff"}, name


def test_drawings_differ():
    assert len(set(pictograms().values())) == len(pictograms()) >= 15
