"""Wax taken out before the kiln, and ash tapped out before the pour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pourwright.core.figure import Figure, reckon
from pourwright.core.text import say
from pourwright.prepare.mould.loads import BurnWish, KilnLoad
from pourwright.prepare.mould.results import AshClear, Burnout, Dewax
from pourwright.prepare.mould.wall_clock import before, on_the_wall
from pourwright.prepare.rule_figures import rule_figure, rule_range

# Turning, tapping and putting back takes about this long a flask. Common practice, no source.
_EACH_min = 3.0


def with_dewax(plan: Burnout, loads: Sequence[KilnLoad], wish: BurnWish, bench_set_min: Figure, zone: str) -> Burnout:
    """Return the plan with its dewaxing, if the studio does that before the kiln.

    Parameters
    ----------
    plan : Burnout
        The curve: the kiln reaches its first hold empty of these flasks, so that they enter a hot kiln.
    loads : sequence of KilnLoad
        Only flasks with wax in them are dewaxed.
    wish : BurnWish
        Says how, and how long it takes.
    bench_set_min : Figure
        The moulds must have set before the steam [minute].
    zone : str
        The studio's.
    """
    flasks = tuple(one.flask for one in loads if any(part.family == "wax" for part in one.patterns))
    holds = [one for one in plan.steps if one.kind == "hold"]
    if wish.dewax == "kiln" or wish.dewax_min is None or not flasks or not holds:
        return plan
    carry_min = rule_figure("burn.transfer", "high", "min").value
    into_by = holds[0].start
    end = on_the_wall(before(into_by, carry_min), zone)
    start = on_the_wall(before(end, wish.dewax_min.value), zone)
    set_by = on_the_wall(before(start, bench_set_min.value), zone)
    dewax = Dewax(wish.dewax, flasks, start, end, into_by)
    return replace(plan, dewax=dewax, invest_by=min(plan.invest_by, set_by))


def ashy_flasks(loads: Sequence[KilnLoad]) -> dict[str, str]:
    """Return the flasks with patterns that leave ash, each with the material that does."""
    return {one.flask: part.title for one in loads for part in one.patterns if part.ash or part.family == "organic"}


def _reheat() -> Figure:
    return rule_range("burn.ash.reheat", "min", at="high")


def soak_for(loads: Sequence[KilnLoad], soak_min: Figure) -> tuple[Figure, str] | None:
    """Return a longer soak with its reason where ash must be tapped out during it, else None.

    Parameters
    ----------
    loads : sequence of KilnLoad
        The kiln's flasks.
    soak_min : Figure
        Soak asked for [minute].
    """
    ashy = ashy_flasks(loads)
    needed = reckon(
        "min", "prepare.how-ash-soak", lambda reheat_min: reheat_min + _EACH_min * len(ashy), {"reheat_min": _reheat()}
    )
    if not ashy or needed.value <= soak_min.value:
        return None
    return needed, say("prepare.because-ash", flasks=", ".join(ashy))


def with_ash(plan: Burnout, loads: Sequence[KilnLoad], zone: str) -> Burnout:
    """Return the plan with the tapping out of ash: one flask after the other, the last reheated before the first pour.

    Parameters
    ----------
    plan : Burnout
        Its soak is long enough, see :func:`soak_for`.
    loads : sequence of KilnLoad
        The kiln's flasks.
    zone : str
        The studio's.
    """
    if not plan.steps:
        return plan
    reheat, ashy = _reheat(), ashy_flasks(loads)
    steps = tuple(
        AshClear(flask, pattern, on_the_wall(before(plan.first_pour, reheat.value + _EACH_min * left), zone), reheat)
        for left, (flask, pattern) in zip(range(len(ashy), 0, -1), ashy.items(), strict=True)
    )
    return replace(plan, ash=steps)
