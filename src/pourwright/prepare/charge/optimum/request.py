"""What is asked of the stock, and what comes back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from pourwright.prepare.charge.results import Weighing


@dataclass(frozen=True)
class StockPart:
    """A lot of the stock, or one lump of it, that may go on the pan.

    Parameters
    ----------
    lot : str
        Name of the lot or lump.
    composition_frac : mapping of str to float
        Best mass share by element; adds up to one.
    noble_low_frac, noble_high_frac : float
        Range of the noble metal's share.
    mass_g : float
        What is there [g].
    whole : bool
        Whether it is a lump that goes in whole or not at all.
    price_per_g : Decimal
        What a gram is worth in the studio's money.
    is_new : bool
        Whether it was never melted with others before.
    melts_count : int
        How often it was melted here already.
    """

    lot: str
    composition_frac: Mapping[str, float]
    noble_low_frac: float
    noble_high_frac: float
    mass_g: float
    whole: bool = False
    price_per_g: Decimal = Decimal(0)
    is_new: bool = True
    melts_count: int = 0

    def contents_frac(self, element: str, noble_frac: float) -> dict[str, float]:
        """Return the share of each element if the noble metal's is as given, the others in proportion."""
        rest = {one: share for one, share in self.composition_frac.items() if one != element}
        whole = sum(rest.values())
        others = {one: (1.0 - noble_frac) * share / whole for one, share in rest.items()} if whole > 0 else {}
        return {element: noble_frac, **others}


@dataclass(frozen=True)
class Request:
    """A charge wanted.

    Parameters
    ----------
    element : str
        The noble metal of the mark, or the main metal of an alloy without one.
    standard_permille : float
        What its share must not fall below [permille].
    mass_g, surplus_most_g : float
        Mass of the charge, and by how much it may be more [g].
    windows_frac : mapping of str to (float, float)
        Least and largest share of an element after melting; an element not named may be there in any share.
    new_least_frac : float
        Least share of new metal.
    melts_mean_most_count : float or None
        Most earlier melts, on the mean over the charge.
    old_melts_count, old_most_frac : int, float
        No more than this share of metal that was melted so often or more.
    scale_division_g, scale_error_g, weigh_least_g : float
        One mark of the scale, the largest error of one weighing, and the least worth weighing on it [g].
    loss_frac : mapping of str to float
        Share of each element that burns or boils away in the melt.
    guard_frac : float
        Share of the worst case guarded against: 1 for every error in the worst direction at once.
    """

    element: str
    standard_permille: float
    mass_g: float
    surplus_most_g: float = 0.0
    windows_frac: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    new_least_frac: float = 0.0
    melts_mean_most_count: float | None = None
    old_melts_count: int = 0
    old_most_frac: float = 1.0
    scale_division_g: float = 0.01
    scale_error_g: float = 0.005
    weigh_least_g: float = 0.0
    loss_frac: Mapping[str, float] = field(default_factory=dict)
    guard_frac: float = 1.0


@dataclass(frozen=True)
class BestCharge:
    """The cheapest charge found.

    Parameters
    ----------
    weigh : tuple of Weighing
        What to put on the pan, in the order of the stock.
    cost : Decimal
        Of the metal, to the hundredth.
    proven : bool
        Whether nothing cheaper exists; False when the search ran out of time.
    composition_frac : mapping of str to float
        Share of each element after melting, at best values.
    fineness_permille, fineness_low_permille, fineness_high_permille : float
        Of the noble metal after melting: best, and with every error in the worst direction [permille].
    meets_frac : float
        Probability that the fineness is at the standard.
    new_frac, old_frac, melts_mean_count : float
        Share of new metal, share melted often, earlier melts on the mean.
    lost_g : float
        What the melt loses [g].
    """

    weigh: tuple[Weighing, ...]
    cost: Decimal
    proven: bool
    composition_frac: Mapping[str, float]
    fineness_permille: float
    fineness_low_permille: float
    fineness_high_permille: float
    meets_frac: float
    new_frac: float
    old_frac: float
    melts_mean_count: float
    lost_g: float


@dataclass(frozen=True)
class Obstacle:
    """One limit that stands in the way, and how far it alone would have to give.

    Parameters
    ----------
    limit : str
        ``mass``, ``fineness``, ``window``, ``new``, ``melts``, ``old``, ``weigh`` or ``stock``.
    subject : str
        The element of a window, the lot of a stock; else empty.
    asked, reached : float
        What was asked for and what can be had (in ``unit``).
    unit : str
        ``g``, ``permille``, ``frac`` or ``count``.
    """

    limit: str
    subject: str
    asked: float
    reached: float
    unit: str
