"""Explain a number of a plan: its value and range, how it is made, from which inputs, on which sources."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, Level
from pourwright.core.sources import register
from pourwright.core.text import say
from pourwright.doors.service.explain_text import explained, keys_below, listed
from pourwright.prepare.day_plan import PLAN_FORMAT

Rows = Mapping[str, Mapping[str, Any]]

_MOST_CANDIDATES = 12
_PLAN_FILE = "plan.json"
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}-")
# What is acted on at the bench, in the order of the day; the rest of a plan's keys are what these are made from.
_ACTED_ON = (
    r"pieces\.[^.]+\.cast_g",
    r"flasks\.[^.]+\.(need\.charge_g|alloyed\.aim(_low)?_permille|flask_temperature_C)",
    r"mix\.batches\.[^.]+\.(powder_g|water_g|ends_min)",
    r"burnout\.(total_min|top_true_C|casting\.[^.]+\.reading_C)",
    r"burnout\.casting\.[^.]+\.lags\.[^.]+\.lag_min",
    r"flasks\.[^.]+\.throw\.(balance\.mark_mm|wind_turns)",
    r"flasks\.[^.]+\.quench\.(earliest|latest)_min",
    r"pouring\.(total|spare)_min",
    r"stock\.[^.]+\.(take|left)_g",
    r"supplies\.(uses\.[^.]+\.(take|left)_g|energy_kWh)",
)


@dataclass(frozen=True)
class Explanation:
    """The trail of one key, or findings that say why there is none. ``rows``: the plan's whole trail."""

    key: str
    rows: Rows
    findings: tuple[Finding, ...]


def explain(words: Sequence[str], plan_path: Path | None) -> Explanation:
    """Look a key up in a plan file.

    Parameters
    ----------
    words : sequence of str
        The key, after the day if that is named: its folder, its ``day.toml`` or its ``plan.json``. A key is one of the
        plan's trail, or any part of one that only one key has; without a key those acted on are listed.
    plan_path : Path or None
        The plan; without it and without a day ``plan.json`` here, else the newest under ``days``.

    Returns
    -------
    Explanation
        With a finding instead of an answer when the file or the key cannot be used.
    """
    day, key = _day_and_key(words)
    path = plan_path or day or _newest_plan()
    rows, findings = _read_trail(path)
    if findings or not key:
        return Explanation("", rows, findings)
    hits = _matching(key, rows)
    if len(hits) == 1:
        return Explanation(hits[0], rows, ())
    return Explanation(key, rows, (_no_single_hit(key, hits, rows, path),))


def _day_and_key(words: Sequence[str]) -> tuple[Path | None, str]:
    first = Path(words[0]) if words else Path()
    if words and (first.is_dir() or first.is_file()):
        named = first if first.name == _PLAN_FILE else (first if first.is_dir() else first.parent) / _PLAN_FILE
        return named, ".".join(words[1:])
    return None, ".".join(words)


def _newest_plan() -> Path:
    plans = sorted(Path("days").glob(f"*/{_PLAN_FILE}"))
    return plans[-1] if plans and not Path(_PLAN_FILE).exists() else Path(_PLAN_FILE)


def _read_trail(path: Path) -> tuple[Rows, tuple[Finding, ...]]:
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
    placed = [one for one in rows if "/" not in one]
    whole = [one for one in placed if one.endswith(f".{key}")]
    parts = key.split(".")
    return whole or [one for one in placed if _has_in_order(one, parts)] or [one for one in rows if key in one]


def _has_in_order(path: str, parts: list[str]) -> bool:
    rest = iter(path.split("."))
    return all(any(part == step or step.endswith(f"-{part}") for step in rest) for part in parts)


def _no_single_hit(key: str, hits: list[str], rows: Rows, path: Path) -> Finding:
    if hits:
        shown = ", ".join(short_key(one) for one in hits[:_MOST_CANDIDATES])
        params = {"asked": key, "count": len(hits), "candidates": shown}
        return Finding("doors.explain-many", Level.ASK, str(path), params)
    short = {short_key(one): one for one in rows}
    close = difflib.get_close_matches(key, short, n=_MOST_CANDIDATES, cutoff=0.3)
    return Finding("doors.explain-none", Level.STOP, str(path), {"asked": key, "candidates": ", ".join(close) or "–"})


def short_key(key: str) -> str:
    """Return a key without the date and the list it stands in where it is found without them too."""
    bare = _DATE.sub("", key)
    return bare.partition(".")[2] if bare.startswith(("flasks.", "pieces.")) and "/" not in bare else bare


def acted_on(rows: Rows) -> list[str]:
    """Return the keys that somebody acts on at the bench, in the order of the day."""
    found = [key for pattern in _ACTED_ON for key in rows if re.fullmatch(pattern, key)]
    return list(dict.fromkeys(found))


def as_json(answer: Explanation) -> dict[str, Any]:
    """Return the row of the key, its inputs with their rows, and the sources in full; without a key all keys."""
    if answer.findings:
        return {"key": answer.key}
    if not answer.key:
        return {"key": "", "acted_on": acted_on(answer.rows), "keys": [one for one in answer.rows if "/" not in one]}
    trail = {one: answer.rows[one] for one in keys_below(answer.key, answer.rows)}
    keys = sorted({source for row in trail.values() for source in row["sources"]})
    return {
        "key": answer.key,
        **answer.rows[answer.key],
        "trail": trail,
        "source_titles": {one: _title(one) for one in keys},
    }


def _title(source_key: str) -> str:
    source = register().get(source_key)
    return f"{source.title} ({source.read})" if source else source_key


def as_text(answer: Explanation) -> str:
    """Return the explanation as an indented tree with its sources below; without a key the list of what is acted on."""
    if answer.findings:
        return ""
    if answer.key:
        return explained(short_key(answer.key), answer.key, answer.rows)
    rows = [(short_key(one), answer.rows[one]) for one in acted_on(answer.rows)]
    more = sum("/" not in one for one in answer.rows) - len(rows)
    return "\n".join([listed(rows), "", say("doors.explain-more", count=more)])
