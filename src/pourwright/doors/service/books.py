"""The metal book at the doors: texts in, bookings and balances out."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from pourwright.books import store
from pourwright.books.exchange import export_books, import_books
from pourwright.books.ledger import STUDIO, Movement, balances_off, movements, owner_mg, reverse, sums_mg
from pourwright.books.lots import Lot, NewLot, lots, set_quarantine, take_in
from pourwright.books.masses import UNKNOWN, g_from_mg, mg_from_g
from pourwright.books.pours import BookedPour, Casting, Poured, book_pour
from pourwright.books.statements import Statement, statement_of
from pourwright.core.errors import DataError, LedgerError, UnitError
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.text import say
from pourwright.core.units import UnclearUnitError, read, show
from pourwright.doors.service.variables import BOOKS_VARIABLE, STUDIO_VARIABLE
from pourwright.matter.alloys import alloy as find_alloy
from pourwright.matter.alloys import stock_metal
from pourwright.matter.practice import rule

_FILE = "books.sqlite"
_MOST_MOVEMENTS = 200


@dataclass(frozen=True)
class BookAnswer:
    """What a command on the books came to: plain JSON values, text for a person, and findings."""

    document: Mapping[str, Any]
    text: str
    findings: tuple[Finding, ...] = ()


def where_books_are(told: str, must_exist: bool = True) -> str:
    """Return the file or address of the books: as told, else by the environment, else in the studio's folder.

    Raises
    ------
    LedgerError
        There is no studio here, or no books in it yet and the command only reads.
    """
    if told or os.environ.get(BOOKS_VARIABLE):
        found = told or os.environ[BOOKS_VARIABLE]
    else:
        folder = Path(os.environ.get(STUDIO_VARIABLE) or ".")
        if not (folder / "studio.toml").exists():
            raise _refused("doors.books-where", str(folder))
        found = str(folder / _FILE)
    if must_exist and "://" not in found and not Path(found).exists():
        raise _refused("doors.books-none", found, file=found)
    return found


def with_books(told: str, work: Callable[[store.Books], BookAnswer], must_exist: bool = True) -> BookAnswer:
    """Open the books, do the work, close them; what the books refuse becomes findings, and nothing is booked."""
    try:
        books = store.open_books(where_books_are(told, must_exist))
    except LedgerError as stop:
        return BookAnswer({}, "", _findings(stop))
    try:
        return work(books)
    except LedgerError as stop:
        return BookAnswer({}, "", _findings(stop))
    finally:
        books.close()


def list_stock(told: str, empty_too: bool = False) -> BookAnswer:
    """Return all lots that hold metal."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            found = lots(connection, empty_too=empty_too)
        return BookAnswer({"lots": [_lot_json(one) for one in found]}, _stock_text(found))

    return with_books(told, work)


def add_stock(
    told: str,
    metal: str,
    mass: str,
    source: str,
    made_by: str,
    fineness: str = "",
    owner: str = "",
    price: str = "0",
    note: str = "",
    whole: bool = False,
) -> BookAnswer:
    """Enter a lot of metal bought or brought.

    Parameters
    ----------
    told : str
        Books, see :func:`where_books_are`.
    metal : str
        A metal or alloy of the tables, or ``scrap``.
    mass, fineness, price : str
        As typed; scrap without a fineness is booked as not assayed.
    source, made_by, owner, note : str
        From whom, by whom, whose (the studio's if empty), and what should be remembered.
    whole : bool
        Whether it is one lump to be used as it is.
    """
    mass_g, found = _typed(mass, "g", "--mass")
    new, more = _new_lot(metal, fineness, owner, price, note, whole)
    if new is None or stops((*found, *more)):
        return BookAnswer({}, "", (*found, *more))

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            identity = take_in(connection, new, mg_from_g(round(mass_g, 3)), source, made_by, note)
            (lot,) = lots(connection, [identity])
        text = say("doors.stock-added", lot=identity, mass=show(float(g_from_mg(lot.held_mg)), "g", 3), metal=metal)
        return BookAnswer({"lot": _lot_json(lot)}, text, more)

    return with_books(told, work, must_exist=False)


def _new_lot(
    metal: str, fineness: str, owner: str, price: str, note: str, whole: bool
) -> tuple[NewLot | None, tuple[Finding, ...]]:
    ends, found = _fineness_ends(fineness)
    try:
        per_g = Decimal(price)
        if not per_g.is_finite() or per_g < 0:
            raise InvalidOperation
    except InvalidOperation:
        return None, (*found, Finding("doors.stock-price", Level.STOP, "--price", {"text": price}))
    kept = {"owner": owner or STUDIO, "provenance": note, "price_per_g": per_g, "whole": whole}
    if metal == "scrap":
        if not ends:
            return NewLot("scrap", {}, is_new=False, **kept), (  # type: ignore[arg-type]
                *found,
                Finding("doors.stock-not-assayed", Level.NOTE, "--fineness"),
            )
        best = sum(ends) / 2
        shares = {"Ag": best, "Cu": 1.0 - best}
        return NewLot("scrap", shares, "Ag", ends[0], ends[-1], is_new=False, **kept), found  # type: ignore[arg-type]
    try:
        known = stock_metal(metal)
    except DataError as unknown:
        return None, (*found, Finding("doors.charge-alloy", Level.STOP, "--metal", {"reason": str(unknown)}))
    if not known.element:
        return NewLot(metal, known.composition_frac, **kept), found  # type: ignore[arg-type]
    held = known.fineness_permille
    low, high = (ends[0], ends[-1]) if ends else (held.low / 1000, held.high / 1000)
    best = (low + high) / 2 if ends else held.best / 1000
    rest = sum(share for name, share in known.composition_frac.items() if name != known.element)
    shares = {known.element: best} | {
        name: (1.0 - best) * share / rest for name, share in known.composition_frac.items() if name != known.element
    }
    return NewLot(metal, shares, known.element, low, high, **kept), found  # type: ignore[arg-type]


def _fineness_ends(text: str) -> tuple[list[float], tuple[Finding, ...]]:
    if not text:
        return [], ()
    ends: list[float] = []
    found: list[Finding] = []
    for one in text.split(".."):
        value, wrong = _typed(
            one if one.strip()[-1:].isalpha() or "%" in one else f"{one} permille", "permille", "--fineness"
        )
        ends.append(value / 1000)
        found += wrong
    if not found and (len(ends) > 2 or ends != sorted(ends) or not 0 < ends[-1] <= 1):
        found.append(Finding("doors.stock-fineness", Level.STOP, "--fineness", {"text": text}))
    return ends, tuple(found)


def shut_stock(told: str, lot_id: str, why: str) -> BookAnswer:
    """Shut a lot away, or with an empty reason let it out again."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            set_quarantine(connection, lot_id, why)
        return BookAnswer(
            {"lot": lot_id, "quarantine": why}, say("doors.stock-shut" if why else "doors.stock-open", lot=lot_id)
        )

    return with_books(told, work)


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
) -> BookAnswer:
    """Book a pour from texts as typed.

    Parameters
    ----------
    told : str
        Books, see :func:`where_books_are`.
    pour_id, alloy_id, made_by, explained, mark : str
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
    """
    found: list[Finding] = []
    used = {name: mass for (name,), mass in _split(uses, 1, "--use", found)}
    pieces = [Casting(piece, owner, mass) for (piece, owner), mass in _split(castings, 2, "--casting", found)]
    others = {name: _mg(text, f"--{name}", found) if text else 0 for name, text in weights.items()}
    mark_mg = _mg(scale, "--scale", found)
    noble = _noble(alloy_id, found)
    day = _day_of(pour_id, found)
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
        expected_loss_mg=_expected_loss_mg(sum(used.values())),
        explained=explained,
        state="aborted" if aborted else "poured",
    )

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            done = book_pour(connection, poured, made_by, [one.owner for one in pieces], mark)
        return _pour_answer(poured, done)

    return with_books(told, work)


def _expected_loss_mg(charge_mg: int) -> int:
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
        "charge_g": _grams(charge_mg),
        "castings_g": _grams(cast_mg),
        "loss_g": _grams(done.loss_mg),
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


def balance_books(told: str) -> BookAnswer:
    """Return the sums over all entries, which are zero in whole books, and what each owner holds."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            sums, owners, off = sums_mg(connection), owner_mg(connection), balances_off(connection)
        document = {
            "sums_mg": dict(sorted(sums.items())),
            "owners_g": {
                name: {one: _grams(mass) for one, mass in held.items()} for name, held in sorted(owners.items())
            },
            "accounts_off": list(off),
        }
        wrong = [name for name, mass in sums.items() if mass] + list(off)
        findings = (
            (Finding("doors.books-off", Level.STOP, told or _FILE, {"names": ", ".join(wrong)}),) if wrong else ()
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
    """Take a movement back with a reason."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            new = reverse(connection, mark, made_by, why)
        return BookAnswer({"mark": new, "reverses": mark}, say("doors.taken-back", mark=mark, new=new))

    return with_books(told, work)


def back_up_books(told: str) -> BookAnswer:
    """Copy the books while they are in use."""

    def work(books: store.Books) -> BookAnswer:
        copy = store.back_up(books)
        if copy is None:
            return BookAnswer({"backup": None}, "", (Finding("doors.backup-server", Level.STOP, told),))
        return BookAnswer({"backup": str(copy)}, say("doors.backed-up", file=copy))

    return with_books(told, work)


def restore_books(told: str, backup: Path) -> BookAnswer:
    """Put a backup in the place of the books."""
    try:
        place = where_books_are(told, must_exist=False)
        if "://" in place:
            return BookAnswer({}, "", (Finding("doors.backup-server", Level.STOP, "--books"),))
        aside = store.restore(Path(place), backup)
    except LedgerError as stop:
        return BookAnswer({}, "", _findings(stop))
    return BookAnswer({"books": place, "set_aside": str(aside)}, say("doors.restored", file=place, aside=aside))


def export_to(told: str, folder: Path) -> BookAnswer:
    """Write the books as plain files."""

    def work(books: store.Books) -> BookAnswer:
        with books.reading() as connection:
            written = export_books(connection, folder)
        return BookAnswer(
            {"written": [str(one) for one in written]}, say("doors.exported", folder=folder, count=len(written))
        )

    return with_books(told, work)


def import_from(told: str, folder: Path) -> BookAnswer:
    """Read plain files into new books."""

    def work(books: store.Books) -> BookAnswer:
        with books.writing() as connection:
            count = import_books(connection, folder)
        return BookAnswer({"movements": count}, say("doors.imported", count=count))

    return with_books(told, work, must_exist=False)


def statement(told: str, owner: str, first: date, last: date) -> BookAnswer:
    """Return an owner's statement over days, both counted, in UTC."""

    def work(books: store.Books) -> BookAnswer:
        since = datetime(first.year, first.month, first.day, tzinfo=UTC)
        until = datetime(last.year, last.month, last.day, tzinfo=UTC) + timedelta(days=1)
        with books.reading() as connection:
            found = statement_of(connection, owner, since, until)
        return BookAnswer(_statement_json(found), _statement_text(found))

    return with_books(told, work)


def _refused(code: str, where: str, **params: object) -> LedgerError:
    finding = Finding(code, Level.STOP, where, params)
    return LedgerError(finding.what, (finding,))


def _findings(stop: LedgerError) -> tuple[Finding, ...]:
    return tuple(one for one in stop.findings if isinstance(one, Finding))


def _typed(text: str, unit: str, where: str) -> tuple[float, tuple[Finding, ...]]:
    try:
        return read(text, unit, where), ()
    except UnitError as problem:
        level = Level.ASK if isinstance(problem, UnclearUnitError) else Level.STOP
        return 0.0, (Finding("doors.charge-amount", level, where, {"reason": str(problem)}),)


def _mg(text: str, where: str, found: list[Finding]) -> int:
    mass_g, wrong = _typed(text, "g", where)
    found += wrong
    return mg_from_g(round(mass_g, 3))


def _split(
    texts: Sequence[str], names_count: int, where: str, found: list[Finding]
) -> list[tuple[tuple[str, ...], int]]:
    read_ones = []
    for text in texts:
        *names, mass = text.split(":")
        if len(names) != names_count or not all(names):
            found.append(Finding("doors.pour-form", Level.STOP, where, {"text": text}))
            continue
        read_ones.append((tuple(names), _mg(mass, where, found)))
    return read_ones


def _noble(alloy_id: str, found: list[Finding]) -> str:
    try:
        return find_alloy(alloy_id).element
    except DataError as unknown:
        found.append(Finding("doors.charge-alloy", Level.STOP, "--alloy", {"reason": str(unknown)}))
        return ""


def _day_of(pour_id: str, found: list[Finding]) -> date | None:
    try:
        return date.fromisoformat(pour_id[:10])
    except ValueError:
        found.append(Finding("doors.pour-day", Level.STOP, "--pour", {"text": pour_id}))
        return None


def _grams(mass_mg: int) -> float:
    return float(g_from_mg(mass_mg))


def _lot_json(one: Lot) -> dict[str, Any]:
    return {
        "lot": one.id,
        "metal": one.metal,
        "owner": one.owner,
        "held_g": _grams(one.held_mg),
        "share_frac": {name: share / 1e6 for name, share in one.share_ppm.items()},
        "fineness_low_permille": one.noble_low_ppm / 1000,
        "fineness_high_permille": one.noble_high_ppm / 1000,
        "melts_count": one.melts_count,
        "price_per_g": format(one.price_per_g, "f"),
        "quarantine": one.quarantine,
        "provenance": one.provenance,
    }


def _stock_text(found: Sequence[Lot]) -> str:
    if not found:
        return say("doors.stock-none")
    rows = [tuple(say(f"doors.stock-head.{name}") for name in ("lot", "metal", "held", "fineness", "owner", "note"))]
    rows += [
        (
            one.id,
            one.metal,
            show(_grams(one.held_mg), "g", 2),
            _fineness_text(one),
            one.owner,
            one.quarantine or one.provenance,
        )
        for one in found
    ]
    return _columns(rows, right=(2, 3))


def _fineness_text(one: Lot) -> str:
    if UNKNOWN in one.share_ppm:
        return say("doors.stock-unknown")
    if not one.noble:
        return ""
    low, high = one.noble_low_ppm / 1000, one.noble_high_ppm / 1000
    return f"{low:.1f}" if low == high else f"{low:.1f}\u2013{high:.1f}"


def _owners_text(owners: Mapping[str, Mapping[str, int]]) -> str:
    rows = [(say("doors.stock-head.owner"), say("doors.balance-element"), say("doors.stock-head.held"))]
    for name, held in sorted(owners.items()):
        rows += [(name, element, show(_grams(mass), "g", 3)) for element, mass in sorted(held.items())]
    return _columns(rows, right=(2,)) + "\n\n" + say("doors.balance-zero") if owners else say("doors.stock-none")


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
    legs = [f"{leg.account:<32} {show(_grams(sum(leg.elements_mg.values())), 'g', 3):>14}" for leg in one.legs]
    return "\n        ".join([head, *tail, *legs])


def _statement_json(found: Statement) -> dict[str, Any]:
    def grams(held: Mapping[str, int]) -> dict[str, float]:
        return {name: _grams(mass) for name, mass in sorted(held.items())}

    return {
        "owner": found.owner,
        "since": found.since.isoformat(),
        "until": found.until.isoformat(),
        "before_g": grams(found.before_mg),
        "lines": [
            {
                "made_at": one.made_at.isoformat(),
                "kind": one.kind,
                "account": one.account,
                "element": one.element,
                "mass_g": _grams(one.mass_mg),
                "reason": one.reason,
                "mark": one.mark,
                "pour": one.pour,
            }
            for one in found.lines
        ],
        "after_g": grams(found.after_mg),
    }


def _statement_text(found: Statement) -> str:
    def held(masses: Mapping[str, int]) -> str:
        return ", ".join(f"{show(_grams(mass), 'g', 3)} {name}" for name, mass in sorted(masses.items())) or "\u2013"

    rows = [
        (f"{one.made_at:%Y-%m-%d}", one.kind, one.account, one.element, show(_grams(one.mass_mg), "g", 3), one.reason)
        for one in found.lines
    ]
    lines = [
        say("doors.statement-title", owner=found.owner),
        "",
        say("doors.statement-before", held=held(found.before_mg)),
    ]
    lines += [_columns(rows, right=(4,))] if rows else []
    return "\n".join([*lines, say("doors.statement-after", held=held(found.after_mg))])


def _columns(rows: Sequence[tuple[str, ...]], right: tuple[int, ...] = ()) -> str:
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [
            one.rjust(width) if place in right else one.ljust(width)
            for place, (one, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  " + "   ".join(cells).rstrip())
    return "\n".join(lines)
