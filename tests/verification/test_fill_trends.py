"""Published trends, and what the model says of the same change; and a finer grid moves the answer less each time.

Sources, of which only the abstract was read unless said:
- Castability rises with the permeability of the mould in centrifugal casting (cast length of a coil): Journal of the
  Japanese Society for Dental Materials and Devices 3(6).
- Low-permeability moulds need vents to fill, permeable ones do not: Hero, Syverud, Waarli 1993, Dental Materials 9:15.
- Castability is set mainly by the time the front takes to freeze, so it rises with casting temperature and speed:
  "casting system effectiveness" 1992, Dental Materials 8(2):89, doi 10.1016/0109-5641(92)90062-h.
- With little gas in the way the early metal reaches the farthest part first: Journal of the Japanese Society for Dental
  Materials and Devices 11(5), a mesh in argon.
Tolerance: trends only; no numbers of these texts were readable. Case: our own, a comb of thin plates.
"""

from dataclasses import replace

import numpy as np
import pytest
from tests.small_moulds import changed, comb

from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.problem import steady_spin
from pourwright.physics.fill.ways import lay_ways

_COMB = comb(side_m=1e-3, thick_m=2e-3, pieces=4, charge_m3=6e-6)
THIN = replace(_COMB, cavity=replace(_COMB.cavity, modulus_m=np.where(_COMB.cavity.tank > 0, 0.12e-3, 1e-3)))
WAYS = lay_ways(THIN.cavity, THIN.gates)


def _cast_frac(problem):
    """Share of the plates that fills, as a mesh pattern is judged."""
    tanks = fill(problem, WAYS).tanks[1:]
    return sum(one.filled_m3 for one in tanks) / sum(one.volume_m3 for one in tanks)


def _rises(shares):
    assert np.all(np.diff(shares) >= -0.01)
    assert shares[-1] > shares[0] + 0.2


def test_more_fills_in_a_mould_that_lets_gas_out():
    _rises(
        [_cast_frac(changed(THIN, mould={"temp_K": 650.0, "permeability_m2": k})) for k in (1e-15, 1e-14, 1e-13, 1e-12)]
    )


def test_more_fills_the_faster_the_arm():
    mould = {"temp_K": 650.0, "permeability_m2": 1e-13}
    _rises(
        [_cast_frac(replace(changed(THIN, mould=mould), drive=steady_spin(w, 0.0))) for w in (7.0, 12.0, 20.0, 35.0)]
    )


def test_more_fills_the_hotter_the_flask():
    _rises(
        [
            _cast_frac(changed(THIN, mould={"temp_K": T, "permeability_m2": 5e-15}))
            for T in (450.0, 650.0, 850.0, 1050.0)
        ]
    )


def test_the_far_end_fills_first_and_gas_blurs_it():
    open_mould = fill(changed(THIN, mould={"temp_K": 1100.0, "permeability_m2": np.inf}), WAYS)
    tight = fill(changed(THIN, mould={"temp_K": 1100.0, "permeability_m2": 1e-14}), WAYS)
    far, near = open_mould.tanks[1:3], open_mould.tanks[3:5]
    assert max(one.last_s for one in far) < min(one.last_s for one in near)
    half = [float(np.nanmedian(found.arrival_s[(THIN.cavity.tank == 1)])) for found in (open_mould, tight)]
    near_half = [float(np.nanmedian(found.arrival_s[(THIN.cavity.tank == 3)])) for found in (open_mould, tight)]
    lead = [near / far for near, far in zip(near_half, half, strict=True)]
    assert lead[1] < lead[0]


@pytest.mark.parametrize("thick_m", [2e-3])
def test_halving_the_voxel_moves_the_answer_less_each_time(thick_m):
    last, warm = [], []
    for side_m in (1e-3, 0.5e-3, 0.25e-3):
        found = fill(changed(comb(side_m, thick_m), mould={"temp_K": 900.0, "permeability_m2": 1e-12}))
        last.append(np.mean([one.last_s for one in found.tanks[1:]]))
        warm.append(np.mean([one.coldest_K for one in found.tanks[1:]]))
    print(last, warm)
    assert abs(last[2] - last[1]) < abs(last[1] - last[0])
    assert abs(last[2] - last[1]) < 0.03 * last[2]
    assert abs(warm[2] - warm[1]) < 0.15 * (1240 - warm[2])
