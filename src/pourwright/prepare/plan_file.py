"""The plan as ``plan.json`` (format 1): plain values, and beside them the trail of every figure.

Keys of the trail are paths into the plan, with ids instead of list positions:
``flasks.2026-12-05-F1.need.floor_g``. A figure that is only an input of others stands under the key of the first
figure that uses it, followed by its name: ``flasks.2026-12-05-F1.need.floor_g/solid_g_cm3``.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from datetime import UTC, date, datetime
from enum import Enum
from pathlib import Path
from typing import Any

from pourwright import __version__
from pourwright.core.figure import Figure
from pourwright.core.files import write_whole
from pourwright.core.findings import Finding
from pourwright.core.text import say
from pourwright.matter.version import tables_sha256
from pourwright.prepare.day_plan import PLAN_FORMAT, DayPlan
from pourwright.shape.pattern.report import Mesh, Skin

# Printed decimals by unit; the same input must give the same bytes (docs/decisions/0004-determinism.md).
_DECIMALS = {"g": 2, "kg": 5, "mm": 3, "cm3": 4, "mm3": 3, "C": 1, "min": 2, "N": 2, "permille": 3, "kgm": 6}
_DECIMALS_ELSE = 6


def rounded(value_ratio: float, unit: str) -> float:
    """Return a value, in ``unit``, rounded to the decimals that files of ours keep for that unit."""
    return round(value_ratio, _DECIMALS.get(unit, _DECIMALS_ELSE)) + 0.0


class _Walker:
    """Turns a tree of frozen dataclasses into plain values and collects the figures met on the way."""

    def __init__(self) -> None:
        self.paths: dict[int, str] = {}
        self.figures: dict[str, Figure] = {}

    def plain(self, value: Any, path: str) -> Any:  # noqa: PLR0911 - one line a type
        if isinstance(value, Figure):
            return self._figure(value, path)
        if isinstance(value, Finding):
            return value.as_json()
        if isinstance(value, Mesh):
            return {"triangles_count": len(value.faces), "vertices_count": len(value.vertices_mm)}
        if isinstance(value, Skin):
            return {"points_count": len(value.points_mm)}
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            names = [one.name for one in dataclasses.fields(value)]
            return {name: self.plain(getattr(value, name), _join(path, name)) for name in names}
        if isinstance(value, Mapping):
            return {str(name): self.plain(one, _join(path, str(name))) for name, one in value.items()}
        if isinstance(value, (tuple, list)):
            return [self.plain(one, _join(path, _label(one, row))) for row, one in enumerate(value)]
        return _scalar(value)

    def _figure(self, figure: Figure, path: str) -> float:
        self.figures.setdefault(path, figure)
        self.paths.setdefault(id(figure), path)
        return rounded(figure.value, figure.unit)

    def trail(self) -> dict[str, Any]:
        """Return one row for each figure placed in the plan and each figure those were made from."""
        rows: dict[str, Any] = {}
        waiting = list(self.figures.items())
        while waiting:
            path, figure = waiting.pop(0)
            if path in rows:
                continue
            rows[path] = _trail_row(figure)
            for name, one in figure.inputs.items():
                if id(one) not in self.paths:
                    self.paths[id(one)] = f"{path}/{name}"
                    waiting.append((f"{path}/{name}", one))
                rows[path]["inputs"][name] = self.paths[id(one)]
        return rows


def _join(path: str, name: str) -> str:
    return f"{path}.{name}" if path else name


def _label(item: Any, row: int) -> str:
    for name in ("id", "flask", "lot"):
        label = getattr(item, name, None)
        if isinstance(label, str) and label:
            return label
    return str(row)


def _scalar(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return round(value, _DECIMALS_ELSE) + 0.0
    return value


def _trail_row(figure: Figure) -> dict[str, Any]:
    return {
        "value": rounded(figure.value, figure.unit),
        "low": rounded(figure.low, figure.unit),
        "high": rounded(figure.high, figure.unit),
        "unit": figure.unit,
        "how": say(figure.how),
        "inputs": {},
        "moved_most_by": figure.mover,
        "moved_to": _moved(figure),
        "origin": figure.origin,
        "sources": list(figure.sources),
    }


def _moved(figure: Figure) -> dict[str, float] | None:
    """Return between what the figure lies where only the input that moves it most is at its ends."""
    if figure.moved is None:
        return None
    low, high = (rounded(one, figure.unit) for one in sorted(figure.moved))
    return {"low": low, "high": high}


def plan_as_json(plan: DayPlan) -> dict[str, Any]:
    """Return the whole plan as plain JSON values, with the trail of its figures under ``figures``."""
    walker = _Walker()
    content = {
        "pieces": walker.plain(plan.pieces, "pieces"),
        "flasks": walker.plain(plan.flasks, "flasks"),
        "mix": walker.plain(plan.mix, "mix"),
        "burnout": walker.plain(plan.burnout, "burnout"),
        "pouring": walker.plain(plan.pouring, "pouring"),
        "stock": walker.plain(plan.stock, "stock"),
        "timeline": walker.plain(plan.timeline, "timeline"),
        "supplies": walker.plain(plan.supplies, "supplies"),
        "aftercare": walker.plain(plan.aftercare, "aftercare"),
        "studio": walker.plain(plan.studio, "studio"),
        "day": walker.plain(plan.day, "day"),
    }
    return {
        "format": PLAN_FORMAT,
        "program": f"pourwright {__version__}",
        "made_from": _made_from(plan),
        "zone": plan.studio.zone,
        "findings": [one.as_json() for one in plan.findings],
        **content,
        "figures": walker.trail(),
    }


def _made_from(plan: DayPlan) -> dict[str, Any]:
    patterns = {one.pattern.file: one.pattern.sha256 for one in plan.pieces if one.pattern is not None}
    return {
        "studio_sha256": plan.studio.sha256,
        "day_sha256": plan.day.sha256,
        "tables_sha256": tables_sha256(),
        "patterns_sha256": patterns,
    }


def write_plan(plan: DayPlan, path: Path) -> dict[str, Any]:
    """Write ``plan.json`` whole and return what was written."""
    content = plan_as_json(plan)
    write_whole(path, (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode())
    return content
