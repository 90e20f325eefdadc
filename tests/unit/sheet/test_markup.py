"""Elements: whatever a user wrote stays text."""

from __future__ import annotations

import pytest

from pourwright.sheet.screen.markup import Markup, element, joined

_HOSTILE = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "' onload='x", "&lt;b&gt;", "</style>")


@pytest.mark.parametrize("words", _HOSTILE)
def test_text_inside_an_element_and_in_an_attribute_is_escaped(words):
    inside, attribute = element("p", words), element("img", alt=words)
    for one in (inside, attribute):
        body = one.removeprefix("<p>").removesuffix("</p>").removeprefix('<img alt="').removesuffix('">')
        assert not set(body) & set("<>\"'")


def test_markup_passes_through_and_plain_text_does_not():
    assert element("p", element("b", "a"), "<b>") == "<p><b>a</b>&lt;b&gt;</p>"
    assert joined(["<", Markup("<br>")], " & ") == "&lt; &amp; <br>"


def test_names_of_attributes_and_empty_elements():
    assert element("img", src="x", class_="big", aria_label="") == '<img src="x" class="big">'
    assert element("p", None) == "<p></p>"
