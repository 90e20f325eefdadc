"""Names of the environment variables that the doors look at."""

from __future__ import annotations

STUDIO_VARIABLE = "POURWRIGHT_STUDIO"
BOOKS_VARIABLE = "POURWRIGHT_BOOKS"
