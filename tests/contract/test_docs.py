"""The generated reference pages say what the program says now."""

from docs.build import stale


def test_reference_pages_are_fresh():
    assert not stale(), "run make docs"
