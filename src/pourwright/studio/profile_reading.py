"""Reads ``studio.toml`` with its ``calibration.toml``: everything wrong at once, each finding with its line."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, Level, stops
from pourwright.matter.assay import assay_countries
from pourwright.studio.calibration_reading import apply_calibration, read_calibration
from pourwright.studio.clock import check_zone
from pourwright.studio.fields import Section
from pourwright.studio.format import newer_format
from pourwright.studio.keys import HABITS, PAIR, PRINT, ROWS_OF_STUDIO, STUDIO
from pourwright.studio.place import Place, near
from pourwright.studio.profile import Calibrated, MeasuredPair, Studio
from pourwright.studio.profile_checks import checks_for, flasks_without_base
from pourwright.studio.tables import Values, read_record, read_rows, read_table
from pourwright.studio.toml_source import TomlSource, load_toml

STUDIO_FILE, CALIBRATION_FILE = (f"{name}.toml" for name in ("studio", "calibration"))


def read_studio(folder: Path) -> tuple[Studio | None, tuple[Finding, ...]]:
    """Read the profile of a studio.

    Parameters
    ----------
    folder : Path
        Holds ``studio.toml`` and, if the studio has measured anything, ``calibration.toml``.

    Returns
    -------
    studio : Studio or None
        None if any finding stops.
    findings : tuple of Finding
        All that was noticed in both files, in the order of the files.
    """
    source = load_toml(folder / STUDIO_FILE)
    if isinstance(source, Finding):
        return None, (source,)
    return studio_from(source, folder)


def studio_from(source: TomlSource, folder: Path) -> tuple[Studio | None, tuple[Finding, ...]]:
    """Do the same with a profile that was already parsed; ``calibration.toml`` is looked for in the folder."""
    place = Place(source, decimal_comma=source.content.get("decimal_comma") is True)
    if newer_format(place):
        return None, tuple(place.found)
    values = _read_profile(source.content, place)
    measured, pairs, sha256 = _read_measured(folder, source, place)
    if stops(place.found):
        return None, tuple(place.found)
    studio = Studio(**values, calibration=measured, shrink_pairs=pairs, sha256=sha256)
    return apply_calibration(studio), tuple(place.found)


def _read_profile(content: Mapping[str, Any], place: Place) -> Values:
    top = read_table(STUDIO, content, place, _check_top) or {}
    checks = checks_for(content)
    rows = {
        attr: tuple(read_rows(section, content, place, checks.get(section.key)))
        for attr, section in ROWS_OF_STUDIO.items()
    }
    flasks_without_base(content, rows["bases"], place)
    single = {"units": _single(PRINT, content, place), "habits": _single(HABITS, content, place)}
    return {**{key: value for key, value in top.items() if key != "format"}, **rows, **single}


def _check_top(values: Values, place: Place) -> None:
    zone = next(one for one in STUDIO.fields if one.key == "zone")
    if values["zone"]:
        check_zone(zone, values["zone"], place)
    if values["country"] and values["country"] not in assay_countries():
        place.note("studio.country-unlisted", "country", Level.NOTE, got=values["country"],
                   known=near(values["country"], assay_countries()))  # fmt: skip


def _single(section: Section, content: Mapping[str, Any], place: Place) -> Any:
    raw = content.get(section.key, {})
    return read_record(section, raw, place.inside((section.key,), section.key))


def _read_measured(
    folder: Path, source: TomlSource, place: Place
) -> tuple[Mapping[str, Calibrated], tuple[MeasuredPair, ...], str]:
    """Return the accepted quantities, lengths drawn and measured, and one hash over both files."""
    path = folder / CALIBRATION_FILE
    if not path.exists():
        return {}, (), source.sha256
    measured = load_toml(path)
    if isinstance(measured, Finding):
        place.found.append(measured)
        return {}, (), source.sha256
    sha256 = hashlib.sha256(f"{source.sha256} {measured.sha256}".encode()).hexdigest()
    there = Place(measured, decimal_comma=place.decimal_comma, found=place.found)
    pairs = tuple(read_rows(PAIR, measured.content, there))
    return read_calibration(source.content, there), pairs, sha256
