"""How often metal has been melted: what a share of new metal means in the long run, and what a charge holds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable


def mean_melts_count(new_frac: float) -> float:
    """Return how many earlier melts the metal has seen on the mean, if every charge holds this share of new metal.

    Parameters
    ----------
    new_frac : float
        Share of new metal in each charge, over 0.

    Notes
    -----
    Of what was new n charges ago the share (1 - new)^n is still there, so ages are spread geometrically with the mean
    (1 - new) / new.
    """
    if not 0 < new_frac <= 1:
        raise ValueError(f"a share of new metal of {new_frac} has no long run")
    return (1.0 - new_frac) / new_frac


def often_melted_frac(new_frac: float, least_melts_count: int) -> float:
    """Return the share of the metal that has seen so many earlier melts or more, in the long run of such charges."""
    if not 0 < new_frac <= 1:
        raise ValueError(f"a share of new metal of {new_frac} has no long run")
    return float((1.0 - new_frac) ** least_melts_count)


def ages_frac(parts: Iterable[tuple[int, float]]) -> dict[int, float]:
    """Return the share of a charge by earlier melts, youngest first.

    Parameters
    ----------
    parts : iterable of (int, float)
        Earlier melts and mass [g] of each part of the charge.
    """
    masses_g: dict[int, float] = defaultdict(float)
    for melts_count, mass_g in parts:
        masses_g[melts_count] += mass_g
    whole_g = sum(masses_g.values())
    return {melts: masses_g[melts] / whole_g for melts in sorted(masses_g)}
