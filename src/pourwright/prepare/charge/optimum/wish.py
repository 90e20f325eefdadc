"""A charge of an alloy as a request: its standard, and how far its other metals may stray."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pourwright.matter.alloys import Alloy
from pourwright.prepare.charge.alloy_findings import GAP_LOOK_PERMILLE, GAP_STOP_PERMILLE
from pourwright.prepare.charge.optimum.request import Request, StockPart

Windows = Mapping[str, tuple[float, float]]


def request_for(alloy: Alloy, mass_g: float, division_g: float, error_g: float) -> Request:
    """Return the request of an alloy's charge, without windows.

    Parameters
    ----------
    alloy : Alloy
        What the charge is to be; one without a noble metal has no standard to keep.
    mass_g : float
        Mass [g].
    division_g, error_g : float
        One mark of the scale, and the error of one weighing [g].
    """
    element = alloy.element or max(alloy.composition_frac, key=lambda one: alloy.composition_frac[one])
    standard_permille = alloy.fineness_permille if alloy.element else 0.0
    return Request(element, standard_permille, mass_g, scale_division_g=division_g, scale_error_g=error_g)


def narrow_windows(alloy: Alloy, parts: Sequence[StockPart], own: Windows) -> dict[str, tuple[float, float]]:
    """Return windows so narrow that nothing needs looking at; own ones go first (in ``frac``)."""
    return _windows(alloy, parts, own, GAP_LOOK_PERMILLE)


def wide_windows(alloy: Alloy, parts: Sequence[StockPart], own: Windows) -> dict[str, tuple[float, float]]:
    """Return windows beyond which it would be another alloy; own ones go first (in ``frac``)."""
    return _windows(alloy, parts, own, GAP_STOP_PERMILLE)


def _windows(
    alloy: Alloy, parts: Sequence[StockPart], own: Windows, gap_permille: float
) -> dict[str, tuple[float, float]]:
    """Return the shares of all metals but the noble one, which its standard keeps."""
    stray = gap_permille / 1000.0
    names = {*alloy.composition_frac, *(name for one in parts for name in one.composition_frac)} - {alloy.element}
    target = {name: alloy.composition_frac.get(name, 0.0) for name in sorted(names)}
    usual = {name: (max(0.0, share - stray), share + stray) for name, share in target.items()}
    return {**usual, **own}
