"""Books pours until it is killed, or so many as told: ``booking_loop.py ADDRESS NAME COUNT``. Used by test_books.py."""

from __future__ import annotations

import sys
from datetime import date

from pourwright.books.pours import Casting, Poured, book_pour
from pourwright.books.store import open_books


def main() -> None:
    """Book pours of one gram each."""
    address, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
    books = open_books(address)
    print("ready", flush=True)
    for number in range(count):
        poured = Poured(
            f"2026-11-28-{name}-{number}",
            date(2026, 11, 28),
            "sterling-925",
            "Ag",
            {"L-0001": 926, "L-0002": 74},
            (Casting(f"{name}-{number}", name, 600),),
            button_mg=390,
            scales_mg=10,
            expected_loss_mg=10,
        )
        with books.writing() as connection:
            book_pour(connection, poured, name)
        print(number, flush=True)


main()
