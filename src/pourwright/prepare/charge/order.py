"""What is asked for when a charge is weighed together, and the recipe that follows from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pourwright.matter.alloys import Alloy
from pourwright.prepare.charge.lots import MeltLot
from pourwright.prepare.charge.mixture import Recipe


@dataclass(frozen=True)
class Order:
    """What is asked for: alloy, mass [g], lots, scale (one mark and the error of one weighing [g]), most scrap.

    The first of ``elements`` is held exactly: the noble metal, or in an alloy without one the main metal.
    """

    alloy: Alloy
    mass_g: float
    lots: tuple[MeltLot, ...]
    scale_error_g: float
    scale_division_g: float
    scrap_most_frac: float
    elements: tuple[str, ...]

    @property
    def standard_permille(self) -> float:
        """What the mark promises [permille], 0 for an alloy without a noble metal."""
        return self.alloy.fineness_permille if self.alloy.element else 0.0

    @property
    def exact_permille(self) -> float:
        """Share of the element that is held exactly [permille]."""
        return self.standard_permille or self._own_permille

    @property
    def excess_most_frac(self) -> float:
        """How far the exact element may lie over, so that an alloy richer than its mark can be cast as it is."""
        return max(0.0, self._own_permille - self.exact_permille) / 1000.0

    @property
    def _own_permille(self) -> float:
        return _in_permille(self.alloy.composition_frac[self.elements[0]])

    def counted_permille(self, lot: MeltLot) -> float:
        """Share of the exact element that a lot is counted at [permille]."""
        return _in_permille(lot.shares(lot.fineness_permille.value).get(self.elements[0], 0.0))

    def low_permille(self, lot: MeltLot) -> float:
        """Share of the exact element in a lot at the low end of its fineness [permille]."""
        return _in_permille(min(self._end_shares(lot)))

    def high_permille(self, lot: MeltLot) -> float:
        """Share of the exact element in a lot at the high end of its fineness [permille]."""
        return _in_permille(max(self._end_shares(lot)))

    def _end_shares(self, lot: MeltLot) -> tuple[float, float]:
        fineness, exact = lot.fineness_permille, self.elements[0]
        return lot.shares(fineness.low).get(exact, 0.0), lot.shares(fineness.high).get(exact, 0.0)


def _in_permille(share_frac: float) -> float:
    return round(1000.0 * share_frac, 9)


def order_for(
    alloy: Alloy,
    mass_g: float,
    lots: Sequence[MeltLot],
    scale_error_g: float,
    scale_division_g: float,
    scrap_most_frac: float,
) -> Order:
    """Return the order for the parameters of :func:`pourwright.prepare.charge.alloying.alloy_charge`."""
    target = alloy.composition_frac
    exact = alloy.element or max(target, key=lambda one: target[one])
    others = sorted({one for lot in lots for one in lot.composition_frac} | set(target) - {exact})
    elements = (exact, *(one for one in others if one != exact))
    return Order(alloy, mass_g, tuple(lots), scale_error_g, scale_division_g, scrap_most_frac, elements)


def target_frac(order: Order) -> dict[str, float]:
    """Return the wanted share of each element: the exact one at the standard, the others in the alloy's proportion."""
    exact, composition = order.elements[0], order.alloy.composition_frac
    held = order.exact_permille / 1000.0
    rest = sum(share for one, share in composition.items() if one != exact)
    others = {one: composition.get(one, 0.0) * (1.0 - held) / rest if rest else 0.0 for one in order.elements[1:]}
    return {exact: held, **others}


def recipe_of(order: Order, low_end: bool = False) -> Recipe:
    """Return the recipe of an order; with ``low_end`` every lot is taken at the low end of its fineness."""
    contents = [[lot.composition_frac.get(one, 0.0) for one in order.elements] for lot in order.lots]
    if low_end:
        exact = order.elements[0]
        lean = [
            lot.shares(order.low_permille(lot)) if lot.element == exact else lot.composition_frac for lot in order.lots
        ]
        contents = [[one.get(name, 0.0) for name in order.elements] for one in lean]
    target = target_frac(order)
    return Recipe(
        np.array(contents),
        np.array([target[one] for one in order.elements]),
        np.array([_most_frac(lot, order.mass_g) for lot in order.lots]),
        tuple(lot.is_scrap for lot in order.lots),
        order.scrap_most_frac,
    )


def _most_frac(lot: MeltLot, mass_g: float) -> float:
    return 1.0 if lot.limit_g is None else lot.limit_g.value / mass_g


def kept(order: Order, amounts: Sequence[float]) -> Order:
    """Return the order with only those lots of which there is any."""
    return replace(order, lots=tuple(lot for lot, one in zip(order.lots, amounts, strict=True) if one > 0))
