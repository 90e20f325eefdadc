"""The card of a piece: which lots it holds, how fine it is at worst, and what must not be claimed of it."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from pourwright.core.figure import Figure
from pourwright.prepare.after.results import LotShare

_HUNDREDTHS = 100


def lot_shares(mass_g: float, charge: Mapping[str, float], uncertain: Collection[str]) -> tuple[LotShare, ...]:
    """Share a piece's mass over the lots of its charge.

    Parameters
    ----------
    mass_g : float
        Of the piece [g].
    charge : mapping of str to float
        What was weighed of each lot, in g.
    uncertain : collection of str
        Lots that nobody vouches for.

    Returns
    -------
    tuple of LotShare
        In hundredths of a gram that sum to the mass rounded to a hundredth; the largest remainders get what is left.
    """
    total = sum(charge.values())
    if total <= 0:
        return ()
    whole = round(mass_g * _HUNDREDTHS)
    exact = {lot: whole * part / total for lot, part in charge.items()}
    marks = {lot: int(part) for lot, part in exact.items()}
    by_rest = sorted(exact, key=lambda lot: marks[lot] - exact[lot])
    for lot in by_rest[: whole - sum(marks.values())]:
        marks[lot] += 1
    return tuple(LotShare(lot, part / _HUNDREDTHS, lot not in uncertain) for lot, part in marks.items() if part)


def remark_for(lots: Collection[LotShare], worst_permille: Figure, standard_permille: float) -> str:
    """Return the catalogue key of what must not be claimed of a piece, or an empty text.

    Parameters
    ----------
    lots : collection of LotShare
        What the piece holds.
    worst_permille : Figure
        Fineness if every weighing is off the wrong way [permille].
    standard_permille : float
        What the alloy must hold [permille]; nothing to claim where it is 0.
    """
    if standard_permille <= 0:
        return ""
    sure = all(one.certain for one in lots) and worst_permille.value >= standard_permille - 1e-9
    return "" if sure else "prepare.card-not-sold"
