"""Ids that a person can read on paper (docs/decisions/0001: ids)."""

from __future__ import annotations

from datetime import date


def flask_load_id(day: date, number: int) -> str:
    """Return the id of a flask's load of a day, for example ``2026-03-14-F2``."""
    return f"{day.isoformat()}-F{number}"


def piece_id(day: date, number: int) -> str:
    """Return the id of a piece, for example ``2026-03-14-P07``."""
    return f"{day.isoformat()}-P{number:02d}"
