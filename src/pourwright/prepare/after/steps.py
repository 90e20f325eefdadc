"""What is done to patterns before they are invested, and to castings once the flask is quenched."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.prepare.after.results import FlaskWork, Step
from pourwright.studio.profile import StudioMaterial

_PRINTED = ("resin", "wax-resin")
_WEIGHED_EARLY = ("prepare.write-pattern", "prepare.write-base", "prepare.write-invested")
_WEIGHED_LATE = ("prepare.write-tree", "prepare.write-piece", "prepare.write-sprue")


def preparation_steps(
    materials: Sequence[str], own: Sequence[StudioMaterial], printed: Sequence[str], flasks: Sequence[FlaskWork]
) -> tuple[Step, ...]:
    """Return the steps before investing.

    Parameters
    ----------
    materials : sequence of str
        Pattern materials of the day.
    own : sequence of StudioMaterial
        The studio's, with how they are washed and cured.
    printed : sequence of str
        Those of them that are resin prints.
    flasks : sequence of FlaskWork
        In the order of the pours.
    """
    sheets = [one for one in own if one.id in materials and (one.wash or one.cure)]
    told = {one.id for one in sheets}
    steps = [step for one in sheets for step in _by_sheet(one)]
    names = ", ".join(one for one in printed if one not in told)
    if names:
        steps.append(Step("prepare.step-wash-cure", {"materials": names}, "pourer", ("resin.handling",)))
    return (*steps, *(_sprue(one) for one in flasks))


def _by_sheet(one: StudioMaterial) -> list[Step]:
    prompts = ("resin.handling",) if one.family in _PRINTED else ()
    rows = (("prepare.step-wash", one.wash), ("prepare.step-cure", one.cure))
    return [
        Step(what, {"material": one.id, "steps": "; ".join(work)}, "pourer", prompts) for what, work in rows if work
    ]


def _sprue(one: FlaskWork) -> Step:
    params = {"number": str(one.number), "base": one.base, "pieces": ", ".join(one.pieces)}
    return Step("prepare.step-sprue", params, "pourer", ("fire.ext",), _WEIGHED_EARLY)


def finishing_steps(flasks: Sequence[FlaskWork]) -> tuple[Step, ...]:
    """Return the steps after the quench, flask by flask, then those done to all pieces together."""
    return (
        *(step for one in flasks for step in _one_flask(one)),
        Step("prepare.step-finish", {}, "pourer", ("sil.nosweep", "acid.order", "acid.hot")),
        Step("prepare.step-inspect", {}, "teacher", (), ("prepare.write-seen",)),
        Step("prepare.step-mark", {}, "teacher", (), ("prepare.write-signed",)),
    )


def _one_flask(one: FlaskWork) -> list[Step]:
    params = {"number": str(one.number), "pieces": ", ".join(one.pieces)}
    devest = "prepare.step-devest-stones" if one.stones else "prepare.step-devest"
    return [
        Step(devest, params, "helper", ("sil.where", "sil.resp", "devest.acid")),
        Step("prepare.step-cut", params, "pourer", (), _WEIGHED_LATE),
    ]
