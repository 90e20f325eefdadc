from pathlib import Path

import pytest

from pourwright.core.findings import Finding
from pourwright.studio.toml_source import key_lines, load_toml

_TEXT = '''# a comment [with] = brackets
format = 1

[print]
mass = "g"

[[piece]]
id = "P01"
note = """
id = "not a key"
[[piece]]
"""
list = [
  1, # [
  2,
]
[[piece.part]]
mass = "1 g"
[[piece.part]]
mass = "2 g"

[[piece]]
a.b = 1
"id" = "P02"
'''


def test_every_key_has_its_line():
    lines = key_lines(_TEXT)
    assert lines[("format",)] == 2
    assert lines[("print", "mass")] == 5
    assert lines[("piece", 0)] == 7
    assert lines[("piece", 0, "id")] == 8
    assert lines[("piece", 0, "list")] == 13
    assert lines[("piece", 0, "part", 1, "mass")] == 20
    assert lines[("piece", 1, "a", "b")] == 23
    assert lines[("piece", 1, "id")] == 24


def test_text_inside_long_texts_is_no_key():
    assert ("piece", 2) not in key_lines(_TEXT)


def test_a_missing_key_gets_the_line_of_its_table(tmp_path):
    (tmp_path / "a.toml").write_text(_TEXT, "utf-8")
    source = load_toml(tmp_path / "a.toml")
    assert not isinstance(source, Finding)
    assert source.line_of(("piece", 1, "title")) == 22
    assert source.line_of(("nothing",)) is None


def test_a_byte_order_mark_is_no_fault(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbfformat = 1\n")
    source = load_toml(tmp_path / "a.toml")
    assert not isinstance(source, Finding)
    assert source.content == {"format": 1}


def _finding(path: Path) -> Finding:
    found = load_toml(path)
    assert isinstance(found, Finding)
    return found


def test_a_missing_file_is_named(tmp_path):
    found = _finding(tmp_path / "studio.toml")
    assert found.code == "studio.file-missing"
    assert "studio.toml" in found.what
    assert "pourwright demo" in found.do_next


def test_a_folder_is_no_file(tmp_path):
    assert _finding(tmp_path).code == "studio.file-is-folder"


def test_a_file_that_is_not_utf8_says_its_line(tmp_path):
    (tmp_path / "a.toml").write_bytes('format = 1\nname = "Ré"\n'.encode("latin-1"))
    found = _finding(tmp_path / "a.toml")
    assert found.code == "studio.file-not-utf8"
    assert "line 2" in found.what
    assert "UTF-8" in found.do_next


def test_a_huge_file_is_not_read(tmp_path):
    (tmp_path / "a.toml").write_bytes(b"#" * 2_100_000)
    assert _finding(tmp_path / "a.toml").code == "studio.file-too-large"


@pytest.mark.parametrize(
    ("text", "line", "row"),
    [
        ("a = 1\ndiameter = 63.5 mm\n", 2, "diameter = 63.5 mm"),
        ("a = 1\na = 2\n", 2, "a = 2"),
        ('a = "open\n', 1, 'a = "open'),
        ("a = " + "[" * 5000, 1, "a = ["),
    ],
)
def test_broken_toml_says_line_and_row(tmp_path, text, line, row):
    (tmp_path / "a.toml").write_text(text, "utf-8")
    found = _finding(tmp_path / "a.toml")
    assert found.code == "studio.toml-broken"
    assert found.where == f"a.toml, line {line}"
    assert row in found.what
    assert 'diameter = "63.5 mm"' in found.do_next
