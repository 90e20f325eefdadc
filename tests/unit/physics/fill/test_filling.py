"""What a filling says of small hollows: fates, gas, sides, drives, and refusals in sentences."""

from dataclasses import replace

import numpy as np
import pytest
from tests.small_moulds import MELT, MOULD, boxes, changed, comb, gate_of

from pourwright.core.errors import SolverError
from pourwright.physics.fill.filling import fill
from pourwright.physics.fill.problem import Drive, FillProblem, Sprue, Supply, standing_pour, steady_spin
from pourwright.physics.fill.results import Fate


def _plates(**parts):
    return changed(comb(side_m=1e-3, thick_m=2e-3, pieces=2), **parts)


def test_a_warm_open_mould_fills_and_every_number_is_there():
    problem = _plates(mould={"temp_K": 1000.0, "permeability_m2": 1e-12})
    found = fill(problem)
    assert set(found.fate) == {Fate.FILLED}
    assert found.settled
    assert [one.filled_frac for one in found.tanks] == [1.0, 1.0, 1.0]
    assert found.tanks[1].first_s < found.tanks[1].last_s <= found.last_s
    assert found.tanks[0].first_s < found.tanks[1].first_s
    assert 1000 < found.tanks[1].coldest_K < MELT.pour_K
    assert found.tanks[1].speed_m_s > 0.5
    width = np.sqrt(4 * problem.gates[0].area_m2 / np.pi)
    one = found.tanks[1]
    assert one.weber_ratio == pytest.approx(9100 * one.speed_m_s**2 * width / 0.95)
    assert one.reynolds_ratio == pytest.approx(9100 * one.speed_m_s * width / 0.004)


def test_metal_is_hot_at_the_gate_and_colder_far_from_it():
    problem = _plates(mould={"permeability_m2": 1e-12})
    found = fill(problem)
    piece = problem.cavity.tank == 1
    near = piece & (problem.cavity.place_m[:, 1] < 0.004)
    far = piece & (problem.cavity.place_m[:, 1] > 0.012)
    assert found.arrival_K[near].mean() > found.arrival_K[far].mean()


def test_a_cold_thin_plate_freezes_at_its_far_side_and_what_lies_behind_is_cut_off():
    thin = _plates(mould={"temp_K": 400.0, "permeability_m2": 5e-15})
    thin = replace(thin, cavity=replace(thin.cavity, modulus_m=np.where(thin.cavity.tank > 0, 0.12e-3, 1e-3)))
    found = fill(thin)
    assert found.tanks[0].filled_frac == 1.0
    assert 0.05 < found.tanks[1].filled_frac < 0.9
    assert np.count_nonzero(found.fate == Fate.FROZEN) > 0
    stopped = found.fate == Fate.FROZEN
    assert np.all(found.misrun_ratio[stopped] >= 1)
    assert np.all(found.solid_frac[stopped] >= MELT.stop_frac)
    filled = (found.fate == Fate.FILLED) & (thin.cavity.tank == 1)
    empty = (found.fate != Fate.FILLED) & (thin.cavity.tank == 1)
    assert thin.cavity.place_m[empty, 1].mean() > thin.cavity.place_m[filled, 1].mean()


def test_a_tight_mould_fills_later_and_pushes_back_harder():
    loose, tight = (fill(_plates(mould={"temp_K": 1000.0, "permeability_m2": k})) for k in (1e-12, 2e-14))
    assert tight.tanks[1].last_s > 1.5 * loose.tanks[1].last_s
    assert tight.tanks[1].gas_Pa > loose.tanks[1].gas_Pa


def test_pores_that_take_up_gas_let_metal_in_sooner_than_a_wall_that_only_passes_it():
    stored, steady = (fill(_plates(mould={"temp_K": 1000.0, "porosity_frac": share})) for share in (0.5, 0.0))
    assert stored.tanks[1].last_s < steady.tanks[1].last_s


def _fingers(permeability_m2):
    """A piece fed at its outer end with two fingers that point inward; the shorter shuts gas in first."""
    parts = [
        (0, (0.160, 0.0, 0.0), (0.200, 0.004, 0.004)),
        (1, (0.194, 0.004, 0.0), (0.200, 0.024, 0.002)),
        (1, (0.172, 0.006, 0.0), (0.194, 0.012, 0.002)),
        (1, (0.182, 0.016, 0.0), (0.194, 0.022, 0.002)),
    ]
    cavity = boxes(1e-3, parts)
    supply = Supply(6e-6, np.array([0.13, 0, 0]), np.array([0.15, 0, 0]), 2e-5, np.array([0.155, 0, 0]))
    return FillProblem(cavity, (gate_of(cavity, 1, 4e-6),), Sprue(16e-6, 4e-3), supply, steady_spin(25.0, 0.0), MELT,
                       replace(MOULD, temp_K=1000.0, permeability_m2=permeability_m2))  # fmt: skip


def test_gas_in_a_finger_is_listed_and_a_tight_mould_keeps_it_there():
    loose, tight = fill(_fingers(1e-12)), fill(_fingers(1e-17))
    assert [one.tank for one in loose.pockets] == [1]
    pocket = loose.pockets[0]
    assert pocket.place_m[0] < 0.184
    assert pocket.shut_s < pocket.filled_s < 1.0
    assert np.all(loose.fate[pocket.voxels] == Fate.FILLED)
    assert tight.tanks[1].filled_frac < 1.0


def test_the_gate_on_the_trailing_side_is_marked_only_while_the_arm_turns():
    assert [one.trailing for one in fill(_plates()).tanks] == [False, False, True]
    poured = replace(_plates(), drive=standing_pour(80e3), supply=_vat_above())
    assert [one.trailing for one in fill(poured).tanks] == [False, False, False]
    assert not fill(poured).leading.any()


def _vat_above():
    return Supply(4e-6, np.array([0.14, 0, 0]), np.array([0.15, 0, 0]), 12e-6, np.array([0.155, 0, 0]))


def test_a_vacuum_below_fills_what_a_standing_pour_does_not():
    thin = _plates(mould={"temp_K": 900.0})
    thin = replace(thin, cavity=replace(thin.cavity, modulus_m=np.where(thin.cavity.tank > 0, 0.1e-3, 1e-3)))
    plain = fill(replace(thin, drive=standing_pour(), supply=_vat_above()))
    drawn = fill(replace(thin, drive=standing_pour(80e3), supply=_vat_above()))
    assert plain.tanks[1].filled_frac == 0.0
    assert plain.fate[thin.cavity.tank == 1].max() in (Fate.STARVED, Fate.SHY)
    assert drawn.tanks[1].filled_frac > 0.9


def test_metal_waits_behind_the_lip_until_the_arm_pulls_hard_enough():
    # 40 degrees of slope: metal leaves when the pull along the arm is tan(40) of its weight.
    time_s = np.linspace(0, 1, 1001)
    turning, still = 25 * time_s, np.zeros(1001)
    drive = Drive(time_s, still, still, turning, np.full(1001, 25.0), still)
    problem = replace(changed(_plates(), supply={"lip_rad": np.radians(40.0)}), drive=drive)
    found = fill(problem)
    left_s = found.history.time_s[np.argmax(found.history.crucible_m3 < problem.supply.volume_m3)]
    expected_s = np.sqrt(np.tan(np.radians(40.0)) * 9.80665 / 0.13) / 25
    assert left_s == pytest.approx(expected_s, abs=0.004)


def test_too_little_metal_leaves_the_near_piece_without():
    whole = changed(comb(side_m=1e-3, thick_m=2e-3, pieces=4), mould={"temp_K": 1100.0, "permeability_m2": np.inf})
    found = fill(changed(whole, supply={"volume_m3": 0.9e-6}))
    assert found.tanks[1].filled_frac == 1.0
    assert found.tanks[3].filled_frac < 0.5
    assert np.any(found.fate[whole.cavity.tank == 3] == Fate.STARVED)
    assert np.all(np.isinf(found.misrun_ratio[found.fate == Fate.STARVED]))


def test_the_folded_arm_is_asked_for_its_true_pull_not_the_straight_one():
    # The same turning, but the hinge holds the flask back: along it only a third of the pull is felt.
    straight = fill(_plates(mould={"temp_K": 1100.0, "permeability_m2": np.inf}))
    still = np.zeros(1)
    held = Drive(still, np.full(1, -0.1 * 25.0**2), np.full(1, -20.0), np.full(1, 25.0), still, still)
    folded = fill(replace(_plates(mould={"temp_K": 1100.0, "permeability_m2": np.inf}), drive=held))
    assert folded.last_s > 1.2 * straight.last_s
    assert folded.book.error_frac < 1e-11


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"mould": {"temp_K": 1200.0}}, "begins to freeze"),
        ({"melt": {"pour_K": 1100.0}}, "colder than"),
        ({"supply": {"volume_m3": 0.0}}, "Metal in the crucible"),
        ({"supply": {"discharge_ratio": 1.2}}, "share of the ideal flow"),
        ({"mould": {"permeability_m2": -1.0}}, "permeability"),
        ({"drive": {"time_s": np.array([0.0, 0.0])}}, "rising times"),
        ({"control": {"share_max_frac": 0.9}}, "at most a half"),
        ({"cavity": {"inlet": np.zeros(0, np.int32)}}, "no hollow to fill"),
        ({"cavity": {"vent_m": np.zeros(3)}}, "one entry for each cube"),
        ({"melt": {"enthalpy_J_m3": np.zeros(4)}}, "must rise"),
    ],
)  # fmt: skip
def test_a_problem_that_could_only_give_a_wrong_number_is_refused_in_a_sentence(parts, words):
    with pytest.raises(SolverError, match=words):
        fill(_plates(**parts))


def test_a_gate_into_the_wrong_piece_is_refused_by_name():
    problem = _plates()
    wrong = replace(problem.gates[0], tank=2)
    with pytest.raises(SolverError, match="piece-2"):
        fill(replace(problem, gates=(wrong, problem.gates[1])))
