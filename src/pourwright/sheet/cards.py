"""Cards to take home: one for each piece, with what it is made of, how it was cast, and room for what came out."""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.core.findings import Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.matter.alloys import alloy
from pourwright.prepare.after.results import PieceCard
from pourwright.prepare.day_plan import DayPlan, PlannedFlask, PlannedPiece
from pourwright.sheet import show as paper
from pourwright.sheet.cover import winding
from pourwright.sheet.lots import lot_title
from pourwright.sheet.quench import quench

Pictures = Mapping[str, Mapping[str, object]]


def cards(plan: DayPlan, pictures: Pictures) -> list[dict[str, object]]:
    """Return a card for each piece that has a charge, in the order of the pours.

    Parameters
    ----------
    plan : DayPlan
        With its aftercare; without it there are no cards.
    pictures : mapping
        Picture of each piece that has one, by piece id.
    """
    if plan.aftercare is None:
        return []
    flasks, pieces = {one.id: one for one in plan.flasks}, {one.id: one for one in plan.pieces}
    return [
        _card(plan, one, flasks[one.flask], pieces[one.piece], pictures.get(one.piece)) for one in plan.aftercare.cards
    ]


def _card(
    plan: DayPlan,
    card: PieceCard,
    flask: PlannedFlask,
    piece: PlannedPiece,
    picture: Mapping[str, object] | None,
) -> dict[str, object]:
    return {
        "short": paper.short_id(card.piece),
        "id": card.piece,
        "title": paper.user_text(card.title),
        "owner": paper.user_text(card.owner),
        "picture": picture,
        "alloy": alloy(card.alloy).title,
        "mass": paper.mass(card.mass_g.value, plan.studio.units, 0.01),
        "fineness": _fineness(card),
        "remark": say(card.remark, standard=card.standard) if card.remark else "",
        "assay": say("sheet.card.assay") if card.assay_applies else "",
        "lots": [_lot(plan, one.lot, one.mass_g, one.certain) for one in card.lots],
        "weighed_by": paper.user_text(card.weighed_by),
        "cast": _how_cast(plan, flask, piece),
        "next": _next_time(plan, piece),
    }


def _fineness(card: PieceCard) -> str:
    """Return computed fineness and its worst case, or an empty text for a metal without a standard."""
    if not card.standard:
        return ""
    reckoned, worst = (show(one.value, "permille") for one in (card.fineness_permille, card.worst_permille))
    return say("sheet.card.fineness", reckoned=reckoned, worst=worst)


def _lot(plan: DayPlan, lot: str, mass_g: float, certain: bool) -> dict[str, str]:
    title = lot_title(plan, lot)
    return {
        "lot": lot,
        "title": title if certain else say("sheet.card.unsure", title=title),
        "mass": paper.mass(mass_g, plan.studio.units, 0.01),
    }


def _how_cast(plan: DayPlan, flask: PlannedFlask, piece: PlannedPiece) -> list[dict[str, str]]:
    units, wind = plan.studio.units, winding(flask)
    rows = {
        "when": f"{paper.long_date(plan.day.date)}, {paper.clock(flask.pour_at, plan.studio.zone)}",
        "pattern": paper.user_text(piece.material),
        "flask": say("sheet.card.flask-words", number=flask.number, flask=flask.flask,
                     at=paper.shown(flask.flask_temperature_C, units)["text"]),
        "wound": say("sheet.card.turns", turns=wind["text"]),
        "quench": str(quench(flask, plan.studio.zone)["text"]),
    }  # fmt: skip
    return [{"name": say(f"sheet.card.{key}"), "words": words} for key, words in rows.items()]


def _next_time(plan: DayPlan, piece: PlannedPiece) -> list[str]:
    """Return what the findings of the piece advise; what was only measured or noted in passing is left out."""
    advice = [one.do_next for one in piece.findings if one.level is not Level.NOTE]
    return [paper.user_text(paper.short_ids(one, plan.day.date)) for one in advice]
