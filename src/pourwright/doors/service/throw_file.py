"""``throw.json`` beside a day's plan: what is known of the filling of its flasks, for the plan to take up."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright import __version__
from pourwright.core.files import write_whole
from pourwright.core.findings import Finding, Level
from pourwright.doors.service.freeze_file import figure_from, plain
from pourwright.simulate.throw_summary import FillWindow, PieceFill, PocketSummary, ThinFill, ThrowSummary

THROW_FORMAT = 1
THROW_FILE = "throw.json"
_FIGURES = ("flask_temperature_C", "pour_temperature_C", "flask_out_s", "release_delay_s")


def keep_throws(folder: Path, summaries: Mapping[str, ThrowSummary]) -> list[Path]:
    """Write what is known of flasks into the day's file, beside what it knows of the others; return the file."""
    path = folder / THROW_FILE
    known = {**read_throws(folder), **summaries}
    content = {
        "format": THROW_FORMAT,
        "program": f"pourwright {__version__}",
        "flasks": {load: plain(one) for load, one in sorted(known.items())},
    }
    write_whole(path, (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode())
    return [path]


def read_throws(folder: Path) -> dict[str, ThrowSummary]:
    """Return what the day's file knows of its flasks; nothing where there is none, or one that cannot be read."""
    try:
        content = json.loads((folder / THROW_FILE).read_text("utf-8"))
        if content["format"] != THROW_FORMAT:
            return {}
        return {load: summary_from(one) for load, one in content["flasks"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def summary_from(content: Mapping[str, Any]) -> ThrowSummary:
    """Return a summary from plain values.

    Raises
    ------
    KeyError, TypeError, ValueError
        They are not those of a summary.
    """
    given = dict(content)
    for name in _FIGURES:
        given[name] = figure_from(given[name])
    given["pieces"] = tuple(_piece(one) for one in given["pieces"])
    given["pockets"] = tuple(PocketSummary(**{**one, "place_mm": tuple(one["place_mm"])}) for one in given["pockets"])
    given["findings"] = tuple(
        Finding(one["code"], Level(one["level"]), one["where"], one["params"], tuple(one["sources"]))
        for one in given["findings"]
    )
    return ThrowSummary(**given)


def _piece(content: Mapping[str, Any]) -> PieceFill:
    thin = tuple(ThinFill(**{**one, "place_mm": tuple(one["place_mm"])}) for one in content["thin"])
    window = FillWindow(**content["window"]) if content["window"] else None
    last = figure_from(content["last_arrival_s"])
    place = tuple(content["last_place_mm"])
    return PieceFill(**{**content, "thin": thin, "window": window, "last_arrival_s": last, "last_place_mm": place})


def throw_as_json(said: ThrowSummary) -> dict[str, Any]:
    """Return a summary for the command line: plain numbers, and the range of the last arrival beside it."""
    document: dict[str, Any] = plain(said)
    for name in _FIGURES:
        document[name] = document[name]["value"]
    document["mass_error_frac"] = float(f"{said.mass_error_frac:.3g}")
    document["pieces"] = [_piece_as_json(one, plain(one)) for one in said.pieces]
    del document["findings"], document["key"]
    return document


def _piece_as_json(one: PieceFill, document: dict[str, Any]) -> dict[str, Any]:
    last = one.last_arrival_s
    document["last_arrival_s"] = None if last is None else round(last.value, 4)
    document["last_arrival_low_s"] = None if last is None else round(last.low, 4)
    document["last_arrival_high_s"] = None if last is None else round(last.high, 4)
    document["state"] = one.state
    return document
