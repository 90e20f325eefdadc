"""The format number at the top of our files."""

from __future__ import annotations

from pourwright.studio.place import Place
from pourwright.studio.profile import PROFILE_FORMAT


def newer_format(place: Place) -> bool:
    """Return whether a file was written for a later program; adds the finding that refuses it by name."""
    written = place.source.content.get("format")
    if not isinstance(written, int) or isinstance(written, bool) or written <= PROFILE_FORMAT:
        return False
    place.note("studio.format-newer", "format", written=written, ours=PROFILE_FORMAT)
    return True
