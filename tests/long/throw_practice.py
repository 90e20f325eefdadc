"""Two workshop rules of the throw, and what the two-body model says of them on the demo machine.

Common practice, no source: about three turns for a charge near 100 g; and a few times gravity at the flask.
``python -m tests.long.throw_practice`` throws the demo studio's machine with one to four turns, says when during the
throw the second rule is true, and which measurement would change that, and writes
``docs/verification/throw-practice.md`` from the runs. Machine and flask are our own invention.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from textwrap import fill

import numpy as np

from pourwright.core.figure import Figure, given
from pourwright.doors.service.demo import make_demo
from pourwright.physics.spin.arm import speed_rpm
from pourwright.physics.spin.body_force import pull_along_gee
from pourwright.physics.spin.history import ThrowHistory
from pourwright.prepare.throw.balancing import ArmLoad
from pourwright.prepare.throw.course import ThrowCourse, throw_course, throws_of
from pourwright.prepare.throw.hinged import hinge_figures
from pourwright.prepare.throw.setup import load_of
from pourwright.studio.profile import Machine
from pourwright.studio.reading import read_studio

PAGE = Path(__file__).resolve().parents[2] / "docs/verification/throw-practice.md"
TURNS, CHARGES_G, USUAL_TURNS, USUAL_G = (1.0, 2.0, 3.0, 4.0), (50.0, 100.0, 150.0), 3.0, 100.0
DRY_KG = 0.65
FRAMES_S = 240
# What "a few" is taken for.
FEW_GEE = (2.0, 5.0)
# What an unmeasured machine may be: field of the machine, lowest and highest, as multiples of the demo's best value.
DOUBTS = {
    "torque_start_Nm": (0.5, 2.0),
    "torque_rate_Nm_turn": (0.5, 2.0),
    "inertia_kg_m2": (0.8, 1.25),
    "friction_frac": (0.5, 2.0),
}
# And in units of their own, the ranges of a machine of which nobody measured the hinge.
HINGE_DOUBTS = ("hinge_radius_mm", "outer_kg", "outer_radius_mm", "folded_deg", "rebound_frac", "lip_deg")
WHAT = {
    "torque_start_Nm": "spring's torque with nothing wound",
    "torque_rate_Nm_turn": "spring's torque for each turn",
    "inertia_kg_m2": "inertia of the loaded arm",
    "friction_frac": "friction while it drives",
    "hinge_radius_mm": "distance of the hinge",
    "outer_kg": "mass beyond the hinge",
    "outer_radius_mm": "middle of that mass",
    "folded_deg": "fold at release",
    "rebound_frac": "rebound at the stop",
    "lip_deg": "slope of the crucible's lip",
}


@dataclass(frozen=True)
class Found:
    """One throw: moments [s], pulls [multiples of gravity] and the peak [rpm]; NaN where it does not happen."""

    runs_s: float
    run_pull: float
    straight_s: float
    few_spans_s: tuple[tuple[float, float], ...]
    straight_pull: float
    peak_s: float
    peak_pull: float
    peak_rpm: float


@lru_cache(maxsize=1)
def demo_machine() -> Machine:
    """Return the demo studio's machine with every value at its best, as exact numbers."""
    with TemporaryDirectory() as folder:
        make_demo(Path(folder) / "studio")
        studio, _ = read_studio(Path(folder) / "studio")
    assert studio is not None
    machine = studio.machines[0]
    hinge = hinge_figures(machine)
    stated = {name: getattr(hinge, name) for name in hinge.__dataclass_fields__ if name != "not_measured"}
    machine = replace(machine, **stated)
    figures = {name: one for name in machine.__dataclass_fields__ if isinstance(one := getattr(machine, name), Figure)}
    return replace(machine, **{name: exact(one.value, one.unit) for name, one in figures.items()})


def exact(value_ratio: float, unit: str) -> Figure:
    return given(value_ratio, unit, "throw practice")


def thrown(machine: Machine, turns_turns: float, charge_g: float = USUAL_G) -> Found:
    """Throw a charge [g]; the stated inertia is with 100 g, another charge changes it by its own."""
    metal_m = machine.metal_in_flask_radius_mm.value / 1000
    inertia = machine.inertia_kg_m2.value + (charge_g - USUAL_G) / 1000 * metal_m**2
    machine = replace(machine, inertia_kg_m2=exact(inertia, "kg_m2"))
    load = load_of(machine, exact(DRY_KG, "kg"), exact(charge_g, "g"))
    throws = throws_of(machine, load, turns_turns)
    assert throws is not None
    return _found(throws.best, throw_course(machine, load, throws), load)


def _found(throw: ThrowHistory, course: ThrowCourse, load: ArmLoad) -> Found:
    pull = pull_along_gee(throw, load.flask_mm.value / 1000 - throw.arm.hinge_m)
    early = throw.time_s <= throw.straight_s
    return Found(
        runs_s=_value(course.runs_s),
        run_pull=_value(course.run_pull_gee),
        straight_s=throw.straight_s,
        few_spans_s=spans_s(throw.time_s, (pull >= FEW_GEE[0]) & (pull <= FEW_GEE[1]) & (throw.time_s <= throw.peak_s)),
        straight_pull=float(pull[early].max()),
        peak_s=throw.peak_s,
        peak_pull=_value(course.pull_gee),
        peak_rpm=speed_rpm(float(throw.speed_rad_s.max())),
    )


def spans_s(time_s: np.ndarray, where: np.ndarray) -> tuple[tuple[float, float], ...]:
    """Return from when until when a condition holds, leaving out spans under a hundredth of a second."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], where, [False]]).astype(int)))
    ends = (
        (float(time_s[start]), float(time_s[stop - 1])) for start, stop in zip(edges[::2], edges[1::2], strict=True)
    )
    return tuple(one for one in ends if one[1] - one[0] > 0.01)


def _value(figure: Figure | None) -> float:
    return np.nan if figure is None else figure.value


def doubts() -> dict[str, tuple[Found, Found]]:
    """Return, for each quantity alone at its lowest and highest, what three turns give."""
    machine = demo_machine()
    unknown = hinge_figures(replace(machine, **dict.fromkeys(HINGE_DOUBTS)))
    found = {}
    for name, ratios in DOUBTS.items():
        best = getattr(machine, name)
        found[name] = tuple(_changed(machine, name, exact(best.value * ratio, best.unit)) for ratio in ratios)
    for name in HINGE_DOUBTS:
        range_of = getattr(unknown, name)
        found[name] = tuple(_changed(machine, name, exact(end, range_of.unit)) for end in (range_of.low, range_of.high))
    return found


def _changed(machine: Machine, name: str, figure: Figure) -> Found:
    return thrown(replace(machine, **{name: figure}), USUAL_TURNS)


def turns_for_peak(pull_gee: float) -> float:
    """Return the turns at which the peak pulls with so many times gravity, to a hundredth."""
    machine = demo_machine()
    low, high = 0.1, USUAL_TURNS
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (low, middle) if thrown(machine, middle).peak_pull > pull_gee else (middle, high)
    return (low + high) / 2


def page() -> str:
    machine = demo_machine()
    by_turns = {turns: thrown(machine, turns) for turns in TURNS}
    by_charge = {charge_g: thrown(machine, USUAL_TURNS, charge_g) for charge_g in CHARGES_G}
    usual = by_turns[USUAL_TURNS]
    doubted = doubts()
    few = f"{FEW_GEE[0]:.0f} to {FEW_GEE[1]:.0f}"
    slowest = turns_for_peak(FEW_GEE[1])
    return f"""# Three turns, and a few times gravity: what the model finds

Made by `python -m tests.long.throw_practice`; do not edit. The demo studio's machine, our own invention, every value
at its best, with a dry flask of {1000 * DRY_KG:.0f} g, followed as two bodies on a hinge. Seconds from release, pull
along the arm at the middle of the flask in multiples of gravity.

Two rules of the workshop (common practice, no source): about three turns for a charge near 100 g, and a few times
gravity at the flask. "A few" is taken for {few}.

| turns | metal runs from | pull then | straight at | most pull until then | pull is {few} | fastest at | pull | speed |
|---|---|---|---|---|---|---|---|---|
{_rows(by_turns)}

**A few times gravity** is true on this machine with three turns at {_spans(usual)} after release: while the arm
swings out, and again just after it has met its stop. The metal begins to run earlier, at {usual.runs_s:.2f} s and
under {usual.run_pull:.1f}, so the beginning runs under less than the rule says. At the peak, {usual.peak_s:.1f} s after
release, the pull is {usual.peak_pull:.0f}. So the rule speaks of the time of the filling, not of the peak. If a few
were the peak, {slowest:.1f} turns would do, {thrown(machine, slowest).peak_rpm:.0f} revolutions a minute. How long the
metal runs is for the filling to say (`pourwright throw`).

**Three turns near 100 g.** The charge hardly matters to the motion: with three turns and
{", ".join(f"{one:.0f} g" for one in CHARGES_G)} the peak pull is
{", ".join(f"{one.peak_pull:.1f}" for one in by_charge.values())}, for flask and arm are much heavier than the metal.
What grows with the charge is the time to run through one mouth, which the filling reckons, not the arm. From
two to four turns the arm is straight after {by_turns[2.0].straight_s:.2f} to {by_turns[4.0].straight_s:.2f} s and the
pull until then reaches {by_turns[2.0].straight_pull:.0f} to {by_turns[4.0].straight_pull:.0f}: the rule is not a
threshold, it stands in the middle of a range that changes by a factor of
{by_turns[4.0].straight_pull / by_turns[2.0].straight_pull:.1f}.

**By which measurement this would change.** Each quantity alone at the ends of what an unmeasured machine may have,
three turns, ordered by how far it moves the moment from which the pull is {FEW_GEE[0]:.0f}:

| quantity | from | pull is {FEW_GEE[0]:.0f} from | pull until straight | at the peak |
|---|---|---|---|---|
{_doubt_rows(doubted)}

{_verdict(doubted)}
"""


def _rows(by_turns: dict[float, Found]) -> str:
    return "\n".join(
        f"| {turns:.0f} | {one.runs_s:.2f} s | {one.run_pull:.1f} | {one.straight_s:.2f} s | {one.straight_pull:.1f} "
        f"| {_spans(one)} | {one.peak_s:.2f} s | {one.peak_pull:.1f} | {one.peak_rpm:.0f} rpm |"
        for turns, one in by_turns.items()
    )


def _spans(one: Found) -> str:
    return ", ".join(f"{start:.2f} to {stop:.2f} s" for start, stop in one.few_spans_s)


def moved_s(ends: tuple[Found, Found]) -> float:
    """Return how far a quantity moves the moment from which the pull is a few [s]."""
    return abs(_few_from(ends[1]) - _few_from(ends[0]))


def _few_from(one: Found) -> float:
    return one.few_spans_s[0][0]


def _doubt_rows(doubted: dict[str, tuple[Found, Found]]) -> str:
    lines = []
    for name in sorted(doubted, key=lambda one: -moved_s(doubted[one])):
        low, high = doubted[name]
        lines.append(
            f"| {WHAT[name]} | {_ends(name)} | {_few_from(low):.2f} to {_few_from(high):.2f} s "
            f"| {low.straight_pull:.1f} to {high.straight_pull:.1f} | {low.peak_pull:.1f} to {high.peak_pull:.1f} |"
        )
    return "\n".join(lines)


def _ends(name: str) -> str:
    if name in DOUBTS:
        return f"{DOUBTS[name][0]:g} to {DOUBTS[name][1]:g} times"
    range_of = getattr(hinge_figures(replace(demo_machine(), **dict.fromkeys(HINGE_DOUBTS))), name)
    sign = {"mm": "mm", "kg": "kg", "deg": "°", "frac": ""}[range_of.unit]
    return f"{range_of.low:.3g} to {range_of.high:.3g} {sign}".strip()


def _verdict(doubted: dict[str, tuple[Found, Found]]) -> str:
    first, second = sorted(doubted, key=lambda one: -moved_s(doubted[one]))[:2]
    peak = max(doubted, key=lambda one: abs(doubted[one][1].peak_pull - doubted[one][0].peak_pull))
    usual_rpm = thrown(demo_machine(), USUAL_TURNS).peak_rpm
    few_rpm = thrown(demo_machine(), turns_for_peak(FEW_GEE[1])).peak_rpm
    return f"""So the moment depends most on the {WHAT[first]}, then on the {WHAT[second]}; the peak depends most on the
{WHAT[peak]}. A luggage scale on the arm at each half turn settles the spring, a tape and a kitchen scale the hinge and
what hangs on it. One video of an empty spin from above, {FRAMES_S} frames a second, checks all of it: at the peak of
three turns the arm takes {FRAMES_S * 60 / usual_rpm:.0f} frames a turn; with a peak of {FEW_GEE[1]:.0f} times gravity
it would take {FRAMES_S * 60 / few_rpm:.0f}. Cold, without metal, guard closed, everybody clear."""


def filled(text: str) -> str:
    """Return a page with its paragraphs filled anew, tables and headings as they are."""
    parts = (part if part.startswith(("|", "#")) else fill(part, 118) for part in text.strip().split("\n\n"))
    return "\n\n".join(parts) + "\n"


def main() -> None:
    PAGE.write_text(filled(page()), "utf-8")


if __name__ == "__main__":
    main()
