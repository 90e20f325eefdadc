"""Which charge is meant: one of metal named on the command line, or the cheapest from the drawer."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.core.findings import Finding, Level
from pourwright.doors.service import charge as named
from pourwright.doors.service.books.opening import BookAnswer
from pourwright.doors.service.stock import charge_text
from pourwright.doors.service.stock.charging import Wish, charge_from_drawer
from pourwright.doors.service.stock.limits import Limits


def charge_as_asked(wish: Wish, uses: Sequence[str]) -> BookAnswer:
    """Return the charge of the metal named, or where none is named the charge of least cost from the drawer.

    Parameters
    ----------
    wish : Wish
        As typed.
    uses : sequence of str
        Metal that need not be in any drawer, as :func:`pourwright.doors.service.charge.charge` reads it.
    """
    if not uses:
        answer = charge_from_drawer(wish)
        return BookAnswer(charge_text.as_json(answer), charge_text.as_text(answer), answer.findings)
    if wish.owners or wish.lots or wish.limits != Limits():
        return BookAnswer({}, "", (Finding("doors.charge-two-ways", Level.STOP, "--use"),))
    found = named.charge(wish.alloy, wish.mass, uses, wish.scale)
    return BookAnswer(named.as_json(found), named.as_text(found), found.findings)
