"""Money at the doors: pours charged to their owners, payments in and out, what everybody owes."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Any

from pourwright.books import store
from pourwright.books.billing import OwnerBill, PourBill, bill_pour, take_bill_back
from pourwright.books.ledger import know_owner
from pourwright.books.purses import TILL, amount_of, cents_of, owner_purse, post_money, purse_cents, purses
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, with_books
from pourwright.doors.service.books.typed import columns


def bill(told: str, pour_id: str, overhead: str, seats: Sequence[str], price: str, made_by: str) -> BookAnswer:
    """Charge a pour to its owners, from texts as typed.

    Parameters
    ----------
    told : str
        Books, see :func:`pourwright.doors.service.books.opening.where_books_are`.
    pour_id, made_by : str
        Which pour, and who charges it.
    overhead, price : str
        Amounts; an empty price takes the dated one of the books.
    seats : sequence of str
        ``NAME`` or ``NAME:SHARES`` each.
    """
    found: list[Finding] = []
    shared = _amount(overhead, "--overhead", found)
    per_g = _amount(price, "--price", found, fine=True) if price else None
    shares = dict(_seat(one, found) for one in seats)
    if found:
        return BookAnswer({}, "", tuple(found))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            done = bill_pour(connection, pour_id, shared, shares, made_by, per_g)
        return BookAnswer(_bill_json(done), _bill_text(done))

    return with_books(told, work)


def _amount(text: str, where: str, found: list[Finding], fine: bool = False) -> Decimal:
    """Return an amount of money as typed: a point before the hundredths, nothing below nothing."""
    try:
        amount = Decimal(text.strip())
        if not amount.is_finite() or amount < 0 or (not fine and amount != amount.quantize(Decimal("0.01"))):
            raise InvalidOperation
    except InvalidOperation:
        found.append(Finding("doors.money-amount", Level.STOP, where, {"text": text}))
        return Decimal(0)
    return amount


def _seat(text: str, found: list[Finding]) -> tuple[str, int]:
    name, _, shares = text.rpartition(":") if ":" in text else (text, "", "1")
    if not name.strip() or not shares.isdecimal() or int(shares) == 0:
        found.append(Finding("doors.bill-seat", Level.STOP, "--seat", {"text": text}))
        return text, 0
    return name, int(shares)


def _bill_json(done: PourBill) -> dict[str, Any]:
    return {
        "pour": done.pour,
        "price_per_g": f"{done.price_per_g:f}",
        "price_from": done.price_from.isoformat() if done.price_from else None,
        "owners": [
            {
                "owner": one.owner,
                "metal": f"{one.metal:f}",
                "overhead": f"{one.overhead:f}",
                "given": f"{one.given:f}",
                "total": f"{one.total:f}",
            }
            for one in done.owners
        ],
        "total": f"{_total(done.owners):f}",
        "marks": list(done.marks),
        "taxes": "not computed",
    }


def _total(parts: Sequence[OwnerBill]) -> Decimal:
    return sum((one.total for one in parts), Decimal("0.00"))


def _bill_text(done: PourBill) -> str:
    rows = [tuple(say(f"doors.bill-head.{name}") for name in ("owner", "metal", "overhead", "given", "total"))]
    rows += [
        (one.owner, f"{one.metal:f}", f"{one.overhead:f}", f"{one.given:f}", f"{one.total:f}") for one in done.owners
    ]
    dated = say("doors.bill-dated", day=done.price_from) if done.price_from else ""
    head = say("doors.bill-title", pour=done.pour, price=f"{done.price_per_g:f}", dated=dated)
    foot = say("doors.bill-total", total=f"{_total(done.owners):f}")
    return "\n".join([head, columns(rows, right=(1, 2, 3, 4)), foot])


def unbill(told: str, pour_id: str, made_by: str, why: str) -> BookAnswer:
    """Take what a pour was charged back."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            marks = take_bill_back(connection, pour_id, made_by, why)
        return BookAnswer({"pour": pour_id, "marks": list(marks)}, say("doors.unbilled", pour=pour_id))

    return with_books(told, work)


def pay(told: str, owner: str, amount: str, paid_out: bool, made_by: str, note: str = "", mark: str = "") -> BookAnswer:
    """Enter money that an owner pays in (a deposit too), or that is paid out to the owner."""
    found: list[Finding] = []
    paid = cents_of(_amount(amount, "AMOUNT", found)) * (-1 if paid_out else 1)
    if found:
        return BookAnswer({}, "", tuple(found))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            know_owner(connection, owner)
            purse = owner_purse(owner)
            kind = "paid out" if paid_out else "paid in"
            new = post_money(connection, kind, {TILL: paid, purse: -paid}, made_by, note, mark)
            owes = purse_cents(connection, purse)
        key = "doors.paid-owes" if owes > 0 else "doors.paid-credit"
        document = {"mark": new, "owner": owner, "owes": f"{amount_of(owes):f}"}
        return BookAnswer(document, say(key, owner=owner, amount=f"{amount_of(abs(owes)):f}"))

    return with_books(told, work)


def list_purses(told: str) -> BookAnswer:
    """Return what stands in each purse; together nothing."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = purses(connection)
        amounts = {name: f"{amount_of(cents):f}" for name, cents in sorted(found.items())}
        off = sum(found.values())
        document = {"purses": amounts, "sum": f"{amount_of(off):f}"}
        rows = list(amounts.items())
        wrong = (Finding("doors.money-off", Level.STOP, told, {"amount": amount_of(off)}),) if off else ()
        return BookAnswer(document, columns(rows, right=(1,)) if rows else say("doors.purses-none"), wrong)

    return with_books(told, work)
