"""Alligation against hand arithmetic.

Case: one metal added to another to reach a fineness, and lots melted together (masses and fineness are model inputs).
Source: the mass balance of the noble metal, m (wanted - has) / (added - wanted), worked out beside each row.
Tolerance: 1e-9 relative where the result is a fraction written in full; half the last digit where it is rounded.
"""

import pytest

from pourwright.prepare.charge.karat import addition_g
from pourwright.prepare.charge.mixture import mixed_permille, worst_permille

EXACT = [
    # name, computed, expected, arithmetic
    ("copper into 100 g of 999 for 925", addition_g(100, 999, 925, 0), 8.0, "100 x 74 / 925"),
    ("copper into 100 g of pure for 925", addition_g(100, 1000, 925, 0), 100 * 75 / 925, "100 x 75 / 925"),
    ("999 into 100 g of 900 for 925", addition_g(100, 900, 925, 999), 2500 / 74, "100 x 25 / 74"),
    ("999 into 50 g of 900 for 925", addition_g(50, 900, 925, 999), 1250 / 74, "50 x 25 / 74"),
    ("pure into 10 g of 625 for 925", addition_g(10, 625, 925, 1000), 40.0, "10 x 300 / 75"),
    ("pure gold into 100 g, 14 to 18 of 24", addition_g(100, 14 / 0.024, 750, 1000), 200 / 3, "100 x 4 / 6"),
    ("pure gold into 100 g, 10 to 14 of 24", addition_g(100, 10 / 0.024, 14 / 0.024, 1000), 40.0, "100 x 4 / 10"),
    ("alloy into 100 g of pure gold for 750", addition_g(100, 1000, 750, 0), 100 / 3, "100 x 250 / 750"),
    ("alloy into 100 g, 18 to 14 of 24", addition_g(100, 750, 14 / 0.024, 0), 200 / 7, "100 x 4 / 14"),
    ("pure gold into 10 g of 585 for 750", addition_g(10, 585, 750, 1000), 6.6, "10 x 165 / 250"),
    ("50 g 925, 20 g 999, 5 g copper", mixed_permille([50, 20, 5], [925, 999, 0]), 66230 / 75, "(46250 + 19980) / 75"),
]

ROUNDED = [
    # name, computed, expected, half the last digit
    ("1 g solder of 650 in 50 g of 925", mixed_permille([50, 1], [925, 650]), 919.6, 0.05),
    ("999 that brings it back", addition_g(51, mixed_permille([50, 1], [925, 650]), 925, 999), 3.72, 0.005),
    ("worst case of 120 g, 0.05 g off", worst_permille([111.1111, 8.8889], [999, 0], [0.05] * 2), 924.58, 0.005),
    ("worst case of 120 g, 0.5 g off", worst_permille([111.1111, 8.8889], [999, 0], [0.5] * 2), 920.84, 0.005),
    ("aimed at 926, 0.05 g off", worst_permille([111.2312, 8.7688], [999, 0], [0.05] * 2), 925.6, 0.05),
    ("alloy into a troy ounce of pure gold for 750", addition_g(31.1034768, 1000, 750, 0), 10.37, 0.005),
]


@pytest.mark.parametrize(("name", "computed", "expected", "arithmetic"), EXACT)
def test_alligation_follows_the_mass_balance(name, computed, expected, arithmetic):
    assert computed == pytest.approx(expected, rel=1e-9), f"{name}: {arithmetic}"


@pytest.mark.parametrize(("name", "computed", "expected", "half_digit"), ROUNDED)
def test_known_answers_at_the_bench(name, computed, expected, half_digit):
    assert computed == pytest.approx(expected, abs=half_digit), name
