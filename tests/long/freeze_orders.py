"""Runs the exact cases on finer and finer cells, fits their orders and draws them.

``python -m tests.long.freeze_orders`` makes ``docs/verification/freeze-orders.md`` and its picture; the same cases with
tolerances stand in ``tests/verification``. ``make verify`` runs it by way of ``test_freeze_orders.py``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from tests.verification import test_freeze_cut_walls as walls
from tests.verification import test_freeze_eutectic_front as front
from tests.verification import test_freeze_exact_decay as decay
from tests.verification import test_freeze_steady_slab as slab
from tests.verification import test_freeze_stirred_plate as plate
from tests.verification.freezing_cases import eutectic_metal
from tests.verification.references import heat_modes

PAGE = Path(__file__).resolve().parents[2] / "docs/verification/freeze-orders.md"
Series = tuple[list[float], list[float]]  # cells [mm], errors [%]


@dataclass(frozen=True)
class Ladder:
    """A case on finer and finer cells: its errors, the order expected of it and the least that is let through."""

    name: str
    run: Callable[[], Series]
    expected: str
    least_order: float


def plate_errors(contact_W_m2K: float) -> Series:
    """End of freezing of the stirred plate."""
    wanted_s = plate.exact(contact_W_m2K).when_s(eutectic_metal().solidus_K)
    cells_mm = [2.0, 1.0, 0.5, 0.25]
    found = [plate.ours(1e-3 * one, contact_W_m2K, 0.01).last_solid_s for one in cells_mm]
    return cells_mm, [100 * (one / wanted_s - 1) for one in found]


def step_errors() -> Series:
    """The same with longer and longer steps: percent of the time passed in place of the cell."""
    wanted_s = plate.ours(0.5e-3, 2000.0, 0.0025).last_solid_s
    ratios = [0.1, 0.05, 0.025]
    found = [plate.ours(0.5e-3, 2000.0, one).last_solid_s for one in ratios]
    return [100 * one for one in ratios], [100 * (one / wanted_s - 1) for one in found]


def front_errors(which: int) -> Series:
    """Liquidus (0) or eutectic front (1) at 10 mm."""
    wanted = front.passes_s(front.CASE, front.DEPTH_M)
    counts = [50, 100, 200, 400, 800]
    cells_mm = [1e3 * front.LENGTH_M / one for one in counts]
    return cells_mm, [100 * (front.ours(one)[which] / wanted[which] - 1) for one in counts]


def mode_errors(graded: bool) -> Series:
    """Decay of a mode of a closed box."""
    exact = heat_modes.box_decay_per_s(decay.METAL_A_M2_S, decay.SIZE_M, decay.WAVES)
    counts = [2, 4, 8]
    found = [decay._decay_per_s(one, graded) for one in counts]
    return [1e3 * decay.SIZE_M[1] / (2 * one) for one in counts], [100 * (one / exact - 1) for one in found]


def slab_errors() -> Series:
    """Flow through the slab at rest, its mould conducting better when hot."""
    counts = [1, 2, 4, 8]
    exact = [slab.exact(slab.RISING, slab.METAL_M / 4 / one).flow_W_m2 for one in counts]
    flows = [slab._flow_W_m2(slab.ours(slab.RISING, one)[0]) for one in counts]
    cells_mm = [1e3 * slab.MOULD_M / 3 / one for one in counts]
    return cells_mm, [100 * (one / wanted - 1) for one, wanted in zip(flows, exact, strict=True)]


def wall_errors(case: walls.Case, side: int, cells_mm: list[float]) -> Series:
    """Temperature in metal (0) or in the mould near it (1), root mean square over two places of the grid."""
    places = (walls.OFFSET, (0.83, 0.19, 0.44))
    found = [[walls.errors(case, cell, place)[side] for place in places] for cell in cells_mm]
    return cells_mm, [100 * float(np.sqrt(np.mean(np.square(one)))) for one in found]


FINE, LESS = [1.4, 1.0, 0.7, 0.5], [1.4, 1.0, 0.7]
LADDERS = (
    Ladder("stirred plate, perfect contact: end of freezing", lambda: plate_errors(1e9), "2", 1.6),
    Ladder("stirred plate, 2000 W/m²K: end of freezing", lambda: plate_errors(2000.0), "2", 1.6),
    Ladder("mushy range and eutectic: liquidus at 10 mm", lambda: front_errors(0), "1: a front lives in one cell", 0.7),
    Ladder("mushy range and eutectic: eutectic front at 10 mm", lambda: front_errors(1), "1", 0.8),
    Ladder("mode of a closed box, even cells: decay", lambda: mode_errors(False), "2", 1.8),
    Ladder("mode of a closed box, graded cells: decay", lambda: mode_errors(True), "2", 1.6),
    Ladder("slab at rest, contact and radiating skin, k rising with T: flow", slab_errors, "2", 1.6),
    Ladder("ball of metal in cut cells: mould round it", lambda: wall_errors(walls.BALL, 1, FINE), "2", 1.5),
    Ladder("ball of a poor conductor, cut cells: mould", lambda: wall_errors(walls.POOR_BALL, 1, FINE), "1 to 2", 0.8),
    Ladder("ball of a poor conductor, cut cells: within", lambda: wall_errors(walls.POOR_BALL, 0, FINE), "1 to 2", 1.0),
    Ladder("tilted plate of a poor conductor: within", lambda: wall_errors(walls.POOR_PLATE, 0, LESS), "1 to 2", 1.0),
)  # fmt: skip


def order(series: Series) -> float:
    """Slope of the error over the cell, both as logarithms."""
    return float(np.polyfit(np.log(series[0]), np.log(np.abs(series[1])), 1)[0])


def run_all() -> dict[str, Series]:
    """Run every ladder; return the errors of each by name."""
    return {one.name: one.run() for one in LADDERS}


def write_page(found: dict[str, Series], steps: Series) -> None:
    """Write the page and its picture."""
    lines = [
        "# Exact cases of freezing and of heat, and their orders",
        "",
        "Made by `python -m tests.long.freeze_orders`; do not edit. Each case has a solution that owes nothing to our",
        "code (`tests/verification/references`); the error is ours less the solution, in per cent of it; in cut cells",
        "the root mean square over all places, in per cent of the step at the start.",
        "",
        "| case | cells mm | error % | order fitted | order expected |",
        "|---|---|---|---|---|",
    ]
    for ladder in LADDERS:
        series = found[ladder.name]
        cells, errors = (
            ", ".join(form.format(one) for one in each)
            for form, each in zip(("{:.3g}", "{:+.3f}"), series, strict=True)
        )
        lines.append(f"| {ladder.name} | {cells} | {errors} | {order(series):.2f} | {ladder.expected} |")
    lines += [
        "",
        "![Error over the side of the cells](freeze-orders.png)",
        "",
        "Steps: the plate in cells of 0.5 mm, steps of 10, 5 and 2.5 % of the time against 0.25 %: "
        + ", ".join(f"{one:+.3f} %" for one in steps[1])
        + f" (order {order(steps):.2f}).",
        "",
        "The fronts: steps and the spread of the eutectic go with the cell. With steps of 2 % of the time throughout,",
        "a front passes a cell of 0.2 mm in two of them, and its error stands at +1.9 % instead of falling.",
        "",
        "The poor conductor: body and mould conduct 2 and 0.8 W/m/K, so that temperature falls as steeply in the body",
        "as round it. Paths in the metal reckon with the middles of cells: that carries any even gradient along a wall",
        "exactly, and one across it at first order only. Metal of a casting conducts some hundred times as well as its",
        "mould and hardly varies within: the first row of the cut cells.",
    ]
    PAGE.write_text("\n".join(lines) + "\n", "utf-8")
    _draw(found)


def _draw(found: dict[str, Series]) -> None:
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(figsize=(7.6, 7.4), constrained_layout=True)
    axes.set_prop_cycle(color=plt.colormaps["tab20"].colors[:: 1 if len(found) > 10 else 2])
    for mark, (name, series) in zip("osd^v*Pph<>", found.items(), strict=True):
        axes.loglog(series[0], np.abs(series[1]), marker=mark, label=f"{name} ({order(series):.2f})")
    at = np.array([0.2, 2.0])
    axes.loglog(at, 4.0 * at, "k:", label="first order")
    axes.loglog(at, 0.2 * at**2, "k--", label="second order")
    axes.set(xlabel="side of the cells [mm]", ylabel="error [%]")
    axes.grid(alpha=0.3)
    axes.set_xticks([0.1, 0.2, 0.5, 1.0, 2.0, 3.0], ["0.1", "0.2", "0.5", "1", "2", "3"])
    axes.minorticks_off()
    figure.legend(
        *axes.get_legend_handles_labels(), loc="outside lower center", ncols=1, fontsize=8, frameon=False,
        title="case (order fitted)", title_fontsize=8,
    )  # fmt: skip
    figure.savefig(PAGE.with_suffix(".png"), dpi=110)
    plt.close(figure)


if __name__ == "__main__":
    write_page(run_all(), step_errors())
