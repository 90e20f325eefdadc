"""Whatever is typed about metal, limits and supplies is read or refused in a sentence, and never breaks the program."""

from __future__ import annotations

import math

from hypothesis import example, given, settings
from hypothesis import strategies as st

from pourwright.core.findings import stops
from pourwright.doors.service.books.typed import typed_supplies, typed_thousandths
from pourwright.doors.service.stock.intake import Brought, amount_as_typed, fineness_ends, holds_as_typed, lot_as_typed
from pourwright.doors.service.stock.limits import Limits, read_limits
from pourwright.prepare.charge.optimum.request import Request

_NUMBERS = ["1", "0", "-1", "925", "0.925", "1e400", "1e-400", "NaN", "inf", "-0", "1,5", "٣", "½", "1_000", "0x10", ""]
_UNITS = ["", " g", " %", " permille", " kg", " ‰", "..", "..925", ":", " furlong", " count", " ml"]
_TYPED = st.one_of(
    st.text(max_size=12),
    st.builds("{}{}{}".format, st.sampled_from(["", "Ag:", "Zn:", "Pb:", "5:", ":", "::"]), st.sampled_from(_NUMBERS),
              st.sampled_from(_UNITS)),
)  # fmt: skip
_MANY = st.lists(_TYPED, max_size=2)
REQUEST = Request("Ag", 925.0, 100.0)


def said(findings):
    """Every finding has its sentences with all blanks filled."""
    for one in findings:
        assert one.what
        assert one.do_next
    return findings


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(["scrap", "copper", "fine-silver-999", "sterling-925", "moon"]),
    _TYPED,
    _TYPED,
    _MANY,
    st.booleans(),
)
@example("scrap", "..", "NaN", ["Ag:50 %"], True)
@example("copper", "925", "1e400", [":1 %", "Cu:100 %"], False)
@example("scrap", "1000", "1", ["Cu:5 %"], False)
def test_a_lot_is_read_or_refused(metal, fineness, price, holds, solder):
    new, findings = lot_as_typed(Brought(metal, fineness, price, holds, solder=solder))
    said(findings)
    assert (new is None) == stops(findings)
    if new is not None and new.share_frac:
        assert math.isclose(sum(new.share_frac.values()), 1.0, abs_tol=1e-9)
        assert all(0 < share <= 1 for share in new.share_frac.values())
        assert 0 <= new.noble_low_frac <= new.noble_high_frac <= 1


@settings(max_examples=150, deadline=None)
@given(_TYPED, _TYPED, _TYPED, _MANY, _MANY, _TYPED, _TYPED, _TYPED)
@example("", "", "", [], ["Ag:100 %"], "-1 g", "", "")
@example("", "", "", [], [], "", "-1 g", "")
@example("", "1e9", "5:-1 %", ["Zn:5 %..1 %"], [], "1e300 g", "", "")
def test_limits_are_read_or_refused(new, melts, old, windows, burns, surplus, least, likely):
    request, likely_frac, findings = read_limits(
        REQUEST, Limits(new, melts, old, windows, burns, surplus, least, likely)
    )
    if not stops(said(findings)):
        assert 0 <= request.new_least_frac <= 1
        assert all(0 <= low <= high <= 1 for low, high in request.windows_frac.values())
        assert all(0 <= share <= 0.5 for share in request.loss_frac.values())
        assert request.surplus_most_g >= 0
        assert request.weigh_least_g >= 0
        assert likely_frac is None or 0.5 <= likely_frac < 1


@settings(max_examples=150, deadline=None)
@given(_TYPED, st.sampled_from(["g", "ml", "count"]), _MANY)
@example("1e30 kg", "g", [])
@example("1e30", "count", [])
def test_amounts_are_read_or_refused(text, unit, holds):
    found = []
    assert 0 <= typed_thousandths(text, unit, "AMOUNT", found) < 2**63
    assert all(amount >= 0 for amount in typed_supplies([text], {}, found).values()) or found
    said(found)
    said(amount_as_typed(text, "--cost")[1])
    said(fineness_ends(text, "--fineness")[2])
    shares, wrong = holds_as_typed(holds)
    assert stops(said(wrong)) or sum(shares.values()) <= 1 + 1e-12
