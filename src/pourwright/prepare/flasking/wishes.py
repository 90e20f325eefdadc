"""What must share a flask and what must not: wishes, stones, flask temperatures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.prepare.flasking.results import PieceToPlace, WindowC


@dataclass(frozen=True)
class Bundle:
    """Pieces that are one thing to the packing: one alone, or those that must share a flask."""

    pieces: frozenset[int]
    wish_flask: str


def gather_bundles(pieces: Sequence[PieceToPlace]) -> list[Bundle]:
    """Join pieces that share a word or a wished flask; the order is that of their first pieces."""
    joined: list[set[int]] = []
    for number, piece in enumerate(pieces):
        marks = _marks(piece)
        same = [group for group in joined if any(marks & _marks(pieces[other]) for other in group)]
        joined = [group for group in joined if group not in same] + [set().union({number}, *same)]
    ordered = sorted(joined, key=min)
    return [Bundle(frozenset(group), _wish(pieces, group)) for group in ordered]


def _marks(piece: PieceToPlace) -> frozenset[tuple[str, str]]:
    marks = (("flask", piece.wish_flask), ("together", piece.together))
    return frozenset(mark for mark in marks if mark[1])


def _wish(pieces: Sequence[PieceToPlace], group: set[int]) -> str:
    return next((pieces[number].wish_flask for number in sorted(group) if pieces[number].wish_flask), "")


def why_apart(one: PieceToPlace, other: PieceToPlace) -> str:
    """Return the code of the reason why two pieces must not share a flask, or an empty text."""
    if other.id in one.apart_from or one.id in other.apart_from:
        return "prepare.flasking-apart"
    if one.wish_flask and other.wish_flask and one.wish_flask != other.wish_flask:
        return "prepare.flasking-two-flasks"
    if one.stones != other.stones:
        return "prepare.flasking-stones"
    windows = (one.window_C, other.window_C)
    if None not in windows and common_window_C(windows) is None:
        return "prepare.flasking-windows"
    return ""


def find_clashes(pieces: Sequence[PieceToPlace], bundle: Bundle) -> list[Finding]:
    """Say which pieces are wished together and cannot be."""
    findings = []
    for first, second in combinations(sorted(bundle.pieces), 2):
        one, other = pieces[first], pieces[second]
        if code := why_apart(one, other):
            params = {"one": one.id, "other": other.id, "first": _window(one), "second": _window(other)}
            findings.append(Finding(code, Level.STOP, one.id, params))
    return findings


def _window(piece: PieceToPlace) -> str:
    return "" if piece.window_C is None else f"{show(piece.window_C[0], 'C')} – {show(piece.window_C[1], 'C')}"


def common_window_C(windows: Sequence[WindowC | None]) -> WindowC | None:
    """Return the temperatures [degC] inside all windows given, or None if none is given or none is common."""
    known = [one for one in windows if one is not None]
    if not known:
        return None
    low, high = max(one[0] for one in known), min(one[1] for one in known)
    return (low, high) if low <= high else None
