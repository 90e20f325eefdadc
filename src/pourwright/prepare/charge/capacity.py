"""How much metal a flask can take above its funnel, before any tree is built."""

from __future__ import annotations

from pourwright.core.figure import Figure


def usable_metal_g(
    button_cm3: Figure,
    funnel_cm3: Figure,
    solid_g_cm3: Figure,
    melt_g_cm3: Figure,
    vessel_cm3: Figure,
    loss_frac: Figure,
) -> float:
    """Return the mass of pieces, sprue and gates for which a charge is still possible [g].

    Parameters
    ----------
    button_cm3, funnel_cm3 : Figure
        Button wanted, and funnel of the base [cm**3].
    solid_g_cm3, melt_g_cm3 : Figure
        Density of the sound solid, and of the melt, whose low end counts [g/cm**3].
    vessel_cm3 : Figure
        Melt that the crucible may hold [cm**3].
    loss_frac : Figure
        Share lost in melting.

    Notes
    -----
    With cavity c, the floor (c + button) solid / (1 - loss) must not be above the ceiling (c + funnel) melt, nor above
    what the crucible holds. Solid metal being denser than the melt, both bound c from above.
    """
    cast = solid_g_cm3.value / (1.0 - loss_frac.value)
    melt = melt_g_cm3.low
    by_crucible = vessel_cm3.value * melt / cast - button_cm3.value
    spare = funnel_cm3.value * melt - button_cm3.value * cast
    by_funnel = spare / (cast - melt) if cast > melt else by_crucible
    return max(0.0, min(by_crucible, by_funnel)) * solid_g_cm3.value
