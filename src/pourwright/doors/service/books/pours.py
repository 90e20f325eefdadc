"""A pour at the doors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from pourwright.books import store
from pourwright.books.masses import UNKNOWN
from pourwright.books.pours import BookedPour, Casting, Poured, book_pour
from pourwright.books.supplies import supplies
from pourwright.core.findings import Finding
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import day_of, grams, noble_of, typed_mg, typed_parts, typed_supplies
from pourwright.matter.practice import rule


def book_a_pour(
    told: str,
    pour_id: str,
    alloy_id: str,
    uses: Sequence[str],
    castings: Sequence[str],
    made_by: str,
    weights: Mapping[str, str],
    scale: str = "0.01 g",
    explained: str = "",
    aborted: bool = False,
    mark: str = "",
    crucible: str = "",
    used_up: Sequence[str] = (),
) -> BookAnswer:
    """Book a pour from texts as typed.

    Parameters
    ----------
    told : str
        Books, see :func:`where_books_are`.
    pour_id, alloy_id, made_by, explained, mark, crucible : str
        As for :class:`pourwright.books.pours.Poured`; the id begins with the day.
    uses : sequence of str
        ``LOT:MASS`` each.
    castings : sequence of str
        ``PIECE:OWNER:MASS`` each.
    weights : mapping of str to str
        Masses of ``button``, ``scrap`` and ``spill`` as typed.
    scale : str
        One mark of the scale; each weighing may be off by half of it.
    aborted : bool
        Whether the metal never reached the flask.
    used_up : sequence of str
        ``SUPPLY:AMOUNT`` each, where it was not the usual amount.
    """
    found: list[Finding] = []
    used = {name: mass for (name,), mass in typed_parts(uses, 1, "--use", found)}
    pieces = [Casting(piece, owner, mass) for (piece, owner), mass in typed_parts(castings, 2, "--casting", found)]
    others = {name: typed_mg(text, f"--{name}", found) if text else 0 for name, text in weights.items()}
    mark_mg = typed_mg(scale, "--scale", found)
    noble = noble_of(alloy_id, found)
    day = day_of(pour_id, found)
    if found or day is None:
        return BookAnswer({}, "", tuple(found))
    weighings = len(used) + len(pieces) + sum(1 for one in others.values() if one)
    poured = Poured(
        pour_id,
        day,
        alloy_id,
        noble,
        used,
        pieces,
        others.get("button", 0),
        others.get("scrap", 0),
        others.get("spill", 0),
        scales_mg=-(-mark_mg * weighings // 2),
        expected_loss_mg=expected_loss_mg(sum(used.values())),
        explained=explained,
        state="aborted" if aborted else "poured",
        crucible=crucible,
    )

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            units = {one.id: one.unit for one in supplies(connection)} if used_up else {}
            amounts = typed_supplies(used_up, units, found)
            if found:
                return BookAnswer({}, "", tuple(found))
            done = book_pour(
                connection, replace(poured, supplies=amounts), made_by, [one.owner for one in pieces], mark
            )
        return _pour_answer(poured, done)

    return with_books(told, work)


def expected_loss_mg(charge_mg: int) -> int:
    """Return what a melt of this size commonly loses at most (practice rule on the melt's loss)."""
    loss = rule("melt.loss")
    return round(charge_mg * (loss.high if loss.high is not None else loss.value or 0.0) / 100)


def _pour_answer(poured: Poured, done: BookedPour) -> BookAnswer:
    charge_mg = sum(done.melt_mg.values())
    cast_mg = sum(one.mass_mg for one in poured.castings)
    noble_mg = done.melt_mg.get(poured.noble, 0)
    fineness = None if UNKNOWN in done.melt_mg or not poured.noble else 1000 * noble_mg / charge_mg
    document = {
        "pour": poured.id,
        "mark": done.mark,
        "charge_g": grams(charge_mg),
        "castings_g": grams(cast_mg),
        "loss_g": grams(done.loss_mg),
        "loss_frac": round(done.loss_mg / charge_mg, 6),
        "yield_frac": round(cast_mg / charge_mg, 6),
        "fineness_permille": None if fineness is None else round(fineness, 3),
        "button_lot": done.button_lot,
        "scrap_lot": done.scrap_lot,
    }
    text = say(
        "doors.pour-booked",
        pour=poured.id,
        charge=show(charge_mg / 1000, "g", 2),
        loss=show(done.loss_mg / 1000, "g", 2),
        share=show(100 * done.loss_mg / charge_mg, "percent", 1),
        yielded=show(100 * cast_mg / charge_mg, "percent", 1),
    )
    new = [one for one in (done.button_lot, done.scrap_lot) if one]
    return BookAnswer(document, "\n".join([text, *([say("doors.pour-lots", lots=", ".join(new))] if new else [])]))
