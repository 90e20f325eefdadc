"""Shares that add up to the hundredth."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourwright.books.money import pour_bill, shares_of


def test_a_pour_of_two_is_billed_to_the_cent():
    bill = pour_bill({"A": 21_400, "B": 34_600}, 1_200, Decimal("1.10"), Decimal("9.75"), {"A": 1, "B": 1})
    assert bill == {"A": (Decimal("24.04"), Decimal("4.88")), "B": (Decimal("38.88"), Decimal("4.87"))}
    assert sum(metal + overhead for metal, overhead in bill.values()) == Decimal("72.67")


def test_who_did_not_come_pays_the_flask_and_no_metal():
    bill = pour_bill({"A": 21_400}, 400, Decimal("1.10"), Decimal("10.00"), {"A": 1, "B": 1})
    assert bill["B"] == (Decimal("0.00"), Decimal("5.00"))


@given(
    st.integers(0, 10**7), st.dictionaries(st.text("ABCDE", min_size=1, max_size=2), st.integers(0, 10**6), min_size=1)
)
def test_shares_add_up_and_nobody_is_off_by_a_cent(cents, weights):
    total = Decimal(cents) / 100
    shares = shares_of(total, weights)
    assert sum(shares.values()) == total
    whole = sum(weights.values())
    for owner, share in shares.items():
        exact = total * weights[owner] / whole if whole else total / len(weights)
        assert abs(share - exact) < Decimal("0.01")


def test_an_amount_in_thousandths_is_refused():
    with pytest.raises(ValueError, match="hundredths"):
        shares_of(Decimal("1.005"), {"A": 1})
