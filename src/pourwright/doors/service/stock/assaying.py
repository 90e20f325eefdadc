"""Assays at the doors: sent, and come back with their certificate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from pourwright.books import store
from pourwright.books.assays import Assay, Entered, Result, assays, enter_result, send
from pourwright.books.records.files import keep
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, typed_mg
from pourwright.doors.service.stock.intake import fineness_ends, holds_as_typed
from pourwright.doors.service.stock.papers import content_of, folder_of


@dataclass(frozen=True)
class Report:
    """What a certificate says, as typed; ``paper`` is its file, kept by hash."""

    fineness: str
    reported_on: date
    element: str = "Ag"
    holds: Sequence[str] = ()
    method: str = ""
    struck: str = ""
    paper: Path | None = None


def subject_as_typed(text: str) -> str:
    """Return what a text names: ``piece:...``, or a lot."""
    return text if text.partition(":")[0] in ("lot", "piece") and ":" in text else f"lot:{text}"


def send_to_assay(told: str, name: str, office: str, sample: str, note: str, made_by: str) -> BookAnswer:
    """Send a lot or a piece to be assayed."""
    found: list[Finding] = []
    sample_mg = typed_mg(sample, "--sample", found) if sample else 0
    if found:
        return BookAnswer({}, "", tuple(found))
    subject = subject_as_typed(name)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            number = send(connection, subject, office, made_by, sample_mg, note)
        document = {"assay": number, "subject": subject, "office": office, "sample_mg": sample_mg}
        return BookAnswer(document, say("doors.assay-sent", assay=number, subject=subject, office=office))

    return with_books(told, work)


def enter_assay(told: str, assay_id: str, report: Report, made_by: str) -> BookAnswer:
    """Enter what an assay found, and keep its certificate.

    Parameters
    ----------
    told : str
        Books.
    assay_id : str
        Number of the submission.
    report : Report
        As on the certificate.
    made_by : str
        Who enters it.
    """
    low, high, found = fineness_ends(report.fineness, "--fineness")
    others, wrong = holds_as_typed(report.holds)
    content, unread = content_of(report.paper, "--certificate")
    found += wrong + unread
    if found:
        return BookAnswer({}, "", found)
    result = Result(report.element, low, high, report.reported_on, others, report.method, report.struck)

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            kept = keep(connection, folder_of(books), content, str(report.paper)) if report.paper else None
            named = (
                replace(result, certificate=report.paper.name, sha256=kept.sha256) if report.paper and kept else result
            )
            done = enter_result(connection, assay_id, named, made_by)
            sent = next(one for one in assays(connection) if one.id == assay_id)
        return BookAnswer(_assay_json(sent) | {"mark": done.mark}, _text(sent), _remarks(sent, done))

    return with_books(told, work)


def _remarks(sent: Assay, done: Entered) -> tuple[Finding, ...]:
    found = []
    if done.outside_range:
        found.append(Finding("doors.assay-outside", Level.LOOK, sent.subject, {"subject": sent.subject}))
    if done.poison:
        params = {"subject": sent.subject, "elements": ", ".join(done.poison)}
        found.append(Finding("doors.assay-poison", Level.LOOK, sent.subject, params))
    return tuple(found)


def list_assays(told: str, name: str = "") -> BookAnswer:
    """Return all submissions with their results, or those of a lot or piece."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = assays(connection, subject_as_typed(name) if name else "")
        rows = [(one.id, one.subject, one.office, f"{one.sent_at:%Y-%m-%d}", _found(one)) for one in found]
        return BookAnswer(
            {"assays": [_assay_json(one) for one in found]}, columns(rows) if rows else say("doors.assays-none")
        )

    return with_books(told, work)


def _found(one: Assay) -> str:
    if one.result is None:
        return say("doors.assay-waiting")
    low, high = (show(1000 * share, "permille", 1) for share in (one.result.low_frac, one.result.high_frac))
    return low if low == high else f"{low} \u2013 {high}"


def _text(one: Assay) -> str:
    return say("doors.assay-entered", assay=one.id, subject=one.subject, found=_found(one))


def _assay_json(one: Assay) -> dict[str, Any]:
    result = one.result
    return {
        "assay": one.id,
        "subject": one.subject,
        "office": one.office,
        "sample_mg": one.sample_mg,
        "sent_at": one.sent_at.isoformat(),
        "sent_by": one.sent_by,
        "note": one.note,
        "result": None
        if result is None
        else {
            "element": result.element,
            "low_permille": round(1000 * result.low_frac, 3),
            "high_permille": round(1000 * result.high_frac, 3),
            "method": result.method,
            "struck": result.struck,
            "certificate": result.certificate,
            "sha256": result.sha256,
            "reported_on": result.reported_on.isoformat(),
        },
    }
