"""Books on SQLite, and on PostgreSQL where POURWRIGHT_TEST_POSTGRESQL names a server."""

from __future__ import annotations

import pytest

from pourwright.books.store import open_books


@pytest.fixture
def books(tmp_path):
    opened = open_books(tmp_path / "books.sqlite")
    yield opened
    opened.close()
