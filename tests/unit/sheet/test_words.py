"""The words handed to the templates are just those the templates ask for."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from pourwright.sheet.piece_papers import _WORDS as _PAPER_WORDS
from pourwright.sheet.statement import _WORDS as _STATEMENT_WORDS
from pourwright.sheet.words import _KEYS, words

_ASKED = re.compile(r'\bw\("([a-z.-]+)"\)')
_STARTS = re.compile(r'\bw\("([a-z.-]+)" \+ ')
_QUOTED = re.compile(r'"([a-z-]+(?:\.[a-z-]+)?)"')


# Papers of their own are handed words of their own.
_OWN_WORDS = {"receipt.typ": _PAPER_WORDS, "keepsake.typ": _PAPER_WORDS, "statement.typ": _STATEMENT_WORDS}


def _template(name):
    return files("pourwright.sheet").joinpath("templates", name).read_text("utf-8")


def _templates():
    folder = files("pourwright.sheet").joinpath("templates")
    names = {one.name for one in folder.iterdir() if one.name.endswith(".typ")}
    return "\n".join(_template(one) for one in sorted(names - set(_OWN_WORDS)))


def test_every_word_the_templates_ask_for_is_handed_over():
    text = _templates()
    assert set(_ASKED.findall(text)) <= set(_KEYS)
    for start in _STARTS.findall(text):
        assert any(key.startswith(start) for key in _KEYS), start


@pytest.mark.parametrize("name", _OWN_WORDS)
def test_every_word_a_paper_of_its_own_asks_for_is_handed_over(name):
    asked = set(_ASKED.findall(_template(name)))
    assert asked
    assert asked <= set(_OWN_WORDS[name])


def test_no_word_is_handed_over_in_vain():
    text = _templates()
    quoted, starts = set(_QUOTED.findall(text)), tuple(_STARTS.findall(text))
    idle = [key for key in _KEYS if key not in quoted and not key.startswith(starts)]
    assert idle == []


def test_words_are_sentences_not_keys():
    assert words()["cover.first-pour"] == "First pour"
