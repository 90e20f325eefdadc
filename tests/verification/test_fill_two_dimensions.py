"""A case in two dimensions that was followed once with particles: what the reduced model says of it, and how far off.

Case: a slice across a turning flask, 20 rad/s, vented, nothing cooling: metal from 100 to 130 mm, a sprue 4 mm wide to
165 mm, two far and two near chambers behind 2 mm gates; discharge 0.61, nothing fitted. The size of the chambers and
the width of the crucible were not written down; 110 mm2 and 20.6 mm follow from the rates and from the 2478 particles
of 0.25 mm2 (and were then moved, the chambers from 120 and the mouth's column from 2.0 to 1.5 times its length, until
the times met). So do the places of the gates: at the far end, and at 140 mm. So this shows that the model is of one
piece with its sketch; it is no independent proof.

Source: our own runs of a reduced model (first column) and of a weakly compressible particle code in the turning frame
(second: without the sideways force of turning; third: with it, trailing side).

| event | reduced | particles | with the sideways force |
|---|---|---|---|
| stream tip at the far end | 25.0 ms | 23.6 | 22.6 |
| sprue half full | 25.9 | 25.4 | 25.9 |
| far chambers 5 % | 29.2 | 32.0 | 35.8 |
| far chambers 25 % | 41.8 | 46 | 51.3 |
| far chambers 50 % | 57.2 | 64.5 | 69.2 |
| near chambers at 70 ms | 0 % | 0 % | 8 % trailing, 0 % leading |

Tolerance: 12 % of the reduced numbers, for the sizes that had to be worked back (20 % of the half full sprue, where it
matters whether a stream is counted before it lands), and 20 % of the particles without the sideways force, which is
what the model is held to be worth. With it the chambers fill up to 30 % later than said.
"""

from dataclasses import replace

import numpy as np
import pytest
from tests.small_moulds import MELT, MOULD, boxes, gate_of

from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.problem import FillControl, FillProblem, Sprue, Supply, steady_spin

SLICE_M = 0.5e-3
REDUCED_MS = {"tip": 25.0, "half": 25.9, "5": 29.2, "25": 41.8, "50": 57.2}
PARTICLES_MS = {"tip": 23.6, "half": 25.4, "5": 32.0, "25": 46.0, "50": 64.5}


@pytest.fixture(scope="module")
def found():
    slice_ = (-SLICE_M / 2, SLICE_M / 2)

    def part(tank, along, across):
        return tank, (along[0], across[0], slice_[0]), (along[1], across[1], slice_[1])

    parts = [
        part(0, (0.130, 0.165), (-0.002, 0.002)),
        part(1, (0.155, 0.165), (0.002, 0.013)), part(2, (0.155, 0.165), (-0.013, -0.002)),
        part(3, (0.135, 0.145), (0.002, 0.013)), part(4, (0.135, 0.145), (-0.013, -0.002)),
    ]  # fmt: skip
    cavity = boxes(SLICE_M, parts, names=("sprue", "far", "far too", "near", "near too"), walled=(0, 1))
    gates = tuple(
        replace(gate_of(cavity, tank, 2e-3 * SLICE_M, 0.0, 0.61), place_m=np.array([out, side * 0.002, 0.0]))
        for tank, out, side in ((1, 0.164, 1), (2, 0.164, -1), (3, 0.140, 1), (4, 0.140, -1))
    )
    # The column in the crucible, 30 mm of 20.6 mm wide, at the mouth's 4 mm; half as much again where it narrows.
    supply = Supply(0.030 * 0.0206 * SLICE_M, np.array([0.100, 0, 0]), np.array([0.130, 0, 0]), 4e-3 * SLICE_M,
                    np.array([0.130, 0, 0]), 0.61, 1.5 * 0.030 * 4 / 20.6)  # fmt: skip
    problem = FillProblem(
        cavity, gates, Sprue(4e-3 * SLICE_M, 4e-3, 0.0, 0.0), supply, steady_spin(20.0, 0.0, 0.0),
        replace(MELT, contact_deg=90.0), replace(MOULD, temp_K=1160.0, permeability_m2=np.inf),
        FillControl(step_max_s=1e-4, time_limit_s=0.3),
    )  # fmt: skip
    return fill(problem)


def _times_ms(found):
    history = found.history

    def when(tank, share):
        volume = history.volume_m3[:, tank]
        return 1e3 * float(
            np.interp(share * found.tanks[tank].volume_m3, np.maximum.accumulate(volume), history.time_s)
        )

    in_sprue = history.crucible_m3[0] - history.crucible_m3 - history.volume_m3[:, 1:].sum(axis=1)
    half = 1e3 * float(history.time_s[np.argmax(in_sprue > found.tanks[0].volume_m3 / 2)])  # the stream counted in
    return {"tip": when(0, 0.002), "half": half, "5": when(1, 0.05), "25": when(1, 0.25), "50": when(1, 0.5)}


@pytest.mark.parametrize("event", list(REDUCED_MS))
def test_the_reduced_model_gives_the_times_it_gave(found, event):
    assert _times_ms(found)[event] == pytest.approx(REDUCED_MS[event], rel=0.20 if event == "half" else 0.12)


@pytest.mark.parametrize("event", list(PARTICLES_MS))
def test_the_reduced_model_is_within_a_fifth_of_the_particles(found, event):
    assert _times_ms(found)[event] == pytest.approx(PARTICLES_MS[event], rel=0.20)


def test_near_chambers_are_empty_while_the_far_ones_fill(found):
    row = np.searchsorted(found.history.time_s, 0.070)
    assert found.history.volume_m3[row, 3:].max() == 0.0
    assert found.history.volume_m3[row, 1:3].min() > 0


def test_the_chambers_on_the_trailing_side_are_marked(found):
    assert [one.trailing for one in found.tanks] == [False, False, True, False, True]
    assert found.leading.any()
