"""Explain a number of a plan: its value and range, how it is made, from which inputs, on which sources."""

from __future__ import annotations

import difflib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, Level
from pourwright.core.sources import register
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.prepare.day_plan import PLAN_FORMAT

_MOST_CANDIDATES = 12
_DEPTH = 4


@dataclass(frozen=True)
class Explanation:
    """The trail of one key, or findings that say why there is none. ``rows``: the plan's whole trail."""

    key: str
    rows: Mapping[str, Mapping[str, Any]]
    findings: tuple[Finding, ...]


def explain(key: str, plan_path: Path | None) -> Explanation:
    """Look a key up in a plan file.

    Parameters
    ----------
    key : str
        A key of the plan's trail, or any part of one that only one key has; empty lists the keys.
    plan_path : Path or None
        The plan; without it ``plan.json`` here, else the newest under ``days``.

    Returns
    -------
    Explanation
        With a finding instead of an answer when the file or the key cannot be used.
    """
    path = plan_path or _newest_plan()
    rows, findings = _read_trail(path)
    if findings:
        return Explanation(key, {}, findings)
    hits = _matching(key, rows)
    if len(hits) == 1:
        return Explanation(hits[0], rows, ())
    return Explanation(key, rows, (_no_single_hit(key, hits, rows, path),))


def _newest_plan() -> Path:
    plans = sorted(Path("days").glob("*/plan.json"))
    return plans[-1] if plans and not Path("plan.json").exists() else Path("plan.json")


def _read_trail(path: Path) -> tuple[Mapping[str, Mapping[str, Any]], tuple[Finding, ...]]:
    def refused(code: str, **params: object) -> tuple[dict[str, Any], tuple[Finding, ...]]:
        return {}, (Finding(code, Level.STOP, str(path), params),)

    try:
        content = json.loads(path.read_text("utf-8"))
    except OSError:
        return refused("doors.plan-not-there")
    except ValueError:
        return refused("doors.plan-not-readable")
    if not isinstance(content, dict) or not isinstance(content.get("figures"), dict):
        return refused("doors.plan-not-readable")
    if content.get("format", 0) > PLAN_FORMAT:
        return refused("doors.plan-newer", format=content["format"], known=PLAN_FORMAT)
    return content["figures"], ()


def _matching(key: str, rows: Mapping[str, Any]) -> list[str]:
    if key in rows:
        return [key]
    if not key:
        return []
    placed = [one for one in rows if "/" not in one]
    whole = [one for one in placed if one.endswith(f".{key}")]
    parts = key.split(".")
    return whole or [one for one in placed if _has_in_order(one, parts)] or [one for one in rows if key in one]


def _has_in_order(path: str, parts: list[str]) -> bool:
    rest = iter(path.split("."))
    return all(any(part == step or step.endswith(f"-{part}") for step in rest) for part in parts)


def _no_single_hit(key: str, hits: list[str], rows: Mapping[str, Any], path: Path) -> Finding:
    if not key:
        candidates, code = (
            sorted(one for one in rows if "/" not in one and not one.startswith("studio")),
            "doors.explain-which",
        )
        return Finding(code, Level.ASK, str(path), {"candidates": "\n".join(candidates)})
    if hits:
        shown = ", ".join(hits[:_MOST_CANDIDATES])
        return Finding(
            "doors.explain-many", Level.ASK, str(path), {"key": key, "count": len(hits), "candidates": shown}
        )
    close = difflib.get_close_matches(key, rows, n=_MOST_CANDIDATES, cutoff=0.3)
    return Finding("doors.explain-none", Level.STOP, str(path), {"key": key, "candidates": ", ".join(close) or "–"})


def as_json(answer: Explanation) -> dict[str, Any]:
    """Return the row of the key, its inputs with their rows, and the sources in full."""
    if answer.findings:
        return {"key": answer.key}
    trail = {one: answer.rows[one] for one in _keys_below(answer)}
    keys = sorted({source for row in trail.values() for source in row["sources"]})
    return {
        "key": answer.key,
        **answer.rows[answer.key],
        "trail": trail,
        "source_titles": {one: _title(one) for one in keys},
    }


def _keys_below(answer: Explanation) -> list[str]:
    found: list[str] = []
    waiting = [answer.key]
    while waiting:
        key = waiting.pop(0)
        if key not in found:
            found.append(key)
            waiting.extend(answer.rows[key]["inputs"].values())
    return found


def _title(source_key: str) -> str:
    source = register().get(source_key)
    return f"{source.title} ({source.read})" if source else source_key


def as_text(answer: Explanation) -> str:
    """Return the explanation as an indented tree with its sources below."""
    if answer.findings:
        return ""
    row = answer.rows[answer.key]
    lines = [answer.key, f"  {_value(row)}", f"  {row['how']}"]
    if row["inputs"]:
        lines += ["", say("doors.explain-from")]
        lines += _input_lines(answer, row, 1, set())
    if row["moved_most_by"]:
        lines += ["", say("doors.explain-mover", name=row["moved_most_by"])]
    keys = sorted({source for one in _keys_below(answer) for source in answer.rows[one]["sources"]})
    if keys:
        lines += ["", say("doors.explain-sources"), *(f"  [{one}] {_title(one)}" for one in keys)]
    return "\n".join(lines)


def _input_lines(answer: Explanation, row: Mapping[str, Any], depth: int, seen: set[str]) -> list[str]:
    """Return a line for each input, each figure's own inputs below it the first time it is met."""
    lines = []
    for name, key in row["inputs"].items():
        one = answer.rows[key]
        marks = "".join(f" [{source}]" for source in one["sources"])
        origin = f" — {one['origin']}" if one["origin"] else ""
        lines.append(f"{'  ' * depth}{name} = {_value(one)}{origin}{marks}")
        if one["inputs"] and key not in seen and depth < _DEPTH:
            seen.add(key)
            lines.append(f"{'  ' * (depth + 1)}{one['how']}")
            lines += _input_lines(answer, one, depth + 1, seen)
    return lines


def _value(row: Mapping[str, Any]) -> str:
    best = show(row["value"], row["unit"])
    if row["low"] == row["high"]:
        return best
    return say("doors.explain-range", best=best, low=show(row["low"], row["unit"]), high=show(row["high"], row["unit"]))
