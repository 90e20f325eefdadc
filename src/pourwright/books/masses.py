"""Whole milligrams: split into elements, and into portions of a melt, without making or losing one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

# Metal whose composition nobody has assayed is booked under this sign: its gross is known, its silver is not.
UNKNOWN = "?"
_MG_PER_G = 1000


def mg_from_g(mass_g: float | str | Decimal) -> int:
    """Return a mass as whole milligrams; the text or number as it was written, so that no binary dust decides."""
    return int((Decimal(str(mass_g)) * _MG_PER_G).to_integral_value(ROUND_HALF_EVEN))


def g_from_mg(mass_mg: int) -> Decimal:
    """Return whole milligrams as grams, exactly."""
    return Decimal(mass_mg) / _MG_PER_G


def split_mg(gross_mg: int, share_ppm: Mapping[str, int]) -> dict[str, int]:
    """Split a gross mass into elements by largest remainder, ties by name, so that they add up to it.

    Parameters
    ----------
    gross_mg : int
        Mass to split.
    share_ppm : mapping of str to int
        Share of each element in millionths; they add up to a million.

    Raises
    ------
    ValueError
        The shares do not add up.
    """
    whole = sum(share_ppm.values())
    if whole != 1_000_000:
        raise ValueError(f"shares add up to {whole}, not to a million")
    floors = {name: gross_mg * share // whole for name, share in share_ppm.items()}
    by_rest = sorted(share_ppm, key=lambda name: (-(gross_mg * share_ppm[name] % whole), name))
    for name in by_rest[: gross_mg - sum(floors.values())]:
        floors[name] += 1
    return {name: mass for name, mass in floors.items() if mass}


def portions_mg(portions_gross_mg: Sequence[int], melt_mg: Mapping[str, int]) -> list[dict[str, int]]:
    """Divide a melt into portions of like composition, so that portions and elements both add up to the milligram.

    Parameters
    ----------
    portions_gross_mg : sequence of int
        Gross mass of each portion; together they are the melt.
    melt_mg : mapping of str to int
        What the melt holds of each element.

    Returns
    -------
    list of dict
        Elements of each portion. Every border between portions is rounded once, so no portion is off by more than a
        milligram of an element, and none is negative; the main element takes what is left.

    Raises
    ------
    ValueError
        The portions are not the melt.
    """
    gross_mg = sum(melt_mg.values())
    if sum(portions_gross_mg) != gross_mg:
        raise ValueError(f"portions of {sum(portions_gross_mg)} mg from a melt of {gross_mg} mg")
    main = max(sorted(melt_mg), key=lambda name: melt_mg[name], default="")
    found, passed_mg, before = [], 0, dict.fromkeys(melt_mg, 0)
    for portion_mg in portions_gross_mg:
        passed_mg += portion_mg
        border = {name: round(Fraction(passed_mg * mass, gross_mg)) for name, mass in melt_mg.items() if name != main}
        border[main] = passed_mg - sum(border.values())
        found.append({name: border[name] - before[name] for name in melt_mg if border[name] != before[name]})
        before = border
    return found


def to_ppm(shares_frac: Mapping[str, float]) -> dict[str, int]:
    """Return mass shares as millionths that add up to a million."""
    scaled = {name: Fraction(str(share)) for name, share in shares_frac.items() if share > 0}
    whole = sum(scaled.values())
    floors = {name: int(share * 1_000_000 // whole) for name, share in scaled.items()}
    by_rest = sorted(scaled, key=lambda name: (-(scaled[name] * 1_000_000 / whole - floors[name]), name))
    for name in by_rest[: 1_000_000 - sum(floors.values())]:
        floors[name] += 1
    return floors
