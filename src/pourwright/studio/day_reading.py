"""Reads ``day.toml`` against the studio's profile: everything wrong at once, each finding with its line."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pourwright.core.findings import Finding, Level, stops
from pourwright.matter.alloys import alloy, alloy_ids
from pourwright.studio.clock import in_zone
from pourwright.studio.day import Day
from pourwright.studio.fields import Field
from pourwright.studio.format import newer_format
from pourwright.studio.keys import DAY, PERSON, PIECE
from pourwright.studio.piece_reading import read_piece
from pourwright.studio.place import Place, near
from pourwright.studio.profile import StockLot, Studio
from pourwright.studio.tables import Values, ids_of, read_rows, read_table, row_label, rows_of
from pourwright.studio.toml_source import TomlSource, load_toml

# key of the day -> where the studio keeps such things
_EQUIPMENT = {
    "kiln": "kilns",
    "machine": "machines",
    "crucible": "crucibles",
    "scale": "scales",
    "powder": "powders",
}


def read_day(path: Path, studio: Studio) -> tuple[Day | None, tuple[Finding, ...]]:
    """Read a day file.

    Parameters
    ----------
    path : Path
        The ``day.toml``; pattern files are looked for beside it.
    studio : Studio
        Whose kiln, flasks, lots and materials it names.

    Returns
    -------
    day : Day or None
        None if any finding stops.
    findings : tuple of Finding
        All that was noticed, in the order of the file.
    """
    source = load_toml(path)
    if isinstance(source, Finding):
        return None, (source,)
    return day_from(source, studio, path.parent)


def day_from(source: TomlSource, studio: Studio, folder: Path) -> tuple[Day | None, tuple[Finding, ...]]:
    """Do the same with a day file that was already parsed; pattern files are looked for in the folder."""
    place = Place(source, decimal_comma=studio.decimal_comma)
    if newer_format(place):
        return None, tuple(place.found)
    values = read_table(DAY, source.content, place, lambda values, there: _check_top(values, there, studio)) or {}
    rows = _read_rows(source.content, place, studio, folder)
    if values and not stops(place.found):
        _check_lots(values, rows, place, studio)
    _look_at_folder(values, place, folder.name)
    if stops(place.found):
        return None, tuple(place.found)
    del values["format"]
    return Day(**values, **rows, sha256=source.sha256, folder=str(folder)), tuple(place.found)


def _read_rows(content: Mapping[str, Any], place: Place, studio: Studio, folder: Path) -> Values:
    pieces = [
        read_piece(raw, place.inside(("piece", index), row_label("piece", raw, index)), studio, folder)
        for index, raw in enumerate(rows_of(PIECE, content, place))
    ]
    _check_apart(content, place)
    people = read_rows(PERSON, content, place)
    _check_people(people, place, studio)
    return {"pieces": tuple(one for one in pieces if one is not None), "people": tuple(people)}


def _check_apart(content: Mapping[str, Any], place: Place) -> None:
    """Say so when a piece is to be kept apart from one that is not in the file."""
    known = ids_of(content, "piece")
    rows = content.get("piece", [])
    for index, raw in enumerate(rows if isinstance(rows, list) else []):
        apart = raw.get("apart_from", []) if isinstance(raw, Mapping) else []
        for one in apart if isinstance(apart, list) else []:
            if isinstance(one, str) and one not in known:
                row = place.inside(("piece", index), row_label("piece", raw, index))
                row.note("studio.id-unknown", "apart_from", got=one, known=near(one, known))


def _field(key: str) -> Field:
    return next(one for one in DAY.fields if one.key == key)


def _check_top(values: Values, place: Place, studio: Studio) -> None:
    _check_alloy(values["alloy"], place)
    for key, attr in _EQUIPMENT.items():
        values[key] = _chosen(key, values[key], [one.id for one in getattr(studio, attr)], place)
    _check_crucible(values, place, studio)
    _set_times(values, place, ZoneInfo(studio.zone))
    if place.says("use_lots"):
        _check_lots_known(values["use_lots"] or (), place, studio)
    else:
        values["use_lots"] = _free_lots(studio)


def _check_alloy(name: str, place: Place) -> None:
    if name and name not in alloy_ids():
        place.note("studio.id-unknown", "alloy", got=name, known=near(name, alloy_ids()))
    elif name and alloy(name).refuse_in_teaching:
        place.note("studio.alloy-refused", "alloy", alloy=name)


def _chosen(key: str, wanted: str, known: list[str], place: Place) -> str:
    """Return the thing the day names; the studio's only one if the day names none."""
    if place.says(key) and not wanted:
        return wanted
    if not wanted and len(known) == 1:
        return known[0]
    if not wanted:
        place.note("studio.choose-one", key, known=", ".join(known), first=known[0])
    elif wanted not in known:
        place.note("studio.id-unknown", key, got=wanted, known=near(wanted, known))
    return wanted


def _check_crucible(values: Values, place: Place, studio: Studio) -> None:
    if values["alloy"] not in alloy_ids():
        return
    family = alloy(values["alloy"]).family
    for one in studio.crucibles:
        if one.id == values["crucible"] and one.metals and family not in one.metals:
            metals = ", ".join(one.metals)
            place.note("studio.crucible-metal", "crucible", crucible=one.id, family=family, metals=metals)


def _set_times(values: Values, place: Place, zone: ZoneInfo) -> None:
    clock: time | None = values["first_pour"]
    day: date | None = values["date"]
    pour = in_zone(_field("first_pour"), datetime.combine(day, clock), zone, place) if day and clock else None
    invested = values["invested_at"]
    if invested is not None:
        invested = in_zone(_field("invested_at"), invested, zone, place)
    if pour and invested and invested >= pour:
        place.note_field("studio.invested-late", _field("invested_at"), got=f"{invested:%Y-%m-%d %H:%M}")
    values["first_pour"], values["invested_at"] = pour, invested
    values["done_by"] = _end_of_pours(values["done_by"], pour, zone, place)


def _end_of_pours(clock: time | None, pour: datetime | None, zone: ZoneInfo, place: Place) -> datetime | None:
    """Return when the last pour must be done: that time after the first pour, so of the next day if need be."""
    if clock is None or pour is None:
        return None
    days = 0 if clock > pour.time() else 1
    return in_zone(_field("done_by"), datetime.combine(pour.date() + timedelta(days=days), clock), zone, place)


def _check_lots_known(wanted: tuple[str, ...], place: Place, studio: Studio) -> None:
    known = [one.id for one in studio.lots]
    for one in wanted:
        if one not in known:
            place.note("studio.id-unknown", "use_lots", got=one, known=near(one, known))


def _free_lots(studio: Studio) -> tuple[str, ...]:
    """Return the lots that may be used without being named: known, free of solder, not shut away, nobody's own."""
    return tuple(
        one.id
        for one in studio.lots
        if one.certain and not one.solder and not one.shut and (not one.owner or one.released_by)
    )


def _check_lots(values: Values, rows: Values, place: Place, studio: Studio) -> None:
    owners = {piece.owner for piece in rows["pieces"]}
    named: list[StockLot] = [one for one in studio.lots if one.id in values["use_lots"]]
    for lot in named:
        if lot.owner and not lot.released_by and owners - {lot.owner}:
            place.note("studio.lot-owned", "use_lots", lot=lot.id, owner=lot.owner)


def _check_people(people: list[Any], place: Place, studio: Studio) -> None:
    """Only when every person could be read: otherwise the one who pours may be the one misspelt."""
    rows = place.source.content.get("person")
    if not isinstance(rows, list) or not rows or len(people) < len(rows):
        return
    if len({one.name for one in people}) < 2 and not studio.habits.alone_allowed_by:
        place.note("studio.nobody-alone", "person")
    if not any(one.role == "pourer" for one in people):
        place.note("studio.nobody-pours", "person")


def _look_at_folder(values: Values, place: Place, folder_name: str) -> None:
    """Say so when the folder carries another date than the file: often a copied day."""
    try:
        named = date.fromisoformat(folder_name)
    except ValueError:
        return
    if values and named != values["date"]:
        place.note_field("studio.date-folder", _field("date"), Level.LOOK, got=values["date"], folder=folder_name)
