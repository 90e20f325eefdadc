"""What the mould work needs to know about each flask of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pourwright.core.figure import Figure
from pourwright.studio.profile import MaterialStep


@dataclass(frozen=True)
class MouldLoad:
    """A flask to invest.

    Parameters
    ----------
    flask : str
        Id of the flask's load.
    diameter_mm, height_mm : Figure
        Inside of the steel flask.
    displaced_cm3 : Figure
        All that stands in the flask instead of investment: pieces, stones, sprue, gates and the base's dome.
    steel_g : Figure
        Mass of the empty flask.
    """

    flask: str
    diameter_mm: Figure
    height_mm: Figure
    displaced_cm3: Figure
    steel_g: Figure


@dataclass(frozen=True)
class PatternBurn:
    """A pattern material in a flask: how people call it, its family, and the id of its burnout programme.

    ``steps`` are the material's own, written for flasks of ``steps_diameter_mm``; they take the place of the programme.
    ``ash``: it leaves ash to be tapped out.
    """

    title: str
    family: str
    programme: str
    steps: tuple[MaterialStep, ...] = ()
    steps_diameter_mm: Figure | None = None
    ash: bool = False


@dataclass(frozen=True)
class PowderSheet:
    """What a powder's data sheet says of the kiln, as in :class:`pourwright.studio.profile.Powder`."""

    bench_set_min: Figure | None = None
    top_limit_C: Figure | None = None
    rapid_allowed: bool = False


NO_SHEET = PowderSheet()


@dataclass(frozen=True)
class KilnLoad:
    """A flask to burn out: id of its load, inside diameter, what its patterns are made of, stones left in place."""

    flask: str
    diameter_mm: Figure
    patterns: tuple[PatternBurn, ...]
    stones: bool = False


@dataclass(frozen=True)
class CastingStop:
    """A set-point at which flasks are poured.

    Parameters
    ----------
    temperature_C : Figure
        True temperature of the flasks [degC].
    soak_min : Figure
        Time there before the first of its pours [minute].
    pours_min : Figure
        Time that its pours take [minute].
    flasks : tuple of str
        Ids of the loads, in the order in which they are poured.
    """

    temperature_C: Figure
    soak_min: Figure
    pours_min: Figure
    flasks: tuple[str, ...]


@dataclass(frozen=True)
class BurnWish:
    """What the studio asks of a burnout besides the programmes of its patterns.

    Parameters
    ----------
    casting_C : Figure
        Flask temperature at the pour, true [degC].
    soak_min : Figure
        Time at casting temperature before the first pour [minute].
    ramp_C_h : Figure, optional
        Heating rate wanted; without it the gentler of the practice rule and the kiln.
    invested_at : datetime, optional
        When the last flask was or will be invested, with its zone.
    small_flasks_signed : bool
        Whether the keeper signed the shorter bench set for small flasks.
    room_C : Figure, optional
        Where the kiln starts; 20 C without it [degC].
    dewax : str
        ``kiln``, or ``steam`` or ``oven``, where wax leaves before the flask enters the hot kiln.
    dewax_min : Figure, optional
        How long steam or oven takes [minute].
    longest_h : float
        A programme longer than this is pointed out [hour].
    stops : tuple of CastingStop
        All set-points of the day, the hottest first, which is ``casting_C``; none if all flasks are poured at that.
    """

    casting_C: Figure
    soak_min: Figure
    ramp_C_h: Figure | None = None
    invested_at: datetime | None = None
    small_flasks_signed: bool = False
    room_C: Figure | None = None
    longest_h: float = 24.0
    dewax: str = "kiln"
    dewax_min: Figure | None = None
    stops: tuple[CastingStop, ...] = ()
