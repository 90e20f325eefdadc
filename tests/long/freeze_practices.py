"""Two workshop practices that disagree, and what the engine says of them.

Common practice, no source: the button of a hand-sized flask with about 100 g of sterling is at black heat in some 5
to 10 minutes; and one is told to quench at 12 to 20. ``python -m tests.long.freeze_practices [RUNS]`` follows such
a flask for an hour over the ranges of every uncertain input and writes ``docs/verification/freeze-practices.md``
from the runs. The flask, its tree and its temperatures are our own invention.
"""

from __future__ import annotations

import sys
from dataclasses import astuple, dataclass, fields
from pathlib import Path

import numpy as np
from scipy.stats import spearmanr

from pourwright.core.interval import Interval
from pourwright.prepare.quench.colour import DAYLIGHT, last_red_C
from pourwright.shape.pattern.solids import rotated, torus
from pourwright.shape.tree.placing import tree_of
from pourwright.shape.tree.simple import Placed, TreePiece
from pourwright.simulate.conditions import Case, conditions_for, draw_cases
from pourwright.simulate.cooling import falls_below_s
from pourwright.simulate.engine import freeze
from pourwright.simulate.job import FlaskJob, piece_skin
from pourwright.simulate.run import Hooks
from pourwright.simulate.tree_solid import join_tree

PAGE = Path(__file__).resolve().parents[2] / "docs/verification/freeze-practices.md"
RADIUS_MM, HEIGHT_MM, WALL_MM, FUNNEL_MM, BUTTON_MM = 31.75, 63.5, 1.6, 12.0, 30.0
STERLING_G_MM3, ZERO_C_K = 10.36e-3, 273.15
# A flask goes into water when its hottest metal is below this; common practice, no source.
QUENCH_K = 500.0 + ZERO_C_K


@dataclass(frozen=True)
class Times:
    """Minutes from the pour; not a number where the hour was too short."""

    last_solid_min: float
    button_black_min: float
    skin_black_min: float
    hottest_black_min: float
    hottest_quench_min: float


NAMES = {
    "last_solid_min": "the last metal is solid",
    "button_black_min": "the button's face is at black heat",
    "skin_black_min": "the flask's skin is at black heat",
    "hottest_black_min": "the hottest metal is below the last red",
    "hottest_quench_min": "the hottest metal is below 500 °C",
}


def hand_sized_job() -> FlaskJob:
    """Two rings on a sprue over a button, about 100 g of sterling, in a flask of 63.5 x 63.5 mm."""
    ring = rotated(torus(9.0, 1.5, 96, 32), (0.0, 1.0, 0.0), 90.0)
    box_mm = tuple(np.ptp(ring.vertices_mm, axis=0).tolist())
    placed = [
        Placed(f"P{n}", (0, 1, 2), box_mm, (0.0, y, FUNNEL_MM + 8.0 + box_mm[2] / 2), 90.0 * n, 4.0, 8.0)
        for n, y in enumerate((-7.0, 7.0))
    ]
    tree = tree_of("HAND", placed, 5.0, 8.0, 2 * RADIUS_MM, HEIGHT_MM, FUNNEL_MM)
    pieces = [TreePiece(one.id, box_mm, 3.0, ring) for one in placed]
    solid, findings = join_tree(tree, pieces, {}, BUTTON_MM, FUNNEL_MM)
    assert solid is not None, findings
    skins = {one.id: piece_skin(one, None, 200.0, 266.0) for one in placed}
    pour, flask = (Interval(low + ZERO_C_K, best + ZERO_C_K, high + ZERO_C_K, "K")
                   for low, best, high in ((950, 980, 1020), (450, 500, 550)))  # fmt: skip
    conditions = conditions_for("sterling-925", "gypsum-bonded", pour, flask, 293.15)
    return FlaskJob("HAND-1", "HAND", RADIUS_MM, HEIGHT_MM, WALL_MM, solid, skins, 3.0, conditions)


def times_of(job: FlaskJob, case: Case, side_mm: float = 1.0) -> Times:
    found, _ = freeze(job, case, side_mm, 3600.0, Hooks())
    black_K, seen = last_red_C(DAYLIGHT) + ZERO_C_K, found.histories
    marks = ((seen.button_skin_K, black_K), (seen.flask_skin_K, black_K), (seen.hottest_metal_K, black_K),
             (seen.hottest_metal_K, QUENCH_K))  # fmt: skip
    return Times(found.last_solid_s / 60, *(falls_below_s(seen.time_s, temp_K, limit) / 60 for temp_K, limit in marks))


def decides(cases: list[Case], values: np.ndarray) -> tuple[str, float]:
    """The input with the strongest rank correlation."""
    inputs = np.array([astuple(one) for one in cases])
    ranks = [spearmanr(inputs[:, k], values).statistic for k in range(inputs.shape[1])]
    most = int(np.nanargmax(np.abs(ranks)))
    return fields(Case)[most].name, float(ranks[most])


def main(count: int = 24) -> None:
    job = hand_sized_job()
    grams = STERLING_G_MM3 * float(job.solid.volume_mm3)
    cases = list(draw_cases(job.conditions, count, 7))
    rows = []
    for case in cases:
        rows.append(astuple(times_of(job, case)))
        print(np.round(rows[-1], 2), flush=True)
    write_page(grams, cases, np.array(rows))


def write_page(grams: float, cases: list[Case], rows: np.ndarray) -> None:
    lines = [
        "# Black heat and the quench: what the engine says of two practices",
        "",
        "Made by `python -m tests.long.freeze_practices`; do not edit. A flask of our own invention, 63.5 mm wide",
        f"and high, holds {grams:.0f} g of sterling (button, sprue, two rings), poured at 950 to 1020 °C into a mould",
        f"of 450 to 550 °C. {len(cases)} runs on a 1 mm grid draw from these ranges and from those of the mould's",
        "conductivity and both contact coefficients, each followed for an hour; the last red is taken at",
        f"{last_red_C(DAYLIGHT):.0f} °C. Minutes from the pour.",
        "",
        "| when | a tenth of runs before | half | nine tenths before | decided by (rank correlation) |",
        "|---|---|---|---|---|",
    ]
    for column, one in enumerate(fields(Times)):
        values = rows[:, column]
        low, middle, high = np.nanpercentile(values, [10, 50, 90])
        name, rank = decides(cases, values)
        lines.append(f"| {NAMES[one.name]} | {low:.1f} | {middle:.1f} | {high:.1f} | {name} ({rank:+.2f}) |")
    lines += [
        "",
        "What the workshop says (common practice, no source): black heat of the button in about 5 to 10 minutes;",
        "quench at 12 to 20.",
        verdict(rows),
        "",
        "So the two do not contradict each other: the first is when one can, the second keeps a margin. Not sampled",
        "here: emissivities, convection, the mould's heat capacity, and what the flask stands on, which in the run is",
        "air on all sides; a flask on a brick or in a cradle, or a larger one, takes longer.",
    ]
    PAGE.write_text("\n".join(lines) + "\n", "utf-8")


def verdict(rows: np.ndarray) -> str:
    """Compare by the share of runs inside each span."""
    button, hottest = rows[:, 1], rows[:, 4]
    inside = float(np.mean((button >= 5) & (button <= 10)))
    ready = float(np.mean((hottest >= 12) & (hottest <= 20)))
    return (
        f"In {inside:.0%} of the runs the button's face goes black\nwithin the first span; in {ready:.0%} the"
        " hottest metal\npasses 500 °C within the second."
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
