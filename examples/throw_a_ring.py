"""Throw a ring step by step, every array in sight: arm, hollow, drive, filling, runs over the ranges, hand-over.

    python examples/throw_a_ring.py [SIDE_MM]

The ring of freeze_a_ring.py on a made-up arm. Everything below is the public interface of the program, and each step
prints what came out of it.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from math import degrees
from pathlib import Path

import numpy as np

from pourwright.core.interval import Interval, Shape
from pourwright.physics.fill.results import Fate
from pourwright.physics.spin.arm import speed_rpm
from pourwright.physics.spin.body_force import pull_along_gee
from pourwright.physics.spin.history import HingedArm
from pourwright.physics.spin.throwing import throw_arm
from pourwright.simulate.throw_cavity import hollow_of
from pourwright.simulate.throw_conditions import Head, best_throw, drive_of, throw_conditions
from pourwright.simulate.throw_fields import fields_of, start_of
from pourwright.simulate.throw_regions import thin_places
from pourwright.simulate.throw_run import ThrowJob, run_throw, sample_throws, ways_of
from pourwright.simulate.throw_summary import Told, summarise_throw

# An arm of our own invention: spring, two bodies, hinge at 100 mm; the flask's mouth lies 70 mm beyond the hinge.
ARM = HingedArm(0.9, 1.5, 0.08, 1.9, 0.006, 0.1, 0.09, air_Nms2=1e-5)
TURNS, MOUTH_M, CRUCIBLE_MM, CHARGE_KG = 3.0, 0.07, 30.0, 0.012


def freeze_a_ring():
    """Return the other example as a module, wherever this one is run from."""
    path = Path(__file__).with_name("freeze_a_ring.py")
    described = importlib.util.spec_from_file_location("freeze_a_ring", path)
    assert described is not None and described.loader is not None
    module = importlib.util.module_from_spec(described)
    described.loader.exec_module(module)
    return module


def the_conditions():
    """Return what the ring is filled under, with the ranges of what is not known exactly."""
    return throw_conditions(
        "sterling-925",
        "gypsum-bonded",
        Head.SPIN,
        CHARGE_KG,
        room_K=293.15,
        pour_K=Interval(1228.15, 1243.15, 1258.15, "K"),
        flask_K=Interval(745.15, 753.15, 761.15, "K"),
        release_s=Interval(0.5, 1.0, 3.0, "s"),
        open_s=Interval(20.0, 30.0, 60.0, "s"),
        force_ratio=Interval(0.5, 1.0, 2.0, "", Shape.LOG_UNIFORM),
        mouth_mm=Interval(5.0, 6.0, 7.0, "mm"),
    )


def main(side_mm: float, runs_count: int = 10) -> None:
    """Run all steps with cubes of a side [mm] in the metal and so many runs over the ranges."""
    throw = throw_arm(ARM, TURNS, 3.0)
    pull = pull_along_gee(throw, MOUTH_M + 0.02)
    print(
        f"arm: hinge opens after {throw.opens_s:.2f} s at {degrees(throw.opens_at_rad):.0f} degrees, straight after "
        f"{throw.straight_s:.2f} s, fastest after {throw.peak_s:.2f} s with {speed_rpm(throw.speed_rad_s.max()):.0f} rpm"
    )
    print(f"pull at the ring: {np.interp([0.1, 0.3, 1.0], throw.time_s, pull).round(1)} x gravity at 0.1, 0.3, 1.0 s")

    flask = freeze_a_ring().the_flask()
    hollow = hollow_of(flask, side_mm, MOUTH_M)
    cavity = hollow.cavity
    print(
        f"hollow: {cavity.count} cubes in the tanks {', '.join(cavity.names)}, {1e9 * cavity.volume_m3.sum():.0f} mm3"
    )

    job = ThrowJob(flask, the_conditions(), drive_of(throw), hollow, CRUCIBLE_MM)
    ways = ways_of(job)
    run = run_throw(job, best_throw(job.conditions), ways)
    result = run.result
    print(f"filled: {(result.fate == Fate.FILLED).mean():.3f} of the cubes, the last after {result.last_s:.2f} s")
    print(f"metal: the books miss {result.book.error_frac:.0e} of it, {result.passes_count} floods")
    print(f"coldest metal on arrival in the ring: {result.tanks[1].coldest_K - 273.15:.0f} C")

    hotter = run_throw(job, replace(best_throw(job.conditions), flask_K=853.15), ways).result
    print(f"what if the flask were at 580 C: coldest {hotter.tanks[1].coldest_K - 273.15:.0f} C")

    places = thin_places(hollow, "RING")
    samples = sample_throws(job, runs_count, ways, [one.voxels for one in places])
    said = summarise_throw(run, samples, places, Told("example", TURNS, calibrated=False))
    for one in said.pieces:
        last = "never" if one.last_arrival_s is None else f"{one.last_arrival_s.value:.2f} s"
        print(f"{one.piece}: whole in {one.filled_count} of {one.runs_count} runs, full after {last}")

    start = start_of(fields_of(run, samples), run.case.pour_K)
    assert start is not None
    print(f"handed to the freezing: {len(start.temp_K)} places, {np.ptp(start.temp_K):.0f} K from coldest to warmest")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 0.5)
