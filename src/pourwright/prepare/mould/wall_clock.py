"""Moments as the studio's wall clock shows them, safe to subtract when the clocks change in between."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo


def before(moment: datetime, minutes_min: float) -> datetime:
    """Return the moment so many true minutes [minute] earlier, in UTC, to the second."""
    return moment.astimezone(UTC) - timedelta(seconds=round(60 * minutes_min))


def minutes_between_min(start: datetime, end: datetime) -> float:
    """Return the true minutes from start to end [minute], whatever zones they are written in."""
    return (end.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / 60


def on_the_wall(moment: datetime, zone: str) -> datetime:
    """Return a moment with the fixed offset that the zone has at that moment.

    Two datetimes of one ``ZoneInfo`` subtract as wall times and lose or gain an hour when the clocks change; with
    fixed offsets they subtract as moments and still print the local time.
    """
    local = moment.astimezone(ZoneInfo(zone))
    offset = local.utcoffset() or timedelta(0)
    return local.replace(tzinfo=timezone(offset, local.tzname() or ""), fold=0)


def hours_text(minutes_min: float) -> str:
    """Return minutes [minute] as hours and minutes, ``13 h 52``."""
    hours, minutes = divmod(round(minutes_min), 60)
    return f"{hours}\u00a0h\u00a0{minutes:02d}"
