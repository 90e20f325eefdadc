"""What was seen, at the doors: outcomes, faults by the atlas, incidents, photos, and the kept files looked over."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pourwright.books.records.files import check, kept_files
from pourwright.books.records.intake import intake_of, intakes
from pourwright.books.records.seen import (
    SeenDefect,
    attach,
    enter_defect,
    enter_incident,
    enter_outcome,
    incidents,
)
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import read
from pourwright.doors.service.books.opening import BookAnswer
from pourwright.doors.service.books.typed import columns, typed
from pourwright.doors.service.records.opening import Room, file_content, moment, reading, writing
from pourwright.matter.defects import defect, defect_ids

_UM_MM = 1000
_AXES_COUNT = 3


def outcome(told: str, piece: str, result: str, by: str, note: str = "", at: str = "", mark: str = "") -> BookAnswer:
    """Enter how a piece came out."""

    def work(room: Room) -> BookAnswer:
        intake_of(room.connection, piece)
        done = enter_outcome(room.connection, piece, result, by, note, moment(at, room.zone), mark)
        text = say("doors.record-outcome", piece=piece, result=result)
        return BookAnswer({"mark": done, "piece": piece, "result": result}, text)

    return writing(told, work)


def fault(
    told: str,
    piece: str,
    name: str,
    severity: str,
    by: str,
    region: str = "",
    place: str = "",
    note: str = "",
    at: str = "",
    mark: str = "",
) -> BookAnswer:
    """Enter a fault of a piece by its id in the atlas, with its place in words or as ``X,Y,Z`` with a unit."""
    found: list[Finding] = []
    place_um = _place_um(place, found)

    def work(room: Room) -> BookAnswer:
        intake_of(room.connection, piece)
        done = enter_defect(
            room.connection, piece, name, severity, by, region, place_um, note, moment(at, room.zone), mark
        )
        one = defect(name)
        text = say("doors.record-fault", piece=piece, title=one.title, tell=one.tell)
        return BookAnswer({"mark": done, "piece": piece, "defect": name, "severity": severity}, text)

    return writing(told, work, tuple(found))


def _place_um(text: str, found: list[Finding]) -> tuple[int, int, int] | None:
    """Return a place in micrometres; each of the three carries its unit, or the last one's counts for all."""
    if not text:
        return None
    parts = [one.strip() for one in text.split(",")]
    unit = parts[-1].lstrip("+-0123456789.eE ") if parts else ""
    whole = [one if one[-1:].isalpha() else f"{one} {unit}" for one in parts]
    read_ones = [typed(one, "mm", "--place") for one in whole]
    problems = [finding for _, wrong in read_ones for finding in wrong]
    if problems or len(parts) != _AXES_COUNT:
        found += problems[:1] or [Finding("doors.record-place", Level.STOP, "--place", {"text": text})]
        return None
    x_um, y_um, z_um = (round(_UM_MM * read(one, "mm")) for one in whole)
    return x_um, y_um, z_um


def atlas() -> BookAnswer:
    """Return the faults that the atlas knows, by their look."""
    found = [defect(one) for one in defect_ids()]
    document = [
        {"defect": one.id, "title": one.title, "looks_like": one.looks_like, "where": one.where, "tell": one.tell,
         "sources": list(one.sources)}
        for one in found
    ]  # fmt: skip
    text = "\n\n".join(say("doors.record-atlas", id=one.id, title=one.title, looks=one.looks_like, where=one.where,
                           tell=one.tell) for one in found)  # fmt: skip
    return BookAnswer({"defects": document}, text)


def incident(
    told: str, subject: str, weight: str, what: str, by: str, role: str = "", change: str = "", at: str = "",
    mark: str = "",
) -> BookAnswer:  # fmt: skip
    """Enter an incident or a near miss; where a name stands for a role, that is said."""

    def work(room: Room) -> BookAnswer:
        done = enter_incident(room.connection, subject, weight, what, by, role, change, moment(at, room.zone), mark)
        text = say("doors.record-incident", subject=subject)
        return BookAnswer({"mark": done, "subject": subject, "weight": weight}, text, _names(room, role, what))

    return writing(told, work, must_exist=False)


def _names(room: Room, role: str, what: str) -> tuple[Finding, ...]:
    """Point out that a person's name stands where a role would do; it is kept as it was typed."""
    words = f"{role} {what}"
    named = sorted({one.owner for one in intakes(room.connection) if one.owner and one.owner in words})
    if not named:
        return ()
    return (Finding("doors.record-name", Level.LOOK, "--role", {"names": ", ".join(named)}),)


def list_incidents(told: str) -> BookAnswer:
    """Return incidents and near misses, in the order of events."""

    def work(room: Room) -> BookAnswer:
        found = incidents(room.connection)
        document = [
            {"subject": one.subject, "weight": one.weight, "role": one.role, "what": one.what,
             "next_time": one.next_time, "happened_at": one.happened_at.isoformat(), "mark": one.mark}
            for one in found
        ]  # fmt: skip
        rows = [(room.shown(one.happened_at), one.weight, one.subject, one.role, one.what, one.next_time)
                for one in found]  # fmt: skip
        return BookAnswer({"incidents": document}, columns(rows) if rows else say("doors.record-none"))

    return reading(told, work)


def photo(told: str, subject: str, file: Path, by: str, note: str = "", at: str = "", mark: str = "") -> BookAnswer:
    """Keep a photo of a piece or load."""
    found: list[Finding] = []
    content = file_content(file, found)

    def work(room: Room) -> BookAnswer:
        when = moment(at, room.zone)
        sha256 = attach(room.connection, room.studio, subject, "photo", content, file.name, by, note, when, mark)
        return BookAnswer({"subject": subject, "sha256": sha256}, say("doors.record-photo", subject=subject))

    return writing(told, work, tuple(found))


def look_over(told: str) -> BookAnswer:
    """Look over every kept file, and say which are missing or damaged."""

    def work(room: Room) -> BookAnswer:
        all_count, bad = len(kept_files(room.connection)), check(room.connection, room.studio)
        codes = {"missing": "books.file-missing", "damaged": "books.file-damaged"}
        says = tuple(Finding(codes[why], Level.STOP, str(one.path_in(room.studio))) for one, why in bad)
        document = {"files_count": all_count, "bad": [{"sha256": one.sha256, "problem": why} for one, why in bad]}
        return BookAnswer(document, say("doors.record-files", count=all_count, bad=len(bad)), says)

    return reading(told, work)


def fault_json(one: SeenDefect) -> dict[str, Any]:
    """Return a fault as plain values, its place in millimetres."""
    place = None if one.place_um is None else [part / _UM_MM for part in one.place_um]
    return {"defect": one.defect, "severity": one.severity, "region": one.region, "place_mm": place, "note": one.note}
