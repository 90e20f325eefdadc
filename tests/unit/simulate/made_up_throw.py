"""A made-up machine and conditions for filling the made-up flask."""

from __future__ import annotations

from pourwright.core.interval import Interval, Shape
from pourwright.physics.spin.history import HingedArm
from pourwright.simulate.throw_conditions import Head, ThrowConditions, throw_conditions

ARM = HingedArm(0.9, 1.5, 0.08, 1.9, 0.006, 0.1, 0.09, air_Nms2=1e-5)


def conditions(head: Head = Head.SPIN, **changes: Interval) -> ThrowConditions:
    given = {
        "pour_K": Interval(1233.15, 1243.15, 1253.15, "K"),
        "flask_K": Interval(723.15, 753.15, 783.15, "K"),
        "release_s": Interval(0.5, 1.0, 3.0, "s"),
        "open_s": Interval(20.0, 30.0, 60.0, "s"),
        "force_ratio": Interval(0.5, 1.0, 2.0, "", Shape.LOG_UNIFORM),
        "mouth_mm": Interval(6.0, 7.0, 8.0, "mm"),
    } | changes
    return throw_conditions("sterling-925", "gypsum-bonded", head, 0.040, 293.15, **given)
