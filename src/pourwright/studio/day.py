"""The day: which pieces are cast, when, in what, by whom, as read from ``day.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from pourwright.core.figure import Figure

DAY_FORMAT = 1


@dataclass(frozen=True)
class PatternPart:
    """A weighed part of a pattern, by material."""

    material: str
    mass_g: Figure


@dataclass(frozen=True)
class PieceOrder:
    """One piece to cast: from a pattern file, from weighing, or both.

    ``units`` of the file are never guessed: empty means nobody said. ``stone_g`` does not melt out.
    ``displaced_cm3`` is the volume of water that a natural object pushes aside, for what cannot be weighed into metal.
    Orders with the same word in ``together`` share a flask, those named in ``apart_from`` do not; the ends of
    ``flask_temperature_C`` are the coolest and the hottest flask that it may be cast in. ``gate_mm`` is where its gate
    is to stand, in the axes of its file; ``accepted_by`` answers for casting what is not known to fill.
    """

    id: str
    title: str
    owner: str
    material: str
    file: str = ""
    units: str = ""
    copies_count: int = 1
    parts: tuple[PatternPart, ...] = ()
    weighed_g: Figure | None = None
    stone_g: Figure | None = None
    thickest_mm: Figure | None = None
    longest_mm: Figure | None = None
    wish_flask: str = ""
    displaced_cm3: Figure | None = None
    together: str = ""
    apart_from: tuple[str, ...] = ()
    flask_temperature_C: Figure | None = None
    gate_mm: tuple[float, float, float] | None = None
    accepted_by: str = ""


@dataclass(frozen=True)
class Person:
    """Someone who works on the day; ``role``: caller, pourer, helper, teacher."""

    name: str
    role: str


@dataclass(frozen=True)
class Day:
    """Everything the day file says. ``first_pour`` carries the studio's time zone, and so does ``done_by``.

    By ``done_by`` the last pour must be done: the class ends, the next one waits.
    """

    date: date
    first_pour: datetime
    alloy: str
    pieces: tuple[PieceOrder, ...]
    people: tuple[Person, ...]
    flask_temperature_C: Figure | None
    kiln: str
    machine: str
    crucible: str
    scale: str
    powder: str
    use_lots: tuple[str, ...]
    invested_at: datetime | None = None
    sha256: str = ""
    folder: str = ""
    room_C: Figure | None = None
    weighed_by: str = ""
    done_by: datetime | None = None
