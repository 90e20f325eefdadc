"""Names of the environment variables that the doors look at, and of the books in a studio's folder."""

from __future__ import annotations

STUDIO_VARIABLE = "POURWRIGHT_STUDIO"
BOOKS_VARIABLE = "POURWRIGHT_BOOKS"
BOOKS_FILE = "books.sqlite"
