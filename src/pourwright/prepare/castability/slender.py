"""Long free wires: in wax they bend while the investment goes in, in metal they freeze before their end is full."""

from __future__ import annotations

from pourwright.core.findings import Finding, Level
from pourwright.prepare.castability.body import Body
from pourwright.prepare.castability.places import length_text, place_words
from pourwright.shape.pattern.wires import find_wires

# A wire runs free for this many of its diameters at most. Common practice, no source.
MOST_RATIO = 25.0


def wire_findings(body: Body) -> tuple[Finding, ...]:
    """Say where a wire runs too far from what holds it, the worst with how many more there are."""
    long = [one for one in find_wires(body.report, body.ways.start) if one.slenderness_ratio > MOST_RATIO]
    if not long:
        return ()
    worst = long[0]
    params = {
        "piece": body.where,
        "diameter": length_text(worst.diameter_mm),
        "length": length_text(worst.free_mm, 0),
        "limit": length_text(MOST_RATIO * worst.diameter_mm, 0),
        "times": f"{MOST_RATIO:g}",
        "place": place_words(body, worst.place_mm),
        "count": len(long),
    }
    return (Finding("prepare.wire-unsupported", Level.LOOK, body.where, params, ("none",)),)
