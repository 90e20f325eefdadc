"""STL bytes into triangles; what is refused and how."""

from __future__ import annotations

import numpy as np
import pytest

from pourwright.shape.pattern.formats.kinds import read_file
from pourwright.shape.pattern.formats.soup import Ceilings

MOST = 1000


def parse(content, most=MOST):
    return read_file(content, ".stl", Ceilings(most, 10**6, 10**6))


CORNERS = np.arange(18, dtype="<f4").reshape(2, 3, 3)


def binary(corners, header=b"", announced=None, tail=b""):
    facets = b"".join(bytes(12) + corner.astype("<f4").tobytes() + b"\0\0" for corner in corners)
    count = len(corners) if announced is None else announced
    return header.ljust(80, b" ") + count.to_bytes(4, "little") + facets + tail


def text(corners, end="endsolid\n", number="{:g}"):
    lines = ["solid ring"]
    for corner in corners:
        lines += ["facet normal 0 0 1", "outer loop"]
        lines += ["vertex " + " ".join(number.format(float(value)) for value in point) for point in corner]
        lines += ["endloop", "endfacet"]
    return "\n".join([*lines, end]).encode()


def code(content):
    soup = parse(content)
    assert soup.corners is None
    (remark,) = soup.remarks
    assert remark.level == "stop"
    return remark.code


def test_binary_and_text_hold_the_same_triangles():
    assert np.array_equal(parse(binary(CORNERS)).corners, CORNERS)
    assert np.array_equal(parse(text(CORNERS)).corners, CORNERS)


def test_binary_with_a_header_that_says_solid_is_binary():
    soup = parse(binary(CORNERS, header=b"solid facet exported"))
    assert np.array_equal(soup.corners, CORNERS)
    assert soup.remarks == ()


def test_text_on_one_line_and_in_capitals_is_read():
    assert np.array_equal(
        parse(text(CORNERS).replace(b"\n", b" ").upper().replace(b"SOLID", b"solid", 1)).corners, CORNERS
    )


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"", "shape.file-empty"),
        (binary(CORNERS)[:-30], "shape.file-cut"),
        (binary(CORNERS)[:60], "shape.file-cut"),
        (binary(CORNERS, announced=2**32 - 1), "shape.file-cut"),
        (binary(CORNERS, announced=1), "shape.stl-count"),
        (binary(CORNERS[:0]), "shape.file-no-triangles"),
        (b"solid nothing\nendsolid nothing\n", "shape.file-no-triangles"),
        (binary(np.full((1, 3, 3), np.nan)), "shape.file-not-finite"),
        (binary(np.full((1, 3, 3), np.inf)), "shape.file-not-finite"),
        (text(CORNERS).replace(b"vertex 3", b"vertex nan"), "shape.file-not-finite"),
        (text(CORNERS).replace(b"vertex 3", b"vertex 1e999"), "shape.file-not-finite"),
        (binary(np.full((1, 3, 3), 1e6)), "shape.file-far"),
        (binary(np.full((1, 3, 3), -3e38)), "shape.file-far"),
        (binary(np.zeros((MOST + 1, 3, 3))), "shape.too-many-triangles"),
        (text(np.zeros((MOST + 1, 3, 3))), "shape.too-many-triangles"),
        (b"<!DOCTYPE html><html><body>not found</body></html>" * 9, "shape.file-no-pattern"),
        (b"PK\x03\x04" + bytes(300), "shape.file-other-kind"),
        (b"a letter about a ring, in plain words and long enough to fill a header and more", "shape.file-no-pattern"),
        (text(CORNERS, number="{:.2f}").replace(b".", b","), "shape.stl-comma"),
        (text(CORNERS).replace(b"vertex 3 4 5", b"vertex 3 4"), "shape.stl-text-broken"),
        (text(CORNERS).replace(b"vertex 3 4 5", b"vertex 3 4 five"), "shape.stl-text-broken"),
        (text(CORNERS)[:-90], "shape.stl-text-cut"),
    ],
)  # fmt: skip
def test_unusable_content_is_refused_by_name(content, wanted):
    assert code(content) == wanted


def test_a_few_bytes_too_many_are_mentioned():
    soup = parse(binary(CORNERS, tail=b"note"))
    assert np.array_equal(soup.corners, CORNERS)
    assert [(one.code, one.level) for one in soup.remarks] == [("shape.file-trailing", "look")]


def test_text_without_its_last_word_is_mentioned():
    soup = parse(text(CORNERS, end=""))
    assert len(soup.corners) == 2
    assert [one.code for one in soup.remarks] == ["shape.stl-no-end"]
