"""``freeze.json`` beside a day's plan: what is known of the freezing of its flasks, for the plan to take up."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright import __version__
from pourwright.core.figure import Figure
from pourwright.core.files import write_whole
from pourwright.core.findings import Finding, Level
from pourwright.prepare.plan_file import rounded
from pourwright.simulate.summary import FreezeSummary, SpotSummary, VerdictSummary

FREEZE_FORMAT = 1
FREEZE_FILE = "freeze.json"
_S_MIN = 60.0
_RANGED = (
    "last_solid_s", "black_heat_min", "quench_from_min", "quench_to_min", "flask_temperature_C", "pour_temperature_C",
)  # fmt: skip


def keep_summaries(folder: Path, summaries: Mapping[str, FreezeSummary]) -> list[Path]:
    """Write what is known of flasks into the day's file, beside what it knows of the others; return the file."""
    path = folder / FREEZE_FILE
    known = {**read_summaries(folder), **summaries}
    content = {
        "format": FREEZE_FORMAT,
        "program": f"pourwright {__version__}",
        "flasks": {load: plain(one) for load, one in sorted(known.items())},
    }
    write_whole(path, (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode())
    return [path]


def read_summaries(folder: Path) -> dict[str, FreezeSummary]:
    """Return what the day's file knows of its flasks; nothing where there is none, or one that cannot be read."""
    try:
        content = json.loads((folder / FREEZE_FILE).read_text("utf-8"))
        if content["format"] != FREEZE_FORMAT:
            return {}
        return {load: _summary(one) for load, one in content["flasks"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def plain(value: Any) -> Any:
    """Return a summary, or a part of one, as plain JSON values; numbers to six figures."""
    if isinstance(value, Figure):
        said = {name: _to_six(getattr(value, name)) for name in ("value", "low", "high")}
        rest = {"unit": value.unit, "how": value.how, "sources": list(value.sources), "origin": value.origin}
        return said | rest
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(name): plain(one) for name, one in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(one) for one in value]
    return _to_six(value) if isinstance(value, float) else value


def _to_six(value_ratio: float) -> float:
    """Return a number, in whatever unit, to six figures: far more than is known."""
    return float(f"{value_ratio:.6g}")


def _summary(content: Mapping[str, Any]) -> FreezeSummary:
    given = dict(content)
    for name in _RANGED:
        given[name] = figure_from(given[name])
    given["hot_spots"] = tuple(
        SpotSummary(**{**one, "place_mm": tuple(one["place_mm"]), "void_mm3": figure_from(one["void_mm3"])})
        for one in given["hot_spots"]
    )
    given["verdicts"] = tuple(
        VerdictSummary(**{**one, "void_mm3": figure_from(one["void_mm3"])}) for one in given["verdicts"]
    )
    given["findings"] = tuple(
        Finding(one["code"], Level(one["level"]), one["where"], one["params"], tuple(one["sources"]))
        for one in given["findings"]
    )
    return FreezeSummary(**given)


def figure_from(content: Mapping[str, Any] | None) -> Figure | None:
    """Return a figure from its plain values, without its trail."""
    return None if content is None else Figure(**{**content, "sources": tuple(content["sources"])})


def summary_as_json(said: FreezeSummary) -> dict[str, Any]:
    """Return a summary for the command line: plain numbers, and the ranges of those that have one beside them."""
    figures = {name: getattr(said, name) for name in _RANGED}
    black = said.black_heat_min
    return {
        "energy_error_frac": float(f"{said.energy_error_frac:.3g}"),
        "side_mm": round(said.side_mm, 4),
        "cells_count": said.cells_count,
        "last_solid_s": round(said.last_solid_s.value, 2),
        "black_heat_s": None if black is None else round(_S_MIN * black.value, 1),
        "hot_spots": [_spot_as_json(one) for one in said.hot_spots],
        "verdicts": [
            {**plain(one), "void_mm3": rounded(one.void_mm3.value, "mm3"), **_ends(one.void_mm3, "void", "mm3")}
            for one in said.verdicts
        ],
        "samples_count": said.samples_count,
        "ranges": {
            name: _range(figure, said.moved_by.get(name, "")) for name, figure in figures.items() if figure is not None
        },
        "picture": said.picture,
    }


def _spot_as_json(one: SpotSummary) -> dict[str, Any]:
    return {**plain(one), "void_mm3": rounded(one.void_mm3.value, "mm3"), **_ends(one.void_mm3, "void", "mm3")}


def _ends(figure: Figure, name: str, unit: str) -> dict[str, float]:
    low, high = rounded(figure.low, unit), rounded(figure.high, unit)
    return {f"{name}_low_{unit}": low, f"{name}_high_{unit}": high}


def _range(figure: Figure, mover: str) -> dict[str, Any]:
    ends = {name: round(getattr(figure, name), 2) for name in ("low", "value", "high")}
    return {**ends, "unit": figure.unit, "moved_most_by": mover}
