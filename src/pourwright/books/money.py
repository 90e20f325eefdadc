"""Shares of money that add up to the hundredth."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

_HUNDREDTH = Decimal("0.01")


def to_cents(amount: Decimal) -> Decimal:
    """Return an amount rounded to the hundredth, halves up."""
    return amount.quantize(_HUNDREDTH, ROUND_HALF_UP)


def shares_of(total: Decimal, weights: Mapping[str, int]) -> dict[str, Decimal]:
    """Divide an amount by weight so that the shares add up to it.

    Parameters
    ----------
    total : Decimal
        Amount in whole hundredths.
    weights : mapping of str to int
        Weight of each owner, for example cast milligrams; all zero divides evenly.

    Returns
    -------
    dict of str to Decimal
        By largest remainder, ties by owner.

    Raises
    ------
    ValueError
        The amount is not in whole hundredths, or nobody is there to share it.
    """
    if total != to_cents(total):
        raise ValueError(f"{total} is not in whole hundredths")
    if not weights:
        raise ValueError("nobody shares")
    cents = int(total * 100)
    even = not any(weights.values())
    whole = len(weights) if even else sum(weights.values())
    exact = {owner: Fraction(cents * (1 if even else weight), whole) for owner, weight in weights.items()}
    floors = {owner: one.numerator // one.denominator for owner, one in exact.items()}
    by_rest = sorted(exact, key=lambda owner: (-(exact[owner] - floors[owner]), owner))
    for owner in by_rest[: cents - sum(floors.values())]:
        floors[owner] += 1
    return {owner: (Decimal(one) / 100).quantize(_HUNDREDTH) for owner, one in sorted(floors.items())}


def pour_bill(
    cast_mg: Mapping[str, int], loss_mg: int, price_per_g: Decimal, overhead: Decimal, seats: Mapping[str, int]
) -> dict[str, tuple[Decimal, Decimal]]:
    """Return what each owner pays for a pour: metal, with the loss shared by cast mass, and a share of the overhead.

    Parameters
    ----------
    cast_mg : mapping of str to int
        Cast mass of each owner's pieces.
    loss_mg : int
        What the pour lost.
    price_per_g : Decimal
        Price of the alloy.
    overhead : Decimal
        Kiln, gas, investment: shared by seats.
    seats : mapping of str to int
        Shares of the overhead by owner, also of those who did not come.

    Returns
    -------
    dict of str to (Decimal, Decimal)
        Metal and overhead of each owner.
    """
    metal = to_cents((Decimal(sum(cast_mg.values()) + loss_mg) / 1000) * price_per_g)
    metal_shares = shares_of(metal, cast_mg) if cast_mg else {}
    overhead_shares = shares_of(to_cents(overhead), seats) if seats else {}
    nothing = Decimal("0.00")
    owners = sorted({*metal_shares, *overhead_shares})
    return {one: (metal_shares.get(one, nothing), overhead_shares.get(one, nothing)) for one in owners}
