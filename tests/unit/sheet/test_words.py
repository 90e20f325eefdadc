"""The words handed to the templates are just those the templates ask for."""

from __future__ import annotations

import re
from importlib.resources import files

from pourwright.sheet.words import _KEYS, words

_ASKED = re.compile(r'\bw\("([a-z.-]+)"\)')
_STARTS = re.compile(r'\bw\("([a-z.-]+)" \+ ')
_QUOTED = re.compile(r'"([a-z-]+(?:\.[a-z-]+)?)"')


def _templates():
    folder = files("pourwright.sheet").joinpath("templates")
    return "\n".join(one.read_text("utf-8") for one in folder.iterdir() if one.name.endswith(".typ"))


def test_every_word_the_templates_ask_for_is_handed_over():
    text = _templates()
    assert set(_ASKED.findall(text)) <= set(_KEYS)
    for start in _STARTS.findall(text):
        assert any(key.startswith(start) for key in _KEYS), start


def test_no_word_is_handed_over_in_vain():
    text = _templates()
    quoted, starts = set(_QUOTED.findall(text)), tuple(_STARTS.findall(text))
    idle = [key for key in _KEYS if key not in quoted and not key.startswith(starts)]
    assert idle == []


def test_words_are_sentences_not_keys():
    assert words()["cover.first-pour"] == "First pour"
