"""One clock for a bowl of investment, and how many flasks one bowl can serve before it sets."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise

from pourwright.core.figure import Figure, reckon
from pourwright.prepare.mould.results import ClockStep
from pourwright.prepare.rule_figures import rule_range
from pourwright.studio.profile import Habits

# Rounding of habits such as 0.1 min must not cost a flask that ends exactly on the limit.
_ROUNDING_min = 1e-6


def finish_limit(working_min: Figure) -> Figure:
    """Return the latest end of the last vacuum, in minutes after powder meets water.

    Parameters
    ----------
    working_min : Figure
        Working time of the powder, powder into water to gloss-off [minute].

    Returns
    -------
    Figure
        The latest moment; its low end is the earliest that does not let water bleed along the wax.
    """
    return reckon(
        "min",
        "prepare.how-finish-limit",
        lambda working_min, margin_min: working_min - margin_min,
        {"working_min": working_min, "margin_min": rule_range("inv.finish", "min", at="low")},
    )


def bowl_ends(flasks_count: int, habits: Habits) -> Figure:
    """Return when the last vacuum of a bowl that serves so many flasks ends, in minutes after powder meets water."""
    vacuums = math.ceil(flasks_count / habits.flasks_per_vacuum_count)
    return reckon(
        "min",
        "prepare.how-bowl-ends",
        lambda mix_min, bowl_vacuum_min, fill_each_min, flask_vacuum_min: (
            mix_min + bowl_vacuum_min + flasks_count * fill_each_min + vacuums * flask_vacuum_min
        ),
        {
            "mix_min": habits.mix_min,
            "bowl_vacuum_min": habits.bowl_vacuum_min,
            "fill_each_min": habits.fill_each_min,
            "flask_vacuum_min": habits.flask_vacuum_min,
        },
    )


def bowl_clock(flasks: Sequence[str], habits: Habits) -> tuple[ClockStep, ...]:
    """Return the steps of one bowl: mix, bowl vacuum, fill each flask, then the flasks' vacuum group by group."""
    size = habits.flasks_per_vacuum_count
    groups = [tuple(flasks[first : first + size]) for first in range(0, len(flasks), size)]
    work: list[tuple[str, float, tuple[str, ...]]] = [
        ("prepare.step-mix", habits.mix_min.value, ()),
        ("prepare.step-bowl-vacuum", habits.bowl_vacuum_min.value, ()),
        *(("prepare.step-fill", habits.fill_each_min.value, (flask,)) for flask in flasks),
        *(("prepare.step-flask-vacuum", habits.flask_vacuum_min.value, group) for group in groups),
    ]
    marks = pairwise(accumulate((minutes for _, minutes, _ in work), initial=0.0))
    return tuple(
        ClockStep(step, start, end, done_to) for (step, _, done_to), (start, end) in zip(work, marks, strict=True)
    )


def most_flasks_in_bowl(flasks_count: int, habits: Habits, limit_min: float) -> int:
    """Return how many flasks, at most ``flasks_count``, one bowl serves within the limit [minute]; may be none."""
    fits = 0
    while fits < flasks_count and bowl_ends(fits + 1, habits).value <= limit_min + _ROUNDING_min:
        fits += 1
    return fits


def split_into_bowls(flasks: Sequence[str], most_count: int) -> tuple[tuple[str, ...], ...]:
    """Split flasks, in their order, into the fewest bowls of at most ``most_count``, as even as can be."""
    if not flasks:
        return ()
    bowls = math.ceil(len(flasks) / max(1, most_count))
    cuts = [round(number * len(flasks) / bowls) for number in range(bowls + 1)]
    return tuple(tuple(flasks[start:end]) for start, end in pairwise(cuts))
