"""Bytes changed, cut or put in anywhere: every format ends in triangles within its limits or in one refusal."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import pattern_files as good

from pourwright.shape.pattern import solids
from pourwright.shape.pattern.formats.kinds import ENDINGS, read_file
from pourwright.shape.pattern.formats.soup import Ceilings

_RING = solids.torus(9.5, 1.25, 6, 4)
_CEILINGS = Ceilings(10_000, 10**6, 10**6)
_GOOD = {name: write(_RING.vertices_mm, _RING.faces) for name, write in good.WRITERS.items()}
_GOOD["strips.ply"] = good.ply_strips(_RING.vertices_mm, [[0, 1, 2, 3], [4, 5, 6]])
_MODEL = good.model_xml(good.object_xml(1, good.mesh_xml(_RING.vertices_mm, _RING.faces)))
_STARTS = (b"", b"solid ", b"ply\nformat ascii 1.0\n", b"OFF\n", b"glTF\x02\0\0\0", b"PK\x03\x04", b"v 0 0 0\nf ")


def _ends_well(content, ending):
    soup = read_file(content, ending, _CEILINGS)
    stopped = [one for one in soup.remarks if one.level == "stop"]
    if soup.corners is None:
        assert len(stopped) == 1
    else:
        assert not stopped
        assert 0 < len(soup.corners) <= _CEILINGS.triangles_count
        assert np.isfinite(soup.corners).all()


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(_GOOD)), st.integers(0, 10**6), st.binary(max_size=6), st.integers(0, 6))
def test_a_good_file_with_some_bytes_changed_is_read_or_refused(name, place, put_in, taken_out):
    whole = _GOOD[name]
    at = place % (len(whole) + 1)
    _ends_well(whole[:at] + put_in + whole[at + taken_out :], Path(name).suffix)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(_GOOD)), st.floats(0, 1))
def test_a_file_cut_off_anywhere_gives_no_more_than_it_holds(name, share):
    whole = _GOOD[name]
    soup = read_file(whole[: int(share * len(whole))], Path(name).suffix, _CEILINGS)
    assert soup.corners is None or len(soup.corners) <= len(_RING.faces)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from(["9" * 25, "-1", "1e400", "nan", "&a;", "<", '"', "\u0663", ",5", ""]))
def test_a_model_part_with_words_changed_is_read_or_refused(place, word):
    text = _MODEL.decode()
    at = place % len(text)
    _ends_well(good.package((text[:at] + word + text[at + 1 :]).encode()), ".3mf")


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(set(ENDINGS) - {".step", ".stp"})), st.sampled_from(_STARTS), st.binary(max_size=300))
def test_any_bytes_under_any_name_are_read_or_refused(ending, start, rest):
    _ends_well(start + rest, ending)
