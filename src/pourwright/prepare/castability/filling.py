"""Too thin to fill, so far from the gate: the wall under every point held against what practice fills there.

How the wall wanted grows with the way from the gate is common practice, no source; its two ends are rule
part.minsafe. The fill engine will replace this.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.practice import rule
from pourwright.prepare.castability.body import Body, point_of
from pourwright.prepare.castability.places import length_text, place_words
from pourwright.prepare.rule_figures import rule_figure
from pourwright.shape.pattern.report import Point, Skin

# Up to the first way from the gate the lesser wall of rule part.minsafe will do, from the second on the greater is
# wanted. Common practice, no source.
NEAR_MM = 10.0
FAR_MM = 40.0
# Walls within this share of what is wanted are taken to meet it: the measurement is no better.
_SLACK_FRAC = 0.03
_FEWEST_POINTS = 4
# A patch is wall where so much of it was measured as such; one too small for that, where it is even (a wedge is not).
_WALL_FRAC = 0.5
_EVEN_RATIO = 1.3
# The worst place of a patch is not its single worst reading.
_WORST_SHARE = 0.95


@dataclass(frozen=True)
class ThinPatch:
    """A connected patch of wall too thin for its place: how thick, how large, and where it lacks most.

    There ``wanted_mm`` is wanted, ``distance_mm`` along the body from the gate.
    """

    thickness_mm: float
    wanted_mm: float
    distance_mm: float
    area_mm2: float
    place_mm: Point


def wanted_wall_mm(distance_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the wall that practice wants at ways from the gate [mm]; never less farther off."""
    ends = (rule_figure("part.minsafe", "low", "mm").value, rule_figure("part.minsafe", "high", "mm").value)
    return np.interp(distance_mm, (NEAR_MM, FAR_MM), ends)


def thin_patches(body: Body) -> tuple[ThinPatch, ...]:
    """Return the patches of wall too thin for their way from the gate, the farthest below what is wanted first.

    A patch covers more than its own thickness squared and is even; single thin readings, as at an edge, are none, and
    neither is a wedge.
    """
    skin = body.skin
    # a body apart, which no way leads to, is at least so far off as the gate is straight
    straight_mm = np.linalg.norm(skin.points_mm - np.asarray(body.gate_mm), axis=1)
    distance_mm = np.where(np.isfinite(body.ways.distance_mm), body.ways.distance_mm, straight_mm)
    wanted_mm = wanted_wall_mm(distance_mm)
    thin = (skin.is_wall | (skin.across >= 0)) & (skin.width_mm < (1.0 - _SLACK_FRAC) * wanted_mm)
    groups = [points for points in _patches(thin, skin) if _is_patch(points, skin)]
    found = [_patch(points, skin, distance_mm, wanted_mm) for points in groups]
    return tuple(sorted(found, key=lambda one: one.thickness_mm / one.wanted_mm))


def _patches(thin: NDArray[np.bool_], skin: Skin) -> list[NDArray[np.int64]]:
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    if not thin.any():
        return []
    count = len(thin)
    across = np.flatnonzero(thin & (skin.across >= 0))
    first = np.concatenate([np.repeat(np.arange(count), np.diff(skin.starts)), across])
    second = np.concatenate([skin.neighbours, skin.across[across]])
    kept = thin[first] & thin[second]
    graph = coo_matrix((np.ones(int(kept.sum())), (first[kept], second[kept])), shape=(count, count))
    label = np.asarray(connected_components(graph, directed=False)[1])
    points = np.flatnonzero(thin)
    order = points[np.argsort(label[points], kind="stable")]
    return np.split(order, np.flatnonzero(np.diff(label[order])) + 1)


def _is_patch(points: NDArray[np.int64], skin: Skin) -> bool:
    thin_mm, middle_mm, thick_mm = np.percentile(skin.width_mm[points], (10, 50, 90))
    is_wall = skin.is_wall[points].mean() >= _WALL_FRAC or thick_mm <= _EVEN_RATIO * thin_mm
    return bool(is_wall and len(points) >= _FEWEST_POINTS and len(points) * skin.share_mm2 > middle_mm**2)


def _patch(
    points: NDArray[np.int64], skin: Skin, distance_mm: NDArray[np.float64], wanted_mm: NDArray[np.float64]
) -> ThinPatch:
    lacking = wanted_mm[points] / skin.width_mm[points]
    worst = int(points[np.argsort(lacking, kind="stable")[int(_WORST_SHARE * (len(points) - 1))]])
    return ThinPatch(
        float(np.median(skin.width_mm[points])),
        float(wanted_mm[worst]),
        float(distance_mm[worst]),
        len(points) * skin.share_mm2,
        point_of(skin, worst),
    )


def filling_findings(body: Body, family: str, signed_by: str = "") -> tuple[Finding, ...]:
    """Say where a wall is too thin to fill, the worst place with how many more there are.

    Parameters
    ----------
    body : Body
        With its gate.
    family : str
        Of the alloy; the hottest flask of practice is known for silver.
    signed_by : str
        Who answers for casting it although no flask temperature is known to fill it; without a name that asks.
    """
    patches = thin_patches(body)
    if not patches:
        return ()
    worst = max(patches, key=lambda one: (_hopeless(one), one.wanted_mm / one.thickness_mm))
    hottest = rule("flask.silver.filigree")
    hot = show(rule_figure("flask.silver.filigree", "high", "C").value, "C") if family == "silver" else ""
    params = {
        "piece": body.where,
        "thickness": length_text(worst.thickness_mm, 2),
        "wanted": length_text(worst.wanted_mm, 2),
        "least": length_text(rule_figure("part.minwire", "value", "mm").value),
        "distance": length_text(worst.distance_mm, 0),
        "area": show(worst.area_mm2, "mm2"),
        "near": length_text(NEAR_MM, 0),
        "place": place_words(body, worst.place_mm),
        "places": len(patches),
        "hot": hot,
        "signed": signed_by,
    }
    sources = rule("part.minsafe").sources
    if _hopeless(worst):
        code = "prepare.fill-signed" if signed_by else "prepare.fill-no-window"
        level = Level.LOOK if signed_by else Level.ASK
        return (Finding(code, level, body.where, params, (*rule("part.minwire").sources, *hottest.sources)),)
    code = "prepare.fill-thin-hot" if hot else "prepare.fill-thin"
    return (Finding(code, Level.LOOK, body.where, params, sources),)


def _hopeless(patch: ThinPatch) -> bool:
    """Thinner than the thinnest reported cast, and not even close to the gate."""
    least_mm = rule_figure("part.minwire", "value", "mm").value
    return patch.thickness_mm < (1.0 - _SLACK_FRAC) * least_mm and patch.distance_mm > NEAR_MM
