"""The two readers that everyone calls; each says everything that is wrong in a file at once."""

from __future__ import annotations

from pourwright.studio.day_reading import read_day
from pourwright.studio.profile_reading import read_studio

__all__ = ["read_day", "read_studio"]
