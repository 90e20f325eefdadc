"""Reads one piece of the day: what it is made of, where its file is, what was weighed."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from pourwright.core.units import show
from pourwright.matter.pattern_materials import pattern_material_ids
from pourwright.studio.day import PieceOrder
from pourwright.studio.keys import PART, PIECE
from pourwright.studio.place import Place, near
from pourwright.studio.profile import Studio
from pourwright.studio.tables import Values, read_rows, read_table


def read_piece(raw: object, place: Place, studio: Studio, folder: Path) -> PieceOrder | None:
    """Return a piece, or None after adding findings to the place.

    Parameters
    ----------
    raw : object
        One ``[[piece]]`` as parsed from TOML.
    place : Place
        Where it stands.
    studio : Studio
        For its pattern materials and flasks.
    folder : Path
        That pattern files are looked for in.
    """
    before = len(place.found)
    parts = _read_parts(raw, place, studio)

    def finish(values: Values, there: Place) -> None:
        _check_piece(values, there, studio, folder)
        _check_measures(values, parts, there)

    values = read_table(PIECE, raw, place, finish)
    if values is None or len(place.found) > before:
        return None
    return PieceOrder(**values, parts=tuple(parts))


def _read_parts(raw: object, place: Place, studio: Studio) -> list[Any]:
    if not isinstance(raw, Mapping) or "part" not in raw:
        return []
    return read_rows(PART, raw, place, lambda values, there: _check_material(values["material"], there, studio))


def _check_piece(values: Values, place: Place, studio: Studio, folder: Path) -> None:
    _check_material(values["material"], place, studio)
    wish, flasks = values["wish_flask"], [one.id for one in studio.flasks]
    if wish and wish not in flasks:
        place.note("studio.id-unknown", "wish_flask", got=wish, known=near(wish, flasks))
    if values["file"]:
        _check_file(values["file"], place, folder)


def _check_material(name: str, place: Place, studio: Studio) -> None:
    """Only what somebody answers for goes into a kiln: the tables' materials, and the studio's own once approved."""
    own = {one.id: one for one in studio.materials}
    if not name:
        return
    if name in own:
        if not own[name].approved_by:
            place.note("studio.material-unapproved", "material", material=name)
    elif name not in pattern_material_ids():
        known = near(name, (*own, *pattern_material_ids()))
        place.note("studio.material-unknown", "material", got=name, known=known)


def _check_file(name: str, place: Place, folder: Path) -> None:
    parts = PurePosixPath(name.replace("\\", "/"))
    if parts.is_absolute() or PureWindowsPath(name).drive or ".." in parts.parts:
        place.note("studio.pattern-outside", "file", got=name)
    elif not (folder / name).is_file():
        beside = sorted(str(one.relative_to(folder)) for one in folder.rglob("*.*") if one.is_file())
        place.note("studio.pattern-missing", "file", got=name, known=near(name, beside))


def _check_measures(values: Values, parts: list[Any], place: Place) -> None:
    weighed, stone = values["weighed_g"], values["stone_g"]
    if parts and weighed:
        place.note("studio.weighed-twice", "weighed")
    if values["displaced_cm3"] and stone:
        place.note("studio.displaced-with-stone", "displaced", piece=values["id"])
    if not place.says("file"):
        _check_without_file(values, place)
    whole = weighed.value if weighed else sum(one.mass_g.value for one in parts)
    if stone and whole and stone.value >= whole:
        place.note("studio.stone-over-whole", "stone", stone=show(stone.value, "g"), whole=show(whole, "g"))


def _check_without_file(values: Values, place: Place) -> None:
    if not any(place.says(key) for key in ("weighed", "part", "displaced")):
        place.note("studio.piece-unmeasured", "weighed", piece=values["id"])
    for key in ("thickest", "longest"):
        if not place.says(key):
            one = next(field for field in PIECE.fields if field.key == key)
            place.note_field("studio.size-missing", one, piece=values["id"])
