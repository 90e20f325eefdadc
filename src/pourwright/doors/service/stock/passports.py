"""The fineness passport at the doors: what may be claimed of a piece, and which assay is worth its fee."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from pourwright.books import store
from pourwright.books.masses import UNKNOWN
from pourwright.books.passport import Passport, Root, passport, pieces_of, worth_of
from pourwright.books.passport import alloy_of as pour_alloy
from pourwright.core.figure import given
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams, typed_mg
from pourwright.doors.service.variables import STUDIO_VARIABLE
from pourwright.matter.alloys import alloy
from pourwright.matter.assay import AssayQuestion, assay_question
from pourwright.prepare.after.cards import lot_shares, remark_for
from pourwright.prepare.after.results import LotShare
from pourwright.studio.reading import read_studio

_HEAD = (
    "doors.passport-head-lot",
    "doors.passport-head-mass",
    "doors.passport-head-fineness",
    "doors.passport-head-melts",
    "doors.passport-head-left",
)


def piece_passport(told: str, piece: str, scale: str, studio_folder: Path | None) -> BookAnswer:
    """Return what is known of a piece's fineness, what must not be claimed of it, and what the law asks.

    Parameters
    ----------
    told : str
        Books.
    piece : str
        As in its pour.
    scale : str
        One mark of the scale the charges were weighed on; a weighing may be off by half of it.
    studio_folder : Path or None
        Whose country's law is meant; without a studio file the question for all countries is put.
    """
    found: list[Finding] = []
    mark_mg = typed_mg(scale, "--scale", found)
    if found:
        return BookAnswer({}, "", tuple(found))
    question = _question(studio_folder)

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            known, element = _known(connection, piece, mark_mg)
        lots = _lots(known)
        limit = question.limits_g.get(element)
        asked = limit is not None and grams(known.mass_mg) > limit.best
        document = _json(known, lots, question, asked)
        return BookAnswer(document, _text(known, lots, question, asked), _remark([(known, lots)]))

    return with_books(told, work)


def pour_passports(told: str, pour_id: str, scale: str) -> BookAnswer:
    """Return what is known of each piece of a pour, and which one assay would settle most about all of them.

    Parameters
    ----------
    told, scale : str
        As for :func:`piece_passport`.
    pour_id : str
        Which pour.
    """
    found: list[Finding] = []
    mark_mg = typed_mg(scale, "--scale", found)
    if found:
        return BookAnswer({}, "", tuple(found))

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            known = [_known(connection, piece, mark_mg)[0] for piece in pieces_of(connection, pour_id)]
        with_lots = [(one, _lots(one)) for one in known]
        lot, settled = worth_of(known)
        document = {
            "pour": pour_id,
            "pieces": [_piece_json(one, lots) for one, lots in with_lots],
            "assay_worth": lot,
            "assay_worth_count": round(settled, 4),
        }
        rows = [(one.piece, one.owner, show(grams(one.mass_mg), "g", 2), *_short_fineness(one)) for one in known]
        lines = [columns(rows, right=(2, 3, 4))]
        if lot:
            lines += ["", say("doors.passports-worth", lot=lot, count=show(settled, "count", 2))]
        return BookAnswer(document, "\n".join(lines), _remark(with_lots))

    return with_books(told, work)


def _known(connection: Any, piece: str, mark_mg: int) -> tuple[Passport, str]:
    """Return a piece's passport, and the metal of its mark."""
    cast = alloy(pour_alloy(connection, piece))
    standard_permille = cast.fineness_permille if cast.element else 0.0
    return passport(connection, piece, standard_permille, cast.element, mark_mg / 2), cast.element


def _short_fineness(known: Passport) -> tuple[str, str]:
    if known.meets_frac is None:
        return say("doors.stock-unknown"), "?"
    share = show(math.floor(1000 * known.meets_frac) / 10, "percent", 1)
    return show(known.best_permille, "permille", 1), share


def _question(studio_folder: Path | None) -> AssayQuestion:
    folder = studio_folder or Path(os.environ.get(STUDIO_VARIABLE) or ".")
    studio = read_studio(folder)[0] if (folder / "studio.toml").exists() else None
    return assay_question(studio.country if studio else "")


def _lots(known: Passport) -> tuple[LotShare, ...]:
    """Return the lots of the piece in hundredths of a gram that sum to its mass."""
    doubtful = [one.lot.id for one in known.roots if not one.lot.certain or UNKNOWN in one.lot.share_ppm]
    return lot_shares(grams(known.mass_mg), {one.lot.id: one.share_frac for one in known.roots}, doubtful)


def _remark(found: Sequence[tuple[Passport, tuple[LotShare, ...]]]) -> tuple[Finding, ...]:
    """Say which pieces are not to be sold as their standard without assay."""
    barred = [known for known, lots in found if _is_barred(known, lots)]
    if not barred:
        return ()
    names = ", ".join(one.piece for one in barred)
    params = {"piece": names, "standard": f"{barred[0].standard_permille:g}"}
    return (Finding("doors.passport-not-sold", Level.LOOK, barred[0].piece, params),)


def _is_barred(known: Passport, lots: tuple[LotShare, ...]) -> bool:
    """Return whether a piece may not be called its standard: not assayed, and a lot or its worst case is in doubt."""
    if known.assayed:
        return known.low_permille < known.standard_permille
    worst = given(known.low_permille, "permille", known.piece)
    return bool(remark_for(lots, worst, known.standard_permille))


def _json(known: Passport, lots: tuple[LotShare, ...], question: AssayQuestion, asked: bool) -> dict[str, Any]:
    best, share = worth_of([known])
    return {
        **_piece_json(known, lots),
        "roots": [_root_json(one) for one in known.roots],
        "assay_worth": best,
        "assay_worth_frac": round(share, 4),
        "law": {
            "country": question.id,
            "statement": question.statement,
            "applies": asked,
            "sources": list(question.sources),
        },
    }


def _piece_json(known: Passport, lots: tuple[LotShare, ...]) -> dict[str, Any]:
    return {
        "piece": known.piece,
        "pour": known.pour,
        "alloy": known.alloy,
        "owner": known.owner,
        "weighed_by": known.weighed_by,
        "mass_g": grams(known.mass_mg),
        "standard_permille": known.standard_permille,
        "fineness_permille": round(known.best_permille, 3),
        "fineness_low_permille": round(known.low_permille, 3),
        "fineness_high_permille": round(known.high_permille, 3),
        "meets_frac": None if known.meets_frac is None else round(known.meets_frac, 4),
        "assayed": known.assayed,
        "lots": [{"lot": one.lot, "mass_g": one.mass_g, "certain": one.certain} for one in lots],
    }


def _root_json(one: Root) -> dict[str, Any]:
    return {
        "lot": one.lot.id,
        "share_frac": round(one.share_frac, 6),
        "melts_count": one.melts_count,
        "low_permille": one.lot.noble_low_ppm / 1000,
        "high_permille": one.lot.noble_high_ppm / 1000,
        "left_g": grams(one.left_mg),
    }


def _text(known: Passport, lots: tuple[LotShare, ...], question: AssayQuestion, asked: bool) -> str:
    head = say(
        "doors.passport-title",
        piece=known.piece,
        mass=show(grams(known.mass_mg), "g", 2),
        pour=known.pour,
        by=known.weighed_by,
    )
    lines = [head, "", _table(known, lots), "", *_fineness(known)]
    best, share = worth_of([known])
    if best:
        lines.append(say("doors.passport-worth", lot=best, share=show(100 * share, "percent", 1)))
    lines += ["", f"{question.title}: {question.statement}"]
    if asked:
        lines.append(say("doors.passport-over-limit"))
    return "\n".join(lines)


def _table(known: Passport, lots: tuple[LotShare, ...]) -> str:
    by_id = {one.lot.id: one for one in known.roots}
    rows = [tuple(say(key) for key in _HEAD)]
    rows += [
        (
            one.lot,
            show(one.mass_g, "g", 2),
            _range(by_id[one.lot], one.certain),
            str(by_id[one.lot].melts_count),
            show(grams(by_id[one.lot].left_mg), "g", 2),
        )
        for one in lots
    ]
    return columns(rows, right=(1, 2, 3, 4))


def _range(root: Root, certain: bool) -> str:
    low, high = root.lot.noble_low_ppm / 1000, root.lot.noble_high_ppm / 1000
    if UNKNOWN in root.lot.share_ppm:
        return say("doors.stock-unknown")
    text = f"{low:.1f}" if low == high else f"{low:.1f}\u2013{high:.1f}"
    return text if certain else f"{text} ?"


def _fineness(known: Passport) -> list[str]:
    if not known.standard_permille:
        return [say("doors.passport-no-mark")]
    if known.meets_frac is None:
        return [say("doors.passport-unknown", standard=f"{known.standard_permille:g}")]
    return [
        say(
            "doors.passport-fineness",
            best=show(known.best_permille, "permille", 1),
            low=show(math.floor(10 * known.low_permille) / 10, "permille", 1),
            high=show(math.ceil(10 * known.high_permille) / 10, "permille", 1),
        ),
        say(
            "doors.passport-meets",
            standard=f"{known.standard_permille:g}",
            share=show(math.floor(1000 * known.meets_frac) / 10, "percent", 1),
        ),
    ]
