"""Pieces at the doors: consent, intake, where each is and was, what was written, and taking it back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pourwright.books.ledger import new_mark
from pourwright.books.records.absent import mark_absent, pours_left
from pourwright.books.records.entering import Entry, entry_by, history, take_back
from pourwright.books.records.intake import NewPiece, consent, intake_of, take_piece_in
from pourwright.books.records.pieces import PieceEvent, chain_of, move, pieces_here, take_state_back, whereabouts
from pourwright.core.errors import LedgerError
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, findings_of
from pourwright.doors.service.books.typed import columns, typed_mg
from pourwright.doors.service.records.opening import Room, file_content, moment, reading, writing
from pourwright.doors.service.records.plans import kept_plan

_NO_PLACE = "\u2013"


def consent_words(recast: str) -> BookAnswer:
    """Return the words to be shown before a piece is taken in."""
    try:
        shown = consent(recast)
    except LedgerError as stop:
        return BookAnswer({}, "", findings_of(stop))
    document = {"version": shown.version, "recast": shown.recast, "lines": list(shown.lines)}
    return BookAnswer(document, "\n".join(f"  {one}" for one in shown.lines))


def intake(
    told: str,
    piece: str,
    owner: str,
    agreed_by: str,
    by: str,
    title: str = "",
    material: str = "",
    pattern: Path | None = None,
    weighed: str = "",
    recast: str = "none",
    at: str = "",
    mark: str = "",
) -> BookAnswer:
    """Take a piece in, from texts as typed.

    Parameters
    ----------
    told : str
        Books, see :func:`pourwright.doors.service.books.opening.where_books_are`.
    piece, owner, title, material, agreed_by, by, recast, at, mark : str
        As for :class:`pourwright.books.records.intake.NewPiece` and the consent.
    pattern : Path, optional
        The pattern file; it is kept under its hash.
    weighed : str
        What the pattern weighs.
    """
    found: list[Finding] = []
    content = file_content(pattern, found) if pattern else b""
    pattern_mg = typed_mg(weighed, "--weighed", found) if weighed else None
    new = NewPiece(piece, owner, title, material, pattern_mg, pattern.name if pattern else "", content)

    def work(room: Room) -> BookAnswer:
        shown = consent(recast)
        when = moment(at, room.zone)
        done = take_piece_in(room.connection, room.studio, new, shown, agreed_by, by, when, mark)
        kept = intake_of(room.connection, piece)
        document = {
            "mark": done,
            "piece": piece,
            "owner": kept.owner,
            "title": kept.title,
            "pattern_sha256": kept.pattern_sha256,
            "pattern_g": None if kept.pattern_mg is None else kept.pattern_mg / 1000,
            "recast": kept.recast,
            "agreed_by": kept.agreed_by,
            "consent_version": kept.consent_version,
            "consent_sha256": kept.consent_sha256,
            "taken_in_at": kept.happened_at.isoformat(),
        }
        text = say("doors.record-taken-in", piece=piece, owner=owner, terms=shown.lines[-1])
        return BookAnswer(document, text)

    return writing(told, work, tuple(found), must_exist=False)


def state(
    told: str,
    word: str,
    pieces: Sequence[str],
    load: str,
    by: str,
    place: str = "",
    why: str = "",
    at: str = "",
    mark: str = "",
) -> BookAnswer:
    """Move pieces on: those named, or all that are in a load."""
    mark = mark or new_mark()

    def work(room: Room) -> BookAnswer:
        when = moment(at, room.zone)
        inside = whereabouts(room.connection, when, load=load) if load else ()
        ids = list(pieces) or [one.piece for one in inside]
        if not ids:
            return BookAnswer({}, "", (Finding("doors.record-no-pieces", Level.STOP, load or word, {"load": load}),))
        for one in ids:
            move(room.connection, one, word, by, place, load, when, why, f"{mark}:{one}")
        now = whereabouts(room.connection, pieces=ids)
        text = say("doors.record-moved", pieces=", ".join(ids), state=word)
        return BookAnswer({"mark": mark, "pieces": [_event_json(one) for one in now]}, text)

    return writing(told, work)


def where(told: str, pieces: Sequence[str], load: str = "", at: str = "", gone_too: bool = False) -> BookAnswer:
    """Return where pieces are, or were at a moment.

    Parameters
    ----------
    told, at : str
        Books, and the moment as typed.
    pieces, load
        Only these, or only what is in that load; else all that are in the studio.
    gone_too : bool
        Whether to list those too that were returned, withdrawn or lost.
    """

    def work(room: Room) -> BookAnswer:
        when = moment(at, room.zone)
        for one in pieces:
            intake_of(room.connection, one)
        here = pieces or (() if load or gone_too else pieces_here(room.connection, when))
        some = bool(here) or bool(load) or gone_too
        found = whereabouts(room.connection, when, here, load) if some else ()
        rows = [tuple(say(f"doors.record-head.{name}") for name in ("piece", "state", "place", "load", "since"))]
        rows += [
            (one.piece, one.state, one.place or _NO_PLACE, one.load or _NO_PLACE, room.shown(one.happened_at))
            for one in found
        ]
        text = columns(rows) if found else say("doors.record-nowhere")
        return BookAnswer({"pieces": [_event_json(one) for one in found]}, text)

    return reading(told, work)


def history_of(told: str, subjects: Sequence[str]) -> BookAnswer:
    """Return what was written about pieces, loads or days, corrections too."""

    def work(room: Room) -> BookAnswer:
        found = history(room.connection, subjects)
        steps = {one.mark: one for piece in {row.subject for row in found} for one in chain_of(room.connection, piece)}
        rows = [(room.shown(one.happened_at), one.subject, _kind(one, steps), one.made_by, _note(one), one.mark)
                for one in found]  # fmt: skip
        text = columns(rows) if rows else say("doors.record-none")
        return BookAnswer({"records": [_entry_json(one) for one in found]}, text)

    return reading(told, work)


def _kind(one: Entry, steps: dict[str, PieceEvent]) -> str:
    return steps[one.mark].state if one.mark in steps else one.kind


def _note(one: Entry) -> str:
    if one.taken_back_by:
        return say("doors.record-gone", mark=one.taken_back_by)
    return one.reason or _NO_PLACE


def take_record_back(told: str, mark: str, by: str, why: str, new_mark_text: str = "") -> BookAnswer:
    """Take a record back with a reason."""

    def work(room: Room) -> BookAnswer:
        one = entry_by(room.connection, mark)
        undo = take_state_back if one.kind == "state" else take_back
        new = undo(room.connection, mark, by, why, new_mark_text)
        return BookAnswer({"mark": new, "reverses": mark}, say("doors.record-taken-back", mark=mark, new=new))

    return writing(told, work)


def absent(
    told: str, load: str, owners: Sequence[str], by: str, why: str = "", at: str = "", mark: str = ""
) -> BookAnswer:
    """Enter that the owners of a load did not come: it waits, and the pours after it move up."""

    def work(room: Room) -> BookAnswer:
        reason = why.strip() or say("doors.record-absent-reason")
        done = mark_absent(room.connection, load, owners, by, reason, moment(at, room.zone), mark)
        plan = kept_plan(room, load[:10])
        left = pours_left(room.connection, plan.loads if plan else ())
        document = {
            "mark": done.mark,
            "load": load,
            "pieces": list(done.pieces),
            "owners": list(done.owners),
            "next_cycle_count": done.next_cycle_count,
            "pours_left": [{"number": number, "load": one} for number, one in left],
        }
        lines = [say("doors.record-absent", load=load, owners=", ".join(done.owners), cycle=done.next_cycle_count)]
        lines += [say("doors.record-pour-left", number=number, load=one) for number, one in left]
        return BookAnswer(document, "\n".join(lines))

    return writing(told, work)


def _event_json(one: PieceEvent) -> dict[str, Any]:
    return {
        "piece": one.piece,
        "state": one.state,
        "place": one.place,
        "load": one.load,
        "since": one.happened_at.isoformat(),
        "by": one.made_by,
        "reason": one.reason,
        "mark": one.mark,
    }


def _entry_json(one: Entry) -> dict[str, Any]:
    return {
        "mark": one.mark,
        "kind": one.kind,
        "subject": one.subject,
        "happened_at": one.happened_at.isoformat(),
        "noted_at": one.noted_at.isoformat(),
        "by": one.made_by,
        "reason": one.reason,
        "reverses": one.reverses,
        "taken_back_by": one.taken_back_by,
    }


def mass_text(mass_mg: int | None) -> str:
    """Return a mass in grams as it is printed, a dash for one that nobody weighed."""
    return _NO_PLACE if mass_mg is None else show(mass_mg / 1000, "g", 2)
