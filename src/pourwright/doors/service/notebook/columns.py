"""Columns of a notebook by the names in their heads, and what their cells say; each cell that says nothing is named."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from pourwright.books.masses import mg_from_g
from pourwright.core.errors import UnitError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import UnclearUnitError, read
from pourwright.doors.service.notebook.sheets import Cell, Sheet

# Names of columns, and other names that people give them.
NAMES: Mapping[str, tuple[str, ...]] = {
    "day": ("day", "date", "when"),
    "metal": ("metal", "material"),
    "mass": ("mass", "weight"),
    "from": ("from", "source", "bought from", "dealer"),
    "fineness": ("fineness", "permille"),
    "owner": ("owner", "whose"),
    "price": ("price", "price per g", "per g"),
    "note": ("note", "notes", "remark", "why"),
    "lot": ("lot", "box", "bag"),
    "pour": ("pour", "flask", "melt"),
    "used": ("used", "charge", "metal in"),
    "piece": ("piece", "casting"),
    "cast": ("cast", "piece mass", "casting mass"),
    "button": ("button", "button and sprue"),
    "scrap": ("scrap", "scrap back"),
    "spill": ("spill", "spilt"),
    "alloy": ("alloy",),
    "to": ("to", "receiver", "handed to"),
    "out": ("out", "mass out", "handed out"),
}
MASSES = ("mass", "used", "cast", "button", "scrap", "spill", "out")
# The columns that make a sheet one of lots, pours or metal handed out, and the others that it must have.
KINDS: Mapping[str, tuple[str, ...]] = {
    "pours": ("pour", "day", "lot", "used"),
    "lots": ("metal", "day", "mass", "from"),
    "handed out": ("to", "day", "lot", "out"),
}
_UNIT = re.compile(r"^(.*?)[\s(\[,]+(kg|g|mg|dwt|ozt|oz|ct|gr)[)\]]?$", re.IGNORECASE)
_DOTTED = re.compile(r"^(\d{1,2})\.(\d{1,2})\.(\d{4})$")
_SLASHED = re.compile(r"^\d{1,2}/\d{1,2}/\d{2,4}$")


@dataclass(frozen=True)
class Heads:
    """What a sheet is, and where its columns stand with the unit that the head gives."""

    kind: str
    places: Mapping[str, int]
    units: Mapping[str, str]


@dataclass
class Reading:
    """Reads the cells of one row and gathers what is wrong with them."""

    file: str
    sheet: Sheet
    heads: Heads
    number: int
    row: Sequence[Cell]
    decimal_comma: bool
    found: list[Finding] = field(default_factory=list)

    def place(self, name: str = "") -> str:
        """Return where a cell stands: file, sheet, row, column."""
        column = say("doors.notebook-place.column", column=name) if name else ""
        sheet = say("doors.notebook-place.sheet", sheet=self.sheet.name) if self.sheet.name else ""
        return say("doors.notebook-place", file=self.file, sheet=sheet, row=self.number, column=column)

    def text(self, name: str, needed: bool = False) -> str:
        """Return the text of a cell, empty if there is none."""
        cell = self._sound(name)
        text = "" if cell.value is None else str(cell.value)
        if needed and not text and not cell.fault:
            self._note("doors.notebook-empty", name)
        return text

    def mass_mg(self, name: str, needed: bool = False) -> int:
        """Return a mass in whole milligrams, nothing for an empty cell."""
        text = self.text(name, needed)
        if not text:
            return 0
        unit = self.heads.units.get(name, "")
        has_unit = any(sign.isalpha() for sign in text)
        if not unit and not has_unit:
            self._note("doors.notebook-unit", name, text=text)
            return 0
        try:
            mass_g = read(text if has_unit else f"{text} {unit}", "g", self.place(name), self.decimal_comma)
        except UnclearUnitError as problem:
            self._note("doors.notebook-number", name, Level.ASK, reason=problem)
            return 0
        except UnitError as problem:
            self._note("doors.notebook-number", name, reason=problem)
            return 0
        if mass_g < 0:
            self._note("doors.notebook-below", name, text=text)
            return 0
        return mg_from_g(round(mass_g, 3))

    def day(self) -> date | None:
        """Return the day of the row."""
        cell = self._sound("day")
        if isinstance(cell.value, date):
            return cell.value
        text = self.text("day", needed=True)
        dotted = _DOTTED.match(text)
        try:
            if dotted:
                return date(int(dotted[3]), int(dotted[2]), int(dotted[1]))
            return date.fromisoformat(text) if text else None
        except ValueError:
            level = Level.ASK if _SLASHED.match(text) else Level.STOP
            self._note("doors.notebook-day", "day", level, text=text)
            return None

    def _cell(self, name: str) -> Cell:
        place = self.heads.places.get(name, len(self.row))
        return self.row[place] if place < len(self.row) else Cell(None)

    def _sound(self, name: str) -> Cell:
        """Return a cell; one with a formula or an error is said once, and is empty."""
        cell = self._cell(name)
        if not cell.fault:
            return cell
        code = "doors.notebook-formula" if cell.fault == "formula" else "doors.notebook-error"
        if not any(one.where == self.place(name) for one in self.found):
            self._note(code, name, text=cell.value)
        return Cell(None, cell.fault)

    def _note(self, code: str, name: str, level: Level = Level.STOP, **params: object) -> None:
        self.found.append(Finding(code, level, self.place(name), {"column": name, **params}))


def heads_of(file: str, sheet: Sheet) -> tuple[Heads | None, Finding | None]:
    """Return what the first row of a sheet says about its columns, or why it says nothing."""
    number, row = sheet.rows[0]
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    for place, cell in enumerate(row):
        name, unit = _named(str(cell.value or ""))
        if name and name not in places:
            places[name] = place
            if unit:
                units[name] = unit
    kind = next((one for one, wanted in KINDS.items() if wanted[0] in places), "")
    missing = [one for one in KINDS.get(kind, ()) if one not in places]
    where = say(
        "doors.notebook-place",
        file=file,
        sheet=say("doors.notebook-place.sheet", sheet=sheet.name) if sheet.name else "",
        row=number,
        column="",
    )
    if not kind:
        return None, Finding("doors.notebook-heads", Level.STOP, where, {"kinds": _kinds_text()})
    if missing:
        return None, Finding("doors.notebook-missing", Level.STOP, where, {"kind": kind, "missing": ", ".join(missing)})
    return Heads(kind, places, units), None


def _named(head: str) -> tuple[str, str]:
    """Return our name of a column and the unit in its head, such as ``mass`` and ``dwt`` of ``Weight (dwt)``."""
    tidy = " ".join(head.replace("_", " ").split()).casefold()
    split = _UNIT.match(tidy)
    for text, unit in ((tidy, ""), (split[1], split[2]) if split else ("", "")):
        for name, others in NAMES.items():
            if text in others:
                return name, unit if name in MASSES else ""
    return "", ""


def _kinds_text() -> str:
    return "; ".join(f"{kind}: {', '.join(sorted(names))}" for kind, names in KINDS.items())
