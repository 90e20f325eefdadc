"""How the gas leaves a hollow while it fills: into the pores of the mould round it.

Pores take gas up: pressure spreads into a mould as heat does, with the diffusivity ``D = k p / (porosity mu)``. After a
time t the wall of a body passes as much gas as a plain wall of thickness L with ``1/L = 1/sqrt(pi D t) + 1/a`` would:
exact for a ball of radius a that is suddenly under pressure, and close for other bodies with the ball of the same
surface. The ends of the flask are farther away than that for most of a tree, and no gas goes through steel.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from pourwright.matter.laws import surrounding
from pourwright.matter.moulds import mould as find_mould

Floats = NDArray[np.float64]

_M_MM = 1e-3
AIR_Pa = 101325.0  # standard atmosphere, exact by definition
# A gate lets metal in for about so long; the depth that gas soaks to goes with its root. Our own judgement, no source.
_SOAK_S = 0.1


def soak_depth_mm(mould_id: str, permeability_m2: float) -> float:
    """Return how thick a plain wall would pass as much gas as an endless mould with pores does [mm].

    Parameters
    ----------
    mould_id : str
        As in the tables.
    permeability_m2 : float
        Of the mould for gas [m2].
    """
    porosity = find_mould(mould_id).porosity_frac.best
    spread_m2_s = permeability_m2 * AIR_Pa / (porosity * surrounding("gas_viscosity").best)
    return float(np.sqrt(np.pi * spread_m2_s * _SOAK_S)) / _M_MM


def way_out_mm(mould_id: str, permeability_m2: float, body_mm: float | Floats) -> Floats:
    """Return how thick a plain wall would pass as much gas as a mould with pores does round bodies [mm].

    Parameters
    ----------
    mould_id : str
        As in the tables.
    permeability_m2 : float
        Of the mould for gas [m2].
    body_mm : float or array
        Radius of the ball that has as much surface as the body [mm].
    """
    return np.asarray(1 / (1 / soak_depth_mm(mould_id, permeability_m2) + 1 / np.asarray(body_mm)))


def soaking_m2(mould_id: str, permeability_m2: float, body_mm: float) -> float:
    """Return the permeability to reckon with behind walls that are as thick as a mould of the tables makes them [m2].

    Into a mould four times as permeable gas soaks twice as deep, so that of a large body twice as much leaves, not four
    times.

    Parameters
    ----------
    mould_id : str
        As in the tables.
    permeability_m2 : float
        Of the mould for gas [m2].
    body_mm : float
        As for :func:`way_out_mm` [mm].
    """
    usual_m2 = find_mould(mould_id).permeability_m2.best
    usual_mm, own_mm = (float(way_out_mm(mould_id, one, body_mm)) for one in (usual_m2, permeability_m2))
    return permeability_m2 * usual_mm / own_mm
