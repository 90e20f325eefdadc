"""Whatever stands behind a key, reading ends with findings that can be said, never with an exception."""

import tempfile
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.studio.helpers import demo_text

from pourwright.core.findings import stops
from pourwright.studio.day_reading import day_from
from pourwright.studio.keys import FILES
from pourwright.studio.place import Place
from pourwright.studio.profile_reading import studio_from
from pourwright.studio.reading import read_studio
from pourwright.studio.tables import read_table
from pourwright.studio.toml_source import TomlSource, key_lines

_TEXTS = st.one_of(
    st.text(max_size=30),
    st.from_regex(r"-?[0-9]{1,4}([.,][0-9]{1,4})? ?(mm|g|C|F|%|permille|turns|N\.m|oz|gr|in)?", fullmatch=True),
    st.from_regex(r"[0-9]{1,3}(\.\.|/)[0-9]{1,3} ?(g|%|permille)?", fullmatch=True),
    st.from_regex(r"[0-9]{1,2}:[0-9]{2}([+-][0-9]{2}:[0-9]{2})?", fullmatch=True),
)
_VALUES = st.recursive(
    st.one_of(
        _TEXTS,
        st.integers(),
        st.floats(),
        st.booleans(),
        st.dates(),
        st.times(),
        st.datetimes(),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(["best", "low", "high", "id", "x"]), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


def _sections(section):
    yield section
    for one in section.fields:
        if one.rows is not None:
            yield from _sections(one.rows)


@pytest.mark.parametrize("section", [one for top in FILES.values() for one in _sections(top)], ids=lambda one: one.key)
@settings(max_examples=20, deadline=None)
@given(data=st.data())
def test_any_value_of_any_key_ends_in_a_value_or_a_finding(section, data):
    keys = st.sampled_from([one.key for one in section.fields] + ["unknown", "dotted.key"])
    raw = data.draw(st.dictionaries(keys, _VALUES, max_size=len(section.fields)))
    place = Place(TomlSource("any.toml", raw), label=section.key)
    values = read_table(section, raw, place)
    assert (values is None) == stops(place.found)
    assert all(one.what and one.do_next and one.where for one in place.found)


def _paths(value, path=()):
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in parts:
        yield (*path, key)
        yield from _paths(part, (*path, key))


def _changed(content, path, value):
    table = content
    for key in path[:-1]:
        table = table[key]
    if value is _LEFT_OUT:
        del table[path[-1]]
    else:
        table[path[-1]] = value
    return content


_LEFT_OUT = object()


def _content(name):
    return tomllib.loads(demo_text(name))


def _check(answer, findings):
    assert (answer is None) == stops(findings)
    assert all(one.what and one.do_next and one.where for one in findings)


@settings(max_examples=250, deadline=None)
@given(path=st.sampled_from(sorted(_paths(_content("studio.toml")), key=str)), value=_VALUES | st.just(_LEFT_OUT))
def test_one_odd_value_in_a_studio_ends_in_findings(path, value):
    source = TomlSource("studio.toml", _changed(_content("studio.toml"), path, value))
    _check(*studio_from(source, Path("/nowhere")))


_STUDIO, _ = studio_from(TomlSource("studio.toml", _content("studio.toml")), Path("/nowhere"))


@settings(max_examples=250, deadline=None)
@given(path=st.sampled_from(sorted(_paths(_content("day.toml")), key=str)), value=_VALUES | st.just(_LEFT_OUT))
def test_one_odd_value_in_a_day_ends_in_findings(path, value):
    assert _STUDIO is not None
    source = TomlSource("day.toml", _changed(_content("day.toml"), path, value))
    _check(*day_from(source, _STUDIO, Path("/nowhere")))


@settings(max_examples=60, deadline=None)
@given(text=st.text(alphabet="[]{}=\"'#.\n\\ ab1,", max_size=60))
def test_lines_are_found_in_any_sound_toml(text):
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    lines = key_lines(text)
    assert all((key,) in lines for key in content)


@settings(max_examples=40, deadline=None)
@given(content=st.binary(max_size=200))
def test_any_bytes_end_in_findings(content):
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "studio.toml").write_bytes(content)
        studio, findings = read_studio(Path(folder))
    assert studio is None
    assert findings
    assert all(one.what for one in findings)
