"""What the plan warns of: the day as a whole first, then piece by piece."""

from __future__ import annotations

from collections.abc import Iterable

from pourwright.core.findings import Finding, Level, in_order
from pourwright.core.text import say
from pourwright.prepare.day_plan import DayPlan, PlannedPiece
from pourwright.sheet import show as paper

_LEVELS = {
    Level.STOP: "sheet.level.stop",
    Level.ASK: "sheet.level.ask",
    Level.LOOK: "sheet.level.look",
    Level.NOTE: "sheet.level.note",
}


def warnings(plan: DayPlan) -> dict[str, object]:
    """Return the warnings of the day, those of each piece, and which pieces nothing is said of and why.

    Notes are printed only with their piece, where they are about its shape; those of the day stay in ``plan.json``.
    """
    of_pieces = [one for piece in plan.pieces for one in piece.findings]
    day = [one for one in plan.findings if one.level is not Level.NOTE and one not in of_pieces]
    return {
        "day": [_row(plan, one) for one in in_order(day)],
        "pieces": [_piece(plan, one) for one in plan.pieces if one.findings],
        "nothing": _names(one for one in plan.pieces if not one.findings and one.pattern is not None),
        "unseen": _names(one for one in plan.pieces if not one.findings and one.pattern is None),
    }


def worst_level(piece: PlannedPiece) -> str:
    """Return the name of a piece's most serious finding, or an empty text where none is more than a note."""
    serious = [one for one in in_order(piece.findings) if one.level is not Level.NOTE]
    return say(_LEVELS[serious[0].level]) if serious else ""


def _piece(plan: DayPlan, piece: PlannedPiece) -> dict[str, object]:
    return {
        "short": paper.short_id(piece.id),
        "title": paper.user_text(piece.title),
        "owner": paper.user_text(piece.owner),
        "rows": [_row(plan, one) for one in in_order(piece.findings)],
    }


def _row(plan: DayPlan, one: Finding) -> dict[str, str]:
    def printed(words: str) -> str:
        return paper.user_text(paper.short_ids(words, plan.day.date))

    return {
        "level": one.level.value,
        "name": say(_LEVELS[one.level]),
        "where": printed(one.where),
        "what": printed(one.what),
        "why": printed(one.why),
        "do_next": printed(one.do_next),
    }


def _names(pieces: Iterable[PlannedPiece]) -> str:
    return ", ".join(f"{paper.short_id(one.id)} {paper.user_text(one.title)}" for one in pieces)
