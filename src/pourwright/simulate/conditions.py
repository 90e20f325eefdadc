"""What a flask is poured under: best values with their ranges, and single cases drawn from them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from pourwright.core.interval import Interval, latin
from pourwright.matter.laws import freezing_shrinkage, surrounding
from pourwright.matter.moulds import mould as find_mould


@dataclass(frozen=True)
class Conditions:
    """Materials and temperatures with their ranges.

    Parameters
    ----------
    alloy, mould, wall : str
        As in the tables.
    pour_K, flask_K : Interval
        Metal as it enters, and mould, when the flask is full [K].
    conductivity_ratio : Interval
        Of the mould, as multiples of the tables' value.
    contact_W_m2K, after_gap_W_m2K : Interval
        Between metal and mould, before and after the frozen skin has left the mould [W/m2/K].
    shrinkage_frac : Interval
        Share of its volume that the alloy loses on freezing.
    room_K : float
        Air and walls round the flask [K].
    """

    alloy: str
    mould: str
    pour_K: Interval
    flask_K: Interval
    conductivity_ratio: Interval
    contact_W_m2K: Interval
    after_gap_W_m2K: Interval
    shrinkage_frac: Interval
    room_K: float
    wall: str = "stainless-steel"


@dataclass(frozen=True)
class Case:
    """One value out of each range, units as in :class:`Conditions`."""

    pour_K: float
    flask_K: float
    conductivity_ratio: float
    contact_W_m2K: float
    after_gap_W_m2K: float
    shrinkage_frac: float


def conditions_for(alloy: str, mould: str, pour_K: Interval, flask_K: Interval, room_K: float) -> Conditions:
    """Return conditions with the tables' ranges for everything but the two temperatures [K].

    Raises
    ------
    DataError
        No such alloy or mould, or the tables lack a value.
    """
    conductivity = find_mould(mould).conductivity_W_mK
    return Conditions(
        alloy,
        mould,
        pour_K,
        flask_K,
        conductivity.scaled(1 / conductivity.best, ""),
        surrounding("contact"),
        surrounding("after_gap"),
        freezing_shrinkage(alloy),
        room_K,
    )


def ranges(conditions: Conditions) -> Mapping[str, Interval]:
    """Return the ranges of a case's values by their names."""
    return {name: getattr(conditions, name) for name in Case.__dataclass_fields__}


def best_case(conditions: Conditions) -> Case:
    """Return the case of all best values."""
    return Case(**{name: one.best for name, one in ranges(conditions).items()})


def draw_cases(conditions: Conditions, count: int, seed: int) -> tuple[Case, ...]:
    """Draw cases that fill the ranges evenly, the same for the same seed.

    A contact that would grow when the gap opens makes no sense: there the gap takes the smaller of the two.
    """
    drawn = latin(ranges(conditions), count, seed)
    rows = ({name: float(values[row]) for name, values in drawn.items()} for row in range(count))
    return tuple(Case(**_falling(one)) for one in rows)


def _falling(drawn: dict[str, float]) -> dict[str, float]:
    return drawn | {"after_gap_W_m2K": min(drawn["after_gap_W_m2K"], drawn["contact_W_m2K"])}


def as_plain(conditions: Conditions) -> dict[str, object]:
    """Return conditions as plain JSON values."""
    return asdict(conditions)
