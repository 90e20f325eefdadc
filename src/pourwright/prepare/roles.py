"""Who does a step on a day where not every role has somebody."""

from __future__ import annotations

from collections.abc import Sequence

from pourwright.studio.day import Person

# Who steps in, in this order. The one who pours has both hands full at the release: calling falls to them only where
# nobody else is there at all.
_STANDS_IN = {
    "caller": ("caller", "teacher", "helper", "pourer"),
    "pourer": ("pourer", "teacher", "caller", "helper"),
    "helper": ("helper", "teacher", "caller", "pourer"),
    "teacher": ("teacher", "caller", "pourer", "helper"),
}


def role_for(role: str, people: Sequence[Person]) -> str:
    """Return the role itself if somebody has it on the day, else the role that stands in; unchanged with no people."""
    there = {one.role for one in people}
    return next((one for one in _STANDS_IN[role] if one in there), role)
