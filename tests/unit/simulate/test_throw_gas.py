"""Gas soaks into the pores of the mould: beside the exact solution for a ball, and how it goes with permeability."""

import numpy as np
import pytest
from scipy.integrate import quad

from pourwright.simulate.throw_gas import soak_depth_mm, soaking_m2, way_out_mm

GYPSUM = "gypsum-bonded"


def test_the_depth_is_the_root_of_pi_d_t():
    # D = 3e-14 m2 x 101325 Pa / (0.53 x 3.9e-5 Pa s) = 1.47e-4 m2/s, t = 0.1 s: sqrt(pi D t) = 6.80 mm
    assert soak_depth_mm(GYPSUM, 3e-14) == pytest.approx(6.80, rel=0.01)
    assert soak_depth_mm(GYPSUM, 12e-14) == pytest.approx(2 * soak_depth_mm(GYPSUM, 3e-14))


def test_a_ball_passes_what_the_heat_equation_says():
    # Flow through the skin of a ball of radius a held at a step: 4 pi a^2 k (1/a + 1/sqrt(pi D t)), here from the
    # temperature round it, a/r erfc((r - a) / (2 sqrt(D t))), by the growth of what the pores hold.
    a_mm, soaked_mm = 4.0, soak_depth_mm(GYPSUM, 3e-14)
    spread_mm2 = soaked_mm**2 / np.pi  # D t

    def held(dt_mm2):
        from scipy.special import erfc

        return quad(lambda r: 4 * np.pi * r * a_mm * erfc((r - a_mm) / (2 * np.sqrt(dt_mm2))), a_mm, a_mm + 80)[0]

    step = 1e-3 * spread_mm2
    flow_mm = (held(spread_mm2 + step) - held(spread_mm2 - step)) / (2 * step)
    assert 4 * np.pi * a_mm**2 / way_out_mm(GYPSUM, 3e-14, a_mm) == pytest.approx(flow_mm, rel=1e-4)


def test_a_large_body_loses_gas_with_the_root_of_the_permeability_and_a_small_one_with_it():
    assert soaking_m2(GYPSUM, 3e-14, 5.0) == pytest.approx(3e-14)
    assert soaking_m2(GYPSUM, 12e-14, 1e4) == pytest.approx(6e-14, rel=1e-3)
    assert soaking_m2(GYPSUM, 12e-14, 1e-3) == pytest.approx(12e-14, rel=1e-3)
