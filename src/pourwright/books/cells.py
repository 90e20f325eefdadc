"""Texts in the cells of a spreadsheet: none of them may be taken for a formula."""

from __future__ import annotations

# What a spreadsheet takes for the start of a formula; and the sign that keeps it from doing so.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "'")
PLAIN_SIGN = "'"


def as_cell(text: str) -> str:
    """Return a text as a cell of a CSV file, led by an apostrophe where it would be taken for a formula."""
    return PLAIN_SIGN + text if text.startswith(FORMULA_SIGNS) else text


def from_cell(text: str) -> str:
    """Return the text of a cell of a CSV file without the apostrophe."""
    return text.removeprefix(PLAIN_SIGN)
