"""No sequence of what a studio does with its metal makes or loses a milligram of any element, or a cent of money."""

from __future__ import annotations

import shutil
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from tempfile import mkdtemp

import sqlalchemy as sa
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from pourwright.books.assays import Result, assays, enter_result, send
from pourwright.books.ledger import balances_off, movements, reverse, sums_mg
from pourwright.books.lots import NewLot, lots, take_in
from pourwright.books.masses import UNKNOWN
from pourwright.books.pours import Casting, Poured, book_pour
from pourwright.books.purses import purses
from pourwright.books.stops import clear, odd_melt, shut, sign_over, standing
from pourwright.books.store import open_books
from pourwright.books.supplies import Supply, enter_supply, move_supply, supplies_off
from pourwright.books.sweeps import Return, send_sweep, settle, sweeps
from pourwright.books.tables import account, balance, movement, pour
from pourwright.books.totals import totals_off
from pourwright.books.trade import buy, hand_out
from pourwright.core.errors import LedgerError

ON = date(2026, 11, 28)
OWNERS = ("studio", "A", "B")
shares = st.integers(0, 1000)


@lru_cache(maxsize=1)
def empty_books() -> Path:
    """Return new books, made once; every run starts from a copy."""
    path = Path(mkdtemp(prefix="pourwright-books-")) / "books.sqlite"
    open_books(path).close()
    return path


class Studio(RuleBasedStateMachine):
    """What people do, in any order; what the books refuse must leave them as they were."""

    @initialize()
    def open(self):
        folder = Path(mkdtemp(prefix="pourwright-metal-"))
        self.path = folder / "books.sqlite"
        shutil.copyfile(empty_books(), self.path)
        self.books = open_books(self.path)
        self.done = {"pours": 0, "refused": 0}
        with self.books.writing() as connection:
            enter_supply(connection, Supply("flux", "Flux", "g", 0, 600, 0, 0))
            take_in(
                connection, NewLot("fine-silver-999", {"Ag": 0.999, "Cu": 0.001}, "Ag", 0.999, 1.0), 99_999, "d", "T"
            )

    def attempt(self, work):
        """Do it whole or not at all; a refusal must change nothing."""
        with self.books.reading() as connection:
            before = self.seen(connection)
        try:
            with self.books.writing() as connection:
                work(connection)
        except LedgerError:
            self.done["refused"] += 1
            with self.books.reading() as connection:
                assert self.seen(connection) == before

    @staticmethod
    def seen(connection):
        return (
            connection.execute(sa.select(sa.func.count()).select_from(movement)).scalar(),
            connection.execute(sa.select(sa.func.count()).select_from(pour)).scalar(),
            connection.execute(sa.select(balance).order_by(balance.c.account_id, balance.c.element)).all(),
        )

    @rule(
        ag=shares, zinc=st.integers(0, 300), known=st.booleans(), mass=st.integers(0, 200_000),
        owner=st.sampled_from(OWNERS), poison=st.booleans(), solder=st.booleans(),
    )  # fmt: skip
    def bring(self, ag, zinc, known, mass, owner, poison, solder):
        parts = {"Ag": ag, "Zn": min(zinc, 1000 - ag), "Cu": 1000 - ag - min(zinc, 1000 - ag)}
        frac = {name: part / 1000 for name, part in parts.items() if part} if known else {}
        frac = {**frac, "Pb": 0.01} if poison and known else frac
        new = NewLot("scrap", frac, "Ag", max(0.0, ag / 1000 - 0.02), ag / 1000, owner, is_new=False, solder=solder)
        self.attempt(lambda connection: take_in(connection, new, mass, owner, "T"))

    @rule(mass=st.integers(0, 200_000), cents=st.integers(0, 50_000), credit=st.booleans())
    def purchase(self, mass, cents, credit):
        new = NewLot("fine-silver-999", {"Ag": 0.999, "Cu": 0.001}, "Ag", 0.999, 1.0)
        self.attempt(lambda c: buy(c, new, mass, "dealer", Decimal(cents) / 100, "T", credit, ON))

    @rule(
        which=st.lists(st.tuples(st.integers(0, 20), shares), min_size=1, max_size=3),
        cut=st.lists(shares, min_size=5, max_size=5), aborted=st.booleans(), owner=st.sampled_from(OWNERS),
    )  # fmt: skip
    def cast(self, which, cut, aborted, owner):
        def work(connection):
            drawer = lots(connection)
            used = {}
            for place, part in which:
                lot = drawer[place % len(drawer)] if drawer else None
                if lot:
                    used[lot.id] = max(1, lot.held_mg * part // 1000)
            charge, parts = sum(used.values()), sum(cut) or 1
            first, second, button, scrap, _loss = (charge * one // parts for one in cut)
            self.done["pours"] += 1
            name = f"{ON}-F{self.done['pours']}"
            poured = Poured(
                name, ON, "sterling-925", "Ag", used,
                () if aborted else (Casting(f"{name}-1", owner, first), Casting(f"{name}-2", owner, second)),
                button, scrap, 0 if aborted else charge // 50, explained="as weighed", crucible="CR-1",
                state="aborted" if aborted else "poured",
            )  # fmt: skip
            book_pour(connection, poured, "T", made_at=datetime(2026, 11, 28, 19, tzinfo=UTC))

        self.attempt(work)

    @rule(place=st.integers(0, 50))
    def take_back(self, place):
        def work(connection):
            booked = movements(connection)
            reverse(connection, booked[place % len(booked)].mark, "T", "a mistake")

        self.attempt(work)

    @rule(place=st.integers(0, 50), sample=st.integers(0, 3_000), low=shares, span=st.integers(0, 20), zinc=shares)
    def assay(self, place, sample, low, span, zinc):
        def work(connection):
            pieces = connection.execute(sa.select(account.c.name).where(account.c.kind == "piece")).scalars()
            names = [*(f"lot:{one.id}" for one in lots(connection)), *pieces]
            number = send(connection, names[place % len(names)] if names else "lot:none", "office", "T", sample)
            high = min(1000, low + span)
            others = {"Zn": zinc / 100_000}
            enter_result(connection, number, Result("Ag", low / 1000, high / 1000, ON, others), "T")

        self.attempt(work)

    @rule(silver=st.integers(0, 20_000), cents=st.integers(-500, 5_000), in_kind=st.booleans())
    def refine(self, silver, cents, in_kind):
        def work(connection):
            number = send_sweep(connection, "refiner", 900_000, ON, ON, "T")
            came = Return({"Ag": silver, "Cu": silver // 7}, Decimal(cents) / 100, in_kind)
            settle(connection, number, came, "T")

        self.attempt(work)

    @rule(place=st.integers(0, 20), part=shares)
    def give(self, place, part):
        def work(connection):
            drawer = lots(connection)
            lot = drawer[place % len(drawer)] if drawer else None
            hand_out(
                connection, lot.id if lot else "none", lot.held_mg * part // 1000 if lot else 1, "A", "T", "theirs"
            )

        self.attempt(work)

    @rule(place=st.integers(0, 20), what=st.sampled_from(["shut", "clear", "sign", "odd"]), flux=st.integers(-999, 999))
    def stop(self, place, what, flux):
        def work(connection):
            move_supply(connection, "flux", "counted", flux, "T")
            drawer = lots(connection, empty_too=True)
            subject = f"lot:{drawer[place % len(drawer)].id}"
            if what == "shut":
                shut(connection, subject, "odd", "T")
            elif what == "sign":
                sign_over(connection, subject.partition(":")[2], "given", "A")
            elif what == "odd":
                odd_melt(connection, f"{ON}-F{1 + place % max(self.done['pours'], 1)}", "black slag", "T")
            else:
                clear(connection, next(iter(standing(connection)), subject), "looked into", "T")

        self.attempt(work)

    @invariant()
    def nothing_is_made_or_lost(self):
        with self.books.reading() as connection:
            assert set(sums_mg(connection).values()) <= {0}
            assert balances_off(connection) == ()
            assert supplies_off(connection) == ()
            assert totals_off(connection) == ()
            assert sum(purses(connection).values()) == 0
            held = connection.execute(
                sa.select(account.c.kind, sa.func.sum(balance.c.mass_mg).label("mass_mg"))
                .join(balance, balance.c.account_id == account.c.id)
                .group_by(account.c.kind)
            ).all()
            gross = {row.kind: int(row.mass_mg) for row in held}
            assert sum(gross.values()) == 0
            assert gross.get("lot", 0) >= 0
            assert gross.get("piece", 0) >= 0
            for one in lots(connection):
                assert sum(one.share_ppm.values()) == 1_000_000
                assert one.noble_low_ppm <= one.noble_high_ppm
                assert UNKNOWN not in one.share_ppm or not one.certain
            for sent in assays(connection):
                assert sent.result is not None
            assert all(one.settled for one in sweeps(connection))

    def teardown(self):
        if hasattr(self, "books"):
            self.books.close()
            shutil.rmtree(self.path.parent)


def test_no_sequence_of_operations_makes_or_loses_metal():
    run_state_machine_as_test(Studio, settings=settings(max_examples=10, stateful_step_count=12, deadline=None))


def test_most_of_what_is_tried_is_booked():
    """The machine above would show nothing if the books refused everything."""
    machine = Studio()
    machine.open()
    try:
        machine.bring(900, 20, True, 50_000, "studio", False, False)
        machine.purchase(10_000, 1_100, True)
        machine.cast([(0, 500), (1, 900)], [300, 200, 300, 100, 100], False, "A")
        machine.assay(1, 100, 905, 5, 300)
        machine.refine(50, 1_000, True)
        machine.give(0, 100)
        machine.stop(0, "shut", -600)
        machine.take_back(2)
        machine.nothing_is_made_or_lost()
        assert machine.done == {"pours": 1, "refused": 0}
        machine.bring(900, 20, True, 50_000, "studio", True, False)
        assert machine.done["refused"] == 1
    finally:
        machine.teardown()
