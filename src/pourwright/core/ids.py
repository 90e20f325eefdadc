"""Ids that a person can read on paper (docs/decisions/0001: ids)."""

from __future__ import annotations

from datetime import date

# What each digit reads as when the flask stands on its head; the others are no digit then.
_TURNED = {"0": "0", "1": "1", "6": "9", "8": "8", "9": "6"}
_HIGHEST_NUMBER = 99


def flask_load_id(day: date, number: int) -> str:
    """Return the id of a flask's load of a day, for example ``2026-03-14-F2``."""
    return f"{day.isoformat()}-F{number}"


def piece_id(day: date, number: int) -> str:
    """Return the id of a piece, for example ``2026-03-14-P07``."""
    return f"{day.isoformat()}-P{number:02d}"


def turned_over(number: int) -> int | None:
    """Return the number that is read when a scratched one stands on its head, or None if that is no number.

    A number turned so that it would begin with a nought is told apart by the nought: nobody scratches ``01``.
    """
    turned = "".join(_TURNED.get(digit, " ") for digit in reversed(str(number)))
    return int(turned) if " " not in turned and not turned.startswith("0") else None


def issue_numbers(count: int) -> tuple[int, ...]:
    """Return numbers to scratch into the flasks of a day, in rising order from 1, no two of which can be mixed up.

    Parameters
    ----------
    count : int
        How many are wanted.

    Raises
    ------
    ValueError
        There are not so many between 1 and 99.
    """
    issued: list[int] = []
    for number in range(1, _HIGHEST_NUMBER + 1):
        if turned_over(number) not in issued:
            issued.append(number)
    if count > len(issued):
        raise ValueError(f"{count} numbers wanted, {len(issued)} can be told apart")
    return tuple(issued[:count])
