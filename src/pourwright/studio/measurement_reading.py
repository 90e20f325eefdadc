"""Reads ``arm-measurements.toml``: everything wrong at once, each finding with its line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, stops
from pourwright.studio.format import newer_format
from pourwright.studio.measurement_keys import MEASUREMENTS
from pourwright.studio.measurements import ArmMeasurements
from pourwright.studio.place import Place
from pourwright.studio.tables import Values, read_rows, read_table, row_label
from pourwright.studio.toml_source import load_toml


def read_measurements(path: Path) -> tuple[ArmMeasurements | None, tuple[Finding, ...]]:
    """Read what was measured of an arm.

    Parameters
    ----------
    path : Path
        The file; its name is free.

    Returns
    -------
    measurements : ArmMeasurements or None
        None if any finding stops.
    findings : tuple of Finding
        All that was noticed, in the order of the file.
    """
    source = load_toml(path)
    if isinstance(source, Finding):
        return None, (source,)
    place = Place(source)
    if newer_format(place):
        return None, tuple(place.found)
    values = read_table(MEASUREMENTS, source.content, place) or {}
    rows: Values = {
        one.attr: tuple(read_rows(one.rows, source.content, place)) for one in MEASUREMENTS.fields if one.rows
    }
    if not stops(place.found):
        _check_rows(source.content, place)
    if stops(place.found):
        return None, tuple(place.found)
    del values["format"]
    return ArmMeasurements(**values, **rows), tuple(place.found)


def _check_rows(content: Mapping[str, Any], place: Place) -> None:
    speeds = [row for row in content.get("spin", []) if {"peak", "frames", "coast"} & set(row)]
    if not (content.get("pull") or content.get("part") or speeds):
        place.note("studio.measurement-none", "")
    for row, there in _rows("pull", content, place):
        if "winding" not in row and "easing" not in row:
            there.note("studio.pull-empty", "winding")
    if content.get("pull") and "pull_radius" not in content:
        place.note("studio.pull-no-radius", "pull_radius")
    if any(row.get("beyond_hinge") for row, _ in _rows("part", content, place)) and "hinge_radius" not in content:
        place.note("studio.part-no-hinge", "hinge_radius")
    for row, there in _rows("spin", content, place):
        _check_spin(row, there)


def _rows(key: str, content: Mapping[str, Any], place: Place) -> Iterator[tuple[Mapping[str, Any], Place]]:
    for number, row in enumerate(content.get(key, [])):
        yield row, place.inside((key, number), row_label(key, row, number))


def _check_spin(row: Mapping[str, Any], place: Place) -> None:
    if not {"peak", "frames", "opens", "coast"} & set(row):
        place.note("studio.spin-empty", "turns")
    if "peak" in row and "frames" in row:
        place.note("studio.speed-twice", "frames", one="peak")
    _check_frames(row, place)
    for coast, there in _rows("coast", row, place):
        if ("speed" in coast) == ("frames" in coast):
            there.note("studio.speed-twice" if "speed" in coast else "studio.speed-missing", "frames", one="speed")
        _check_frames(coast, there)
    coasts = list(_rows("coast", row, place))
    if len(coasts) == 1:
        coasts[0][1].note("studio.coast-alone", "time")


def _check_frames(row: Mapping[str, Any], place: Place) -> None:
    if "frames" in row and "frame_rate" not in place.source.content:
        place.note("studio.frames-no-rate", "frames")
