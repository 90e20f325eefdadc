"""Shutting away, letting out again, an odd melt, and signing a lot over: every entry with a name and a reason."""

from __future__ import annotations

from typing import Any

from pourwright.books import stops as kept
from pourwright.books import store
from pourwright.books.stops import CRUCIBLE, LOT, Stop, clear, odd_melt, shut, standing, stops_of
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, with_books


def subject_of(text: str) -> str:
    """Return what a text names: ``crucible:CR-1``, or a lot."""
    return text if text.partition(":")[0] in (LOT, CRUCIBLE) and ":" in text else f"{LOT}:{text}"


def shut_away(told: str, name: str, why: str, made_by: str) -> BookAnswer:
    """Shut a lot or a crucible away."""
    subject = subject_of(name)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            shut(connection, subject, why, made_by)
        return BookAnswer({"subject": subject, "reason": why, "by": made_by}, say("doors.stock-shut", lot=name))

    return with_books(told, work)


def let_out(told: str, name: str, why: str, made_by: str) -> BookAnswer:
    """Let a lot or a crucible out again, with what was found."""
    subject = subject_of(name)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            clear(connection, subject, why, made_by)
            entries = stops_of(connection, subject)
        document = {"subject": subject, "entries": [_stop_json(one) for one in entries]}
        return BookAnswer(document, say("doors.stock-open", lot=name))

    return with_books(told, work)


def report_odd_melt(told: str, pour_id: str, what: str, made_by: str) -> BookAnswer:
    """Shut away what an odd melt touched: its crucible, its button and scrap, and all that was melted from them."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            shut_now, suspects = odd_melt(connection, pour_id, what, made_by)
        lines = [say("doors.odd-melt", pour=pour_id, subjects=", ".join(shut_now) or "–")]
        if suspects:
            lines.append(say("doors.odd-melt-suspects", lots=", ".join(suspects)))
        return BookAnswer({"pour": pour_id, "shut": list(shut_now), "suspects": list(suspects)}, "\n".join(lines))

    return with_books(told, work)


def list_stops(told: str) -> BookAnswer:
    """Return all that is shut away now."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = tuple(standing(connection).values())
        text = "\n".join(
            say("doors.stop-line", subject=one.subject, day=f"{one.made_at:%Y-%m-%d}", by=one.made_by, why=one.reason)
            for one in found
        )
        return BookAnswer({"shut": [_stop_json(one) for one in found]}, text or say("doors.stops-none"))

    return with_books(told, work)


def sign_over(told: str, lot_id: str, why: str, made_by: str) -> BookAnswer:
    """Sign that an owner's lot, or one with solder, may go into anybody's charge."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            kept.sign_over(connection, lot_id, why, made_by)
        return BookAnswer({"lot": lot_id, "released_by": made_by}, say("doors.stock-signed", lot=lot_id, by=made_by))

    return with_books(told, work)


def _stop_json(one: Stop) -> dict[str, Any]:
    return {
        "subject": one.subject,
        "action": one.action,
        "reason": one.reason,
        "made_at": one.made_at.isoformat(),
        "made_by": one.made_by,
        "pour": one.pour,
    }
