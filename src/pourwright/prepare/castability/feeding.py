"""Heavy sections fed only through a thinner neck: the neck freezes first, and what lies beyond draws no more metal.

For shrinkage only, by shape alone: nothing is known here of the mould's heat or the order of filling. The freezing
engine will replace this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pourwright.core.findings import Finding, Level
from pourwright.matter.practice import rule
from pourwright.prepare.castability.body import Body, heart_of, point_of
from pourwright.prepare.castability.places import length_text, place_words
from pourwright.shape.pattern.necks import Neck, first_neck
from pourwright.shape.pattern.report import Point
from pourwright.shape.pattern.ways import Ways, find_ways, widest_way

# A neck with this share of the section's modulus freezes about as late as it does: sections are told apart at necks of
# this share too, and neither modulus is known better than to a tenth. Ours.
_AS_GOOD_RATIO = 0.8
# Sections lighter than this share of the heaviest, or smaller, leave a void too small to matter: 5 % of 3 mm3 is a
# hole half a millimetre wide. Common practice, no source.
_LIGHT_RATIO = 0.4
_SMALL_MM3 = 3.0
_MOST_FEEDERS = 6


@dataclass(frozen=True)
class Starved:
    """A section that its gate cannot feed, by its number, and the neck on the best way to it."""

    section: int
    modulus_mm: float
    place_mm: Point
    neck: Neck


def starved_sections(body: Body, ways: Ways | None = None) -> tuple[Starved, ...]:
    """Return the sections that a gate cannot feed, the heaviest first.

    Parameters
    ----------
    body : Body
        Measured.
    ways : Ways or None
        From another gate than the body's own.
    """
    from_gate = ways or body.ways
    sections = body.report.sections
    heavy_mm = _LIGHT_RATIO * sections[0].modulus_mm
    own = int(body.skin.section[from_gate.start])
    found = []
    for number, section in enumerate(sections):
        if number == own or section.modulus_mm < heavy_mm or section.volume_mm3 < _SMALL_MM3:
            continue
        heart = heart_of(body.skin, number)
        neck = first_neck(body.mesh, body.skin, widest_way(from_gate, heart), _AS_GOOD_RATIO * section.modulus_mm)
        if neck:
            found.append(Starved(number, section.modulus_mm, point_of(body.skin, heart), neck))
    return tuple(found)


def feeding_findings(body: Body) -> tuple[Finding, ...]:
    """Say which heavy sections the gate cannot feed: move the gate if one place feeds all, else add feeders."""
    starved = starved_sections(body)
    if not starved:
        return ()
    heaviest = heart_of(body.skin, 0)
    if not body.gate_proposed and int(body.skin.section[body.ways.start]) != 0:
        moved = starved_sections(body, find_ways(body.skin, heaviest))
        if not moved:
            return (_finding("prepare.feed-gate-elsewhere", body, starved, point_of(body.skin, heaviest)),)
    return (_finding("prepare.feed-several", body, starved, None),)


def _finding(code: str, body: Body, starved: Sequence[Starved], better_mm: Point | None) -> Finding:
    worst = starved[0]
    feeders = [one.place_mm for one in _wanting_feeders(body, starved)]
    params = {
        "piece": body.where,
        "count": len(starved),
        "modulus": length_text(worst.modulus_mm, 2),
        "neck_modulus": length_text(worst.neck.modulus_mm, 2),
        "neck": length_text(worst.neck.width_mm, 2),
        "place": place_words(body, worst.place_mm),
        "neck_place": place_words(body, worst.neck.place_mm),
        "places": "; ".join(place_words(body, one) for one in feeders),
        "feeders": len(feeders),
        "gate": place_words(body, better_mm or body.gate_mm),
        "thicker": length_text(worst.neck.width_mm * worst.modulus_mm / worst.neck.modulus_mm),
    }
    return Finding(code, Level.LOOK, body.where, params, (*rule("gate.order").sources, *rule("gate.count").sources))


def _wanting_feeders(body: Body, starved: Sequence[Starved]) -> list[Starved]:
    """Return those starved sections that want a feeder of their own when the heavier ones have got theirs."""
    wanting: list[Starved] = []
    left = list(starved)
    while left and len(wanting) < _MOST_FEEDERS:
        wanting.append(left[0])
        ways = find_ways(body.skin, heart_of(body.skin, left[0].section))
        still = {one.section for one in starved_sections(body, ways)}
        left = [one for one in left[1:] if one.section in still]
    return wanting
