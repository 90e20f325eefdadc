"""Deep narrow holes: powder cores that metal surrounds, which break off while the metal comes in."""

from __future__ import annotations

from pourwright.core.findings import Finding, Level
from pourwright.matter.practice import rule
from pourwright.prepare.castability.body import Body
from pourwright.prepare.castability.places import length_text, place_words
from pourwright.prepare.rule_figures import rule_figure
from pourwright.shape.pattern.holes_deep import Hole, find_holes

# A hole this little deeper than the rule allows meets it: depth is measured to a few per cent.
_SLACK_RATIO = 1.05


def core_findings(body: Body) -> tuple[Finding, ...]:
    """Say which holes are deeper than practice casts, the worst with how many more there are."""
    deep = [one for one in find_holes(body.mesh, body.skin) if one.slenderness_ratio > _SLACK_RATIO * _limit_ratio(one)]
    if not deep:
        return ()
    worst = max(deep, key=lambda one: one.slenderness_ratio / _limit_ratio(one))
    params = {
        "piece": body.where,
        "diameter": length_text(worst.diameter_mm, 2),
        "depth": length_text(worst.depth_mm),
        "limit": length_text(_limit_ratio(worst) * worst.diameter_mm),
        "times": f"{_limit_ratio(worst):g}",
        "wider": length_text(worst.depth_mm / _limit_ratio(worst)),
        "place": place_words(body, worst.place_mm),
        "count": len(deep),
    }
    code = "prepare.core-through" if worst.through else "prepare.core-blind"
    return (Finding(code, Level.LOOK, body.where, params, rule(_rule_of(worst)).sources),)


def _rule_of(hole: Hole) -> str:
    return "part.hole.through" if hole.through else "part.hole.blind"


def _limit_ratio(hole: Hole) -> float:
    return rule_figure(_rule_of(hole), "value", "ratio").value
