"""The table of keys agrees with the dataclasses it fills, and its own examples are right."""

import dataclasses
import tomllib

import pytest

from pourwright.studio.defaults import default_figure
from pourwright.studio.fields import Kind
from pourwright.studio.keys import FILES
from pourwright.studio.place import Place
from pourwright.studio.toml_source import TomlSource
from pourwright.studio.values import read_value


def _sections(section):
    yield section
    for one in section.fields:
        if one.rows is not None:
            yield from _sections(one.rows)


_SECTIONS = [one for top in FILES.values() for one in _sections(top)]
_FIELDS = [(section.key or "top", one) for section in _SECTIONS for one in section.fields if one.kind is not Kind.ROWS]
# Filled by the reader itself, by the books (what is known of a lot, what is shut away), or of the file only.
_NOT_KEYS = {
    "calibrated", "stated_start_Nm", "stated_rate_Nm_turn", "calibration", "sha256", "folder", "shrink_pairs",
    "contents_frac", "shut",
}  # fmt: skip


@pytest.mark.parametrize("section", [one for one in _SECTIONS if dataclasses.is_dataclass(one.record)])
def test_keys_and_dataclass_agree(section):
    attrs = {one.attr for one in section.fields} - {"format"}
    assert attrs == {one.name for one in dataclasses.fields(section.record)} - _NOT_KEYS


@pytest.mark.parametrize(("section", "one"), _FIELDS, ids=lambda part: getattr(part, "key", part))
def test_the_example_of_a_key_can_be_read(section, one):
    raw = tomllib.loads(f"{one.key} = {one.shown}")[one.key]
    place = Place(TomlSource("example.toml", {}), label=section)
    assert read_value(one, raw, place) is not None
    assert place.found == []


@pytest.mark.parametrize("one", [one for _, one in _FIELDS if one.rule], ids=lambda one: one.key)
def test_a_default_is_inside_the_limits_and_names_its_rule(one):
    figure = default_figure(one)
    assert figure.origin == f"practice table, rule {one.rule}"
    assert figure.unit == one.unit
    place = Place(TomlSource("default.toml", {}))
    from pourwright.studio.values import _within

    assert _within(one, (figure.low, figure.high), place), [finding.what for finding in place.found]
