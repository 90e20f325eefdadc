"""The group that commands of several modules hang under."""

from __future__ import annotations

from pourwright.doors.cli.books.shape import group

book = group("book")
