"""The studio's limit on what one student may cast in a day."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show_in

_PER_MILLE = 1000


def scale_to_fit_percent(mass_g: float, limit_g: float) -> float:
    """Return the linear scale [percent] at which a body of that mass [g] meets a limit [g], rounded down to 0.1."""
    return math.floor(_PER_MILLE * math.cbrt(limit_g / mass_g)) / 10.0


def intake_findings(
    limit_g: Figure | None, cast_g: Mapping[str, Sequence[Figure]], mass_unit: str = "g"
) -> tuple[Finding, ...]:
    """Say who is over the limit, by how much, and how far to shrink.

    Parameters
    ----------
    limit_g : Figure or None
        Metal in the pieces of one owner [g]; None if the studio has no limit.
    cast_g : mapping of str to sequence of Figure
        Sound mass of each piece, copies and all, by owner [g].
    mass_unit : str
        Unit the studio wants on paper.
    """
    if limit_g is None:
        return ()
    totals = {owner: sum(one.value for one in masses) for owner, masses in cast_g.items()}
    return tuple(
        _over(owner, total, limit_g.value, len(cast_g[owner]), mass_unit)
        for owner, total in totals.items()
        if total > limit_g.value
    )


def _over(owner: str, total_g: float, limit_g: float, count: int, mass_unit: str) -> Finding:
    params = {
        "owner": owner,
        "count": count,
        "total": show_in(total_g, "g", mass_unit, 1),
        "limit": show_in(limit_g, "g", mass_unit),
        "over": show_in(total_g - limit_g, "g", mass_unit, 1),
        "scale": f"{scale_to_fit_percent(total_g, limit_g):.1f}",
    }
    code = "prepare.intake-over" if count == 1 else "prepare.intake-over-several"
    return Finding(code, Level.LOOK, owner, params, ("none",))
