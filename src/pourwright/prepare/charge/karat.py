"""Raise or lower the fineness of a lot by adding a finer or a baser metal."""

from __future__ import annotations

from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show

FULL_KARAT_COUNT = 24


def karat_permille(karat_count: float) -> float:
    """Return the fineness of a karat mark as the sum gives it [permille]; marks round it (14 karat is marked 585)."""
    return 1000.0 * karat_count / FULL_KARAT_COUNT


def addition_g(mass_g: float, has_permille: float, wanted_permille: float, added_permille: float) -> float:
    """Return how much metal to add to reach a fineness [g].

    Parameters
    ----------
    mass_g : float
        What is there [g].
    has_permille, wanted_permille : float
        Its fineness, and the one wanted [permille].
    added_permille : float
        Fineness of what is added [permille]; 0 for base metal.

    Raises
    ------
    ValueError
        The added metal can never bring the lot there.

    Notes
    -----
    mass (wanted - has) / (added - wanted), from the mass balance of the noble metal.
    """
    if wanted_permille == has_permille:
        return 0.0
    if not _between(has_permille, wanted_permille, added_permille):
        raise ValueError(f"{added_permille} added to {has_permille} never makes {wanted_permille}")
    return mass_g * (wanted_permille - has_permille) / (added_permille - wanted_permille)


def _between(has_permille: float, wanted_permille: float, added_permille: float) -> bool:
    return min(has_permille, added_permille) < wanted_permille < max(has_permille, added_permille)


def change_fineness(
    mass_g: Figure, has_permille: Figure, wanted_permille: Figure, added_permille: Figure, where: str = ""
) -> tuple[Figure | None, tuple[Finding, ...]]:
    """Return what to add to a lot as a figure in grams, or the finding that says why nothing helps.

    Parameters
    ----------
    mass_g, has_permille : Figure
        The lot [g] and its fineness [permille]; an unknown lot as a range.
    wanted_permille, added_permille : Figure
        The aim, and the fineness of what is added [permille].
    where : str
        The lot's name, for the finding.
    """
    ends = [(low, wanted_permille.value, added_permille.value) for low in (has_permille.low, has_permille.high)]
    if not all(has == wanted or _between(has, wanted, added) for has, wanted, added in ends):
        params = {
            "has": show(has_permille.value, "permille"),
            "wanted": show(wanted_permille.value, "permille"),
            "added": show(added_permille.value, "permille"),
        }
        return None, (Finding("prepare.karat-never", Level.STOP, where, params),)
    inputs = {"mass": mass_g, "has": has_permille, "wanted": wanted_permille, "added": added_permille}
    return reckon("g", "prepare.karat-addition", _addition_by_name, inputs), ()


def _addition_by_name(mass: float, has: float, wanted: float, added: float) -> float:
    return addition_g(mass, has, wanted, added)
