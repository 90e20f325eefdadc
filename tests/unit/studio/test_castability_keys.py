"""Keys of castability: the gate's place, who accepted, the limit at intake, lengths drawn and measured."""

from __future__ import annotations

import pytest

from pourwright.studio.keys import PIECE
from pourwright.studio.place import Place
from pourwright.studio.toml_source import TomlSource
from pourwright.studio.values import read_value

_GATE = next(one for one in PIECE.fields if one.key == "gate")


def _read(raw):
    place = Place(TomlSource("day.toml", {}), label="piece P01")
    return read_value(_GATE, raw, place), [one.code for one in place.found]


def test_a_gate_is_three_numbers_in_mm():
    assert _read([1, -2.5, 11.5]) == ((1.0, -2.5, 11.5), [])


@pytest.mark.parametrize(
    "raw", [[1, 2], [1, 2, "3"], [1, 2, True], "1 2 3", [1e9, 0, 0], [float("nan"), 0, 0], {"x": 1}]
)
def test_anything_else_is_no_place(raw):
    assert _read(raw) == (None, ["studio.point-form"])
