"""Places where air may be shut in, if the piece hangs with its gate towards the button."""

from __future__ import annotations

import numpy as np

from pourwright.core.findings import Finding, Level
from pourwright.matter.practice import rule
from pourwright.prepare.castability.body import Body
from pourwright.prepare.castability.places import length_text, place_words
from pourwright.shape.pattern.pockets import find_pockets

# Shallower pockets let their air out through the mould. Common practice, no source.
_LEAST_MM = 2.0
# ... and those shallower than this share of the way from the middle to the gate do when the piece hangs a little askew.
# Common practice, no source.
_LEAST_RATIO = 0.25
_MOST_NAMED = 3


def air_findings(body: Body) -> tuple[Finding, ...]:
    """Name the pockets from which air has no way to the gate.

    On a throwing arm metal is pressed away from the button and air towards it; with the gate on the side of the
    button, every place nearer to the button than what lies round it holds air back.
    """
    rises = np.asarray(body.gate_mm) - np.asarray(body.report.centre_mm)
    high_mm = float(np.linalg.norm(rises))
    if not high_mm > 0:
        return ()
    pockets = find_pockets(body.skin, rises, body.ways.start, max(_LEAST_MM, _LEAST_RATIO * high_mm))
    if not pockets:
        return ()
    params = {
        "piece": body.where,
        "count": len(pockets),
        "depth": length_text(pockets[0].depth_mm),
        "places": "; ".join(place_words(body, one.place_mm) for one in pockets[:_MOST_NAMED]),
    }
    return (Finding("prepare.air-pockets", Level.NOTE, body.where, params, rule("gate.vents").sources),)
