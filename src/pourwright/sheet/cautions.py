"""Safety prompts as they are printed: the table's own words, its figure, where it comes from."""

from __future__ import annotations

from pourwright.core.text import has, say
from pourwright.matter.safety import Prompt, prompt
from pourwright.sheet.pictograms import pictogram
from pourwright.sheet.show import Shown, source_marks


def caution(prompt_id: str) -> Shown:
    """Return one safety prompt for the page: ``text``, ``citation``, ``marks`` and the drawing of its topic."""
    one = prompt(prompt_id)
    return {
        "text": _sentence(one),
        "citation": _unbroken(one.citation),
        "marks": source_marks(one.sources),
        "picture": pictogram(one.topic),
    }


def cautions(*prompt_ids: str) -> list[Shown]:
    """Return several safety prompts, in the order given."""
    return [caution(one) for one in prompt_ids]


def short_name(prompt_id: str) -> str:
    """Return a prompt in a word or two, for where its sentence stands on another page; the sentence if it has none."""
    key = f"sheet.short.{prompt_id}"
    return say(key) if has(key) else prompt(prompt_id).statement


def notice() -> str:
    """Return the notice that goes with every safety text: who governs."""
    statement = prompt("wording").statement
    return _capital(statement.partition(": ")[2] or statement)


def way_back() -> Shown:
    """Return the way back from a pour that cannot go on, as ``steps`` in order.

    The steps are the parts of the one sentence in the safety table, so that sheet and table cannot differ.
    """
    one = prompt("abort.path")
    head, _, listed = one.statement.partition(": ")
    steps = [part.strip().rstrip(".") for part in listed.split(", ")]
    return {
        "head": head + ".",
        "steps": [_capital(part) + "." for part in steps],
        "note": one.note,
        "marks": source_marks(one.sources),
    }


def _sentence(one: Prompt) -> str:
    if one.value is None:
        return one.statement
    return say("sheet.caution-with-figure", statement=one.statement.rstrip("."), value=_with_unit(one.value, one.unit))


def _with_unit(value_ratio: float, unit: str) -> str:
    """Return a prompt's figure as it is said: a filter's shade is named before its number."""
    shade = unit == "shade"
    return say("sheet.shade", number=f"{value_ratio:g}") if shade else f"{value_ratio:g} {unit}"


def _unbroken(citation: str) -> str:
    """Keep each law's number on one line; several laws may stand on several lines."""
    return "; ".join(part.replace(" ", "\u00a0") for part in citation.split("; "))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
