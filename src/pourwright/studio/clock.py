"""Local times of the studio, with the two hours a year that do not exist or exist twice."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pourwright.core.findings import Level
from pourwright.studio.fields import Field
from pourwright.studio.place import Place, near


def zone_named(name: str) -> ZoneInfo | None:
    """Return a time zone by its name in the time zone database, or None."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def check_zone(one: Field, name: str, place: Place) -> None:
    """Add a finding if there is no such time zone."""
    if zone_named(name) is None:
        place.note_field("studio.zone-unknown", one, got=name, known=near(name, _places(name)))


def _places(name: str) -> tuple[str, ...]:
    """Return the zones of that town whatever the continent, else zones that show the form."""
    zones = sorted(available_timezones())
    town = name.strip().replace(" ", "_").rpartition("/")[2].lower()
    alike = tuple(one for one in zones if town and one.rpartition("/")[2].lower() == town)
    return alike or tuple(one for one in zones if one.startswith("Europe/"))


def in_zone(one: Field, moment: datetime, zone: ZoneInfo, place: Place) -> datetime | None:
    """Return a moment in the studio's zone, or None after adding a finding.

    A moment with its own offset (``02:30+02:00``) is taken at its word. Without one, an hour that the clock change
    skips is refused and one that it repeats is asked about.
    """
    if moment.tzinfo is not None:
        return _with_offset(one, moment, zone, place)
    early, late = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if early.utcoffset() == late.utcoffset():
        return early
    shown = f"{moment:%Y-%m-%d %H:%M}"
    if early.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != moment:
        place.note_field("studio.time-skipped", one, got=shown, zone=zone.key)
        return None
    first, second = (f"{moment:%H:%M}{_offset(one_fold)}" for one_fold in (early, late))
    place.note_field("studio.time-double", one, Level.ASK, got=shown, zone=zone.key, first=first, second=second)
    return None


def _with_offset(one: Field, moment: datetime, zone: ZoneInfo, place: Place) -> datetime | None:
    local = moment.astimezone(zone)
    if local.utcoffset() != moment.utcoffset():
        shown, right = f"{moment:%H:%M}{_offset(moment)}", f"{local:%H:%M}{_offset(local)}"
        place.note_field("studio.time-offset", one, got=shown, zone=zone.key, right=right)
        return None
    return local


def _offset(moment: datetime) -> str:
    text = f"{moment:%z}"
    return f"{text[:3]}:{text[3:5]}"
