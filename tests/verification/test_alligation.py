"""Alligation against hand arithmetic, and against sums printed in schoolbooks and laws.

Case: one metal added to another to reach a fineness, and lots melted together (masses and fineness are model inputs).
Source: the mass balance of the noble metal, m (wanted - has) / (added - wanted), worked out beside each row; for the
published rows the book or law beside each, with the answer printed there. Digitised books are named by their number in
the public book search that holds them. Units cancel, so ounces and pounds of the books stand where grams are asked.
Tolerance: 1e-9 relative where the result is a fraction written in full; half the last digit where it is rounded.
"""

from fractions import Fraction

import numpy as np
import pytest

from pourwright.prepare.charge.karat import addition_g
from pourwright.prepare.charge.mixture import Recipe, mix, mixed_permille, worst_permille

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


def carats(masses, fineness):
    """Return the fineness of lots melted together, in carats of 24."""
    return mixed_permille(masses, [one / 0.024 for one in fineness]) * 0.024


PUBLISHED = [
    # name, computed, printed answer, where it is printed
    (
        "8 oz of 22 carats, 1 lb 8 oz of 21, 10 oz of 18, melted by a goldsmith",
        carats([8, 20, 10], [22, 21, 18]),
        20 + Fraction(8, 19),
        "an arithmetic of about 1800, alligation medial, question 4 (uMo2AAAAMAAJ, page 327)",
    ),
    (
        "5 lb of 20 carats with 8 lb of 18: how far below 22",
        22 - carats([5, 8], [20, 18]),
        3 + Fraction(3, 13),
        "the same, question 5: no alloy may be added, but more gold",
    ),
    (
        "2 lb of 20 carats with 4 lb of 18: how far below 22",
        22 - carats([2, 4], [20, 18]),
        3 + Fraction(1, 3),
        "an arithmetic of about 1800, alligation medial, question 4 (jdw2AAAAMAAJ, page 138; the third is blurred)",
    ),
    (
        "4, 2, 2, 3 and 4 oz of 16, 18, 19, 22 and 24 carats",
        carats([4, 2, 2, 3, 4], [16, 18, 19, 22, 24]),
        20,
        "an arithmetic of about 1800, alligation alternate, example 1 with its proof (_HzhAoRHX-8C, page 200)",
    ),
    (
        "3, 1, 3 and 4 parts of 17, 18, 22 and 24 carats",
        carats([3, 1, 3, 4], [17, 18, 22, 24]),
        21,
        "Mathematics, text-book of a course at Cambridge, volume 1 (bzw_AQAAIAAJ, page 129)",
    ),
    (
        "12-carat gold to add to 80 g of 18-carat for 16-carat",
        addition_g(80, 18 / 0.024, 16 / 0.024, 12 / 0.024),
        40,
        "school problem of linear equations, 120 g of 16 carats from bars of 18 and 12: 80 g and 40 g",
    ),
    (
        "10-carat gold to add to 150 g of 18-carat for 16-carat",
        addition_g(150, 18 / 0.024, 16 / 0.024, 10 / 0.024),
        50,
        "school problem of linear equations, 200 g of 16 carats: 9x + 5y = 1600 with x + y = 200",
    ),
    (
        "copper to the pure silver of a dollar, grains",
        addition_g(371.25, 1000, 1000 * 1485 / 1664, 0),
        416 - Fraction("371.25"),
        "Coinage Act of 2 April 1792, sections 9 and 13: 371 4/16 grains pure, 416 standard, 1485 parts to 179",
    ),
    (
        "copper to the same pure silver at nine tenths, grains",
        addition_g(371.25, 1000, 900, 0),
        Fraction("412.5") - Fraction("371.25"),
        "the dollar of 1837: 412 1/2 grains, one tenth copper, 371 1/4 pure",
    ),
    (
        "alloy to 11 oz 2 dwt of fine silver for sterling, pennyweights",
        addition_g(222, 1000, 925, 0),
        18,
        "Act 56 George III chapter 68: 11 oz 2 dwt of fine silver and 18 dwt of alloy in every pound troy",
    ),
    (
        "alloy to 22 carats of fine gold, carats",
        addition_g(22, 1000, 1000 * Fraction(11, 12), 0),
        2,
        "the same Act: twenty-two carats fine gold and two carats of alloy in the pound weight troy",
    ),
]


@pytest.mark.parametrize(("name", "computed", "printed", "where"), PUBLISHED)
def test_sums_printed_in_books_and_laws_come_out(name, computed, printed, where):
    assert float(computed) == pytest.approx(float(printed), rel=1e-9), f"{name}: {where}"


def test_a_sovereign_holds_what_its_law_makes_of_20_pounds_of_gold():
    # Act 56 George III chapter 68: 934 1/2 sovereigns out of 20 lb troy of 22 carats; Jevons (1875), chapter on English
    # gold coin, prints 123.27447 grains, cut off and not rounded, and 113.00160 of pure gold reckoned from it.
    sovereign = 20 * 5760 / 934.5
    assert sovereign == pytest.approx(123.27447, abs=1e-5)
    assert sovereign * mixed_permille([22, 2], [1000, 0]) / 1000 == pytest.approx(113.00160, abs=1e-5)


def test_white_and_red_gold_into_60_g_for_70_15_15():
    # School problem of three linear equations: 60 g of gold, silver and copper 45, 50 and 5 %, brought to 70, 15 and
    # 15 % with white gold (90 and 10 % silver) and red gold (80 and 20 % copper). Printed answer: 6 g and 138 g.
    contents = np.array([[0.45, 0.50, 0.05], [0.90, 0.10, 0.0], [0.80, 0.0, 0.20]])
    whole = 60 + 6 + 138
    recipe = Recipe(contents, np.array([0.70, 0.15, 0.15]), np.array([60 / whole, 1.0, 1.0]), (True, False, False), 1.0)
    assert [whole * share for share in mix(recipe)] == pytest.approx([60, 6, 138], abs=1e-6)
