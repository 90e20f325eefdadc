"""The two blocks of test_throw_cavity thrown with the made-up arm, on coarse cubes so that it is quick."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from tests.unit.simulate.made_up_throw import ARM, conditions
from tests.unit.simulate.test_throw_cavity import MOUTH_M, two_pieces

from pourwright.core.interval import Interval
from pourwright.physics.spin.throwing import throw_arm
from pourwright.simulate.throw_cavity import hollow_of
from pourwright.simulate.throw_conditions import Head, best_throw, drive_of
from pourwright.simulate.throw_run import ThrowJob, run_throw, ways_of

SIDE_MM = 0.8


@lru_cache(maxsize=8)
def flask_job(turns_turns: float = 3.0, head: Head = Head.SPIN, shut: tuple[str, ...] = ()) -> ThrowJob:
    flask = two_pieces()
    spins = head is Head.SPIN
    hollow = hollow_of(flask, SIDE_MM, MOUTH_M if spins else 0.0)
    throw = drive_of(throw_arm(ARM, turns_turns, 5.0)) if spins else None
    said = conditions(head, **({} if head is not Head.VACUUM else {"vacuum_Pa": Interval(7e4, 8e4, 9e4, "Pa")}))
    return ThrowJob(flask, said, throw, hollow, 25.0, shut)


@lru_cache(maxsize=8)
def ways(head: Head = Head.SPIN):
    return ways_of(flask_job(head=head))


def filled(job: ThrowJob | None = None, laid=None, **changes: float):
    """Return the result at the best values, some of them changed."""
    job = job or flask_job()
    return run_throw(job, replace(best_throw(job.conditions), **changes), laid).result
