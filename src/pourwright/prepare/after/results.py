"""Steps before investing and after the quench, and the card of each piece."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pourwright.core.figure import Figure


@dataclass(frozen=True)
class FlaskWork:
    """A flask as the bench knows it: number scratched, base, pieces on it, whether stones are in place."""

    number: int
    base: str
    pieces: tuple[str, ...]
    stones: bool


@dataclass(frozen=True)
class Step:
    """One thing to do and check: ``what`` is a catalogue key, ``params`` its blanks, ``role`` who does it.

    ``prompts`` are ids of safety prompts; ``write_in`` are catalogue keys of what is weighed or signed there and then.
    """

    what: str
    params: Mapping[str, str]
    role: str
    prompts: tuple[str, ...] = ()
    write_in: tuple[str, ...] = ()


@dataclass(frozen=True)
class LotShare:
    """What a piece holds of a lot, by its share of the charge."""

    lot: str
    mass_g: float
    certain: bool


@dataclass(frozen=True)
class PieceCard:
    """Who vouches for a piece: computed fineness, its worst case, the lots in it, who weighed.

    ``lots`` sum to ``mass_g`` to the hundredth of a gram. ``remark`` is a catalogue key, empty when nothing stands in
    the way; its blank is ``standard``. ``assay_applies`` says that the piece is heavier than the limit of the country.
    """

    piece: str
    title: str
    owner: str
    flask: str
    alloy: str
    mass_g: Figure
    fineness_permille: Figure
    worst_permille: Figure
    lots: tuple[LotShare, ...]
    weighed_by: str
    standard: str
    remark: str = ""
    assay_applies: bool = False
    write_in: tuple[str, ...] = field(default=("prepare.write-piece", "prepare.write-weigher"))
