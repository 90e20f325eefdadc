"""Balances and movements at the doors, and taking a movement back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pourwright.books import store
from pourwright.books.billing import charged
from pourwright.books.ledger import Movement, balances_off, movements, reverse, sums_mg
from pourwright.books.purses import is_money, reverse_money
from pourwright.books.supplies import give_back
from pourwright.books.totals import kept_sums_mg, owner_mg, totals_off
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BOOKS_FILE, BookAnswer, with_books
from pourwright.doors.service.books.typed import columns, grams

_MOST_MOVEMENTS = 200


def balance_books(told: str, quick: bool = False) -> BookAnswer:
    """Return the sums over all entries, which are zero in whole books, and what each owner holds.

    Parameters
    ----------
    told : str
        Books, see :func:`pourwright.doors.service.books.opening.where_books_are`.
    quick : bool
        Whether to trust the totals kept beside the entries; else every entry is added up and the totals are checked.
    """

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            sums, owners = (kept_sums_mg if quick else sums_mg)(connection), owner_mg(connection)
            off = () if quick else (*balances_off(connection), *totals_off(connection))
        document = {
            "sums_mg": dict(sorted(sums.items())),
            "owners_g": {
                name: {one: grams(mass) for one, mass in held.items()} for name, held in sorted(owners.items())
            },
            "accounts_off": list(off),
        }
        wrong = [name for name, mass in sums.items() if mass] + list(off)
        findings = (
            (Finding("doors.books-off", Level.STOP, told or BOOKS_FILE, {"names": ", ".join(wrong)}),) if wrong else ()
        )
        return BookAnswer(document, _owners_text(owners), findings)

    return with_books(told, work)


def list_movements(told: str, account: str = "", since_number: int = 0) -> BookAnswer:
    """Return movements after a number, all or those of an account."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = movements(connection, account, since_number, _MOST_MOVEMENTS)
        text = "\n".join(_movement_text(one) for one in found) or say("doors.movements-none")
        return BookAnswer({"movements": [_movement_json(one) for one in found]}, text)

    return with_books(told, work)


def take_back(told: str, mark: str, made_by: str, why: str) -> BookAnswer:
    """Take a movement of metal, or an entry of money, back with a reason."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            take = reverse_money if is_money(connection, mark) else reverse
            new = take(connection, mark, made_by, why)
            if take is reverse:
                give_back(connection, mark, made_by, why)
            still_charged = take is reverse and charged(connection, mark)
        found = (Finding("doors.still-charged", Level.LOOK, mark),) if still_charged else ()
        return BookAnswer({"mark": new, "reverses": mark}, say("doors.taken-back", mark=mark, new=new), found)

    return with_books(told, work)


def _owners_text(owners: Mapping[str, Mapping[str, int]]) -> str:
    rows = [(say("doors.stock-head.owner"), say("doors.balance-element"), say("doors.stock-head.held"))]
    for name, held in sorted(owners.items()):
        rows += [(name, element, show(grams(mass), "g", 3)) for element, mass in sorted(held.items())]
    return columns(rows, right=(2,)) + "\n\n" + say("doors.balance-zero") if owners else say("doors.stock-none")


def _movement_json(one: Movement) -> dict[str, Any]:
    return {
        "number": one.number,
        "mark": one.mark,
        "made_at": one.made_at.isoformat(),
        "made_by": one.made_by,
        "kind": one.kind,
        "reason": one.reason,
        "reverses": one.reverses,
        "pour": one.pour,
        "legs": [{"account": leg.account, "elements_mg": dict(leg.elements_mg)} for leg in one.legs],
    }


def _movement_text(one: Movement) -> str:
    head = f"{one.number:>6}  {one.made_at:%Y-%m-%d %H:%M}  {one.kind}  {one.made_by}  {one.mark}"
    tail = [say("doors.movement-reverses", mark=one.reverses)] if one.reverses else []
    tail += [one.reason] if one.reason else []
    legs = [f"{leg.account:<32} {show(grams(sum(leg.elements_mg.values())), 'g', 3):>14}" for leg in one.legs]
    return "\n        ".join([head, *tail, *legs])
