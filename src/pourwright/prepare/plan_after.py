"""Steps and cards of the planned day, for the sheet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pourwright.matter.alloys import Alloy
from pourwright.matter.assay import AssayQuestion, assay_question
from pourwright.matter.pattern_materials import pattern_material
from pourwright.prepare.after.cards import lot_shares, remark_for
from pourwright.prepare.after.results import FlaskWork, PieceCard, Step
from pourwright.prepare.after.steps import finishing_steps, preparation_steps
from pourwright.prepare.charge.results import AlloyedCharge
from pourwright.prepare.day_plan import Aftercare, PlannedFlask, PlannedPiece
from pourwright.studio.day import Day
from pourwright.studio.profile import Studio

_PRINTED = ("resin", "wax-resin")


def plan_aftercare(
    studio: Studio, day: Day, alloy: Alloy, pieces: Sequence[PlannedPiece], flasks: Sequence[PlannedFlask]
) -> Aftercare:
    """Return what is done before investing and after the quench, and a card for each piece.

    Parameters
    ----------
    studio, day : Studio, Day
        Data sheets, country, lots, who weighs.
    alloy : Alloy
        What is cast.
    pieces, flasks : sequence of PlannedPiece, PlannedFlask
        As planned.
    """
    by_id = {one.id: one for one in pieces}
    work = [
        FlaskWork(one.number, one.base, one.pieces, any(by_id[piece].stones for piece in one.pieces)) for one in flasks
    ]
    question = assay_question(studio.country)
    return Aftercare(
        _before(studio, day, pieces, work),
        finishing_steps(work),
        tuple(card for one in flasks for card in _cards(studio, day, alloy, one, by_id, question)),
        question,
    )


def _before(studio: Studio, day: Day, pieces: Sequence[PlannedPiece], work: Sequence[FlaskWork]) -> tuple[Step, ...]:
    orders = [day.pieces[one.order] for one in pieces]
    names = dict.fromkeys(name for one in orders for name in ([part.material for part in one.parts] or [one.material]))
    own = {one.id: one.family for one in studio.materials}
    printed = [one for one in names if (own.get(one) or pattern_material(one).family) in _PRINTED]
    return preparation_steps(tuple(names), studio.materials, printed, work)


def _cards(
    studio: Studio,
    day: Day,
    alloy: Alloy,
    flask: PlannedFlask,
    pieces: Mapping[str, PlannedPiece],
    question: AssayQuestion,
) -> list[PieceCard]:
    if flask.alloyed is None:
        return []
    return [_card(studio, day, alloy, flask.alloyed, flask.id, pieces[one], question) for one in flask.pieces]


def _card(
    studio: Studio,
    day: Day,
    alloy: Alloy,
    charge: AlloyedCharge,
    flask: str,
    piece: PlannedPiece,
    question: AssayQuestion,
) -> PieceCard:
    uncertain = {one.id for one in studio.lots if not one.certain}
    weighed = {one.lot: one.mass_g for one in charge.weigh_to_aim}
    lots = lot_shares(piece.cast_g.value, weighed, uncertain)
    limit = question.limits_g.get(alloy.element)
    return PieceCard(
        piece.id,
        piece.title,
        piece.owner,
        flask,
        alloy.id,
        piece.cast_g,
        charge.aim_permille,
        charge.aim_low_permille,
        lots,
        day.weighed_by,
        f"{alloy.fineness_permille:g}" if alloy.element else "",
        remark_for(lots, charge.aim_low_permille, alloy.fineness_permille if alloy.element else 0.0),
        limit is not None and piece.cast_g.value > limit.best,
    )
