"""Runs the exact cases on finer and finer cells and writes what came out: ``python -m tests.long.freeze_exact``.

Makes ``docs/verification/freeze-exact.md`` and its picture; the same cases with tolerances stand in
``tests/verification``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from tests.verification import test_freeze_eutectic_front as front
from tests.verification import test_freeze_exact_decay as decay
from tests.verification import test_freeze_stirred_plate as plate
from tests.verification.freezing_cases import eutectic_metal
from tests.verification.references import heat_modes

PAGE = Path(__file__).resolve().parents[2] / "docs/verification/freeze-exact.md"
Series = tuple[list[float], list[float]]  # cells [mm], errors [%]


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


def front_errors() -> tuple[Series, Series]:
    """Liquidus and eutectic front at 10 mm."""
    wanted = front.passes_s(front.CASE, front.DEPTH_M)
    counts = [50, 100, 200, 400]
    found = [front.ours(one) for one in counts]
    cells_mm = [1e3 * front.LENGTH_M / one for one in counts]
    series = [[100 * (one[k] / wanted[k] - 1) for one in found] for k in (0, 1)]
    return (cells_mm, series[0]), (cells_mm, series[1])


def mode_errors(graded: bool) -> Series:
    """Decay of a mode of a closed box."""
    exact = heat_modes.box_decay_per_s(decay.METAL_A_M2_S, decay.SIZE_M, decay.WAVES)
    counts = [2, 4, 8]
    found = [decay._decay_per_s(one, graded) for one in counts]
    return [1e3 * decay.SIZE_M[1] / (2 * one) for one in counts], [100 * (one / exact - 1) for one in found]


def order(series: Series) -> float:
    """Slope of the error over the cell, both as logarithms."""
    return float(np.polyfit(np.log(series[0]), np.log(np.abs(series[1])), 1)[0])


def main() -> None:
    liquidus, eutectic = front_errors()
    cases = {
        "stirred plate, perfect contact: end of freezing": (plate_errors(1e9), "2"),
        "stirred plate, 2000 W/m²K: end of freezing": (plate_errors(2000.0), "2"),
        "mushy range and eutectic: liquidus at 10 mm": (liquidus, "1: a front lives in one cell"),
        "mushy range and eutectic: eutectic front at 10 mm": (eutectic, "1"),
        "mode of a closed box, even cells: decay": (mode_errors(False), "2"),
        "mode of a closed box, graded cells: decay": (mode_errors(True), "2"),
    }
    write_page(cases, step_errors())


def write_page(cases: dict[str, tuple[Series, str]], steps: Series) -> None:
    lines = [
        "# Exact cases of freezing and of heat",
        "",
        "Made by `python -m tests.long.freeze_exact`; do not edit. Each case has a solution that owes nothing to our",
        "code (`tests/verification/references`); the error is ours less the solution, in per cent of it.",
        "",
        "| case | cells mm | error % | order fitted | order expected |",
        "|---|---|---|---|---|",
    ]
    for name, (series, expected) in cases.items():
        cells, errors = (
            ", ".join(form.format(one) for one in each)
            for form, each in zip(("{:.3g}", "{:+.3f}"), series, strict=True)
        )
        lines.append(f"| {name} | {cells} | {errors} | {order(series):.2f} | {expected} |")
    lines += [
        "",
        "![Error over the side of the cells](freeze-exact.png)",
        "",
        "Steps: the plate in cells of 0.5 mm, steps of 10, 5 and 2.5 % of the time against 0.25 %: "
        + ", ".join(f"{one:+.3f} %" for one in steps[1])
        + f" (order {order(steps):.2f}).",
    ]
    PAGE.write_text("\n".join(lines) + "\n", "utf-8")
    _draw(cases)


def _draw(cases: dict[str, tuple[Series, str]]) -> None:
    import matplotlib as mpl

    mpl.use("Agg")
    import matplotlib.pyplot as plt

    figure, axes = plt.subplots(figsize=(7.0, 5.6), constrained_layout=True)
    for mark, (name, (series, _)) in zip("osd^v*", cases.items(), strict=True):
        axes.loglog(series[0], np.abs(series[1]), marker=mark, label=name)
    at = np.array([0.25, 2.0])
    axes.loglog(at, 2.0 * at, "k:", label="first order")
    axes.loglog(at, 0.5 * at**2, "k--", label="second order")
    axes.set(xlabel="side of the cells [mm]", ylabel="error [%]")
    axes.grid(alpha=0.3)
    axes.set_xticks([0.2, 0.5, 1.0, 2.0], ["0.2", "0.5", "1", "2"])
    axes.minorticks_off()
    figure.legend(*axes.get_legend_handles_labels(), loc="outside lower center", ncols=2, fontsize=7, frameon=False)
    figure.savefig(PAGE.with_suffix(".png"), dpi=110)
    plt.close(figure)


if __name__ == "__main__":
    main()
