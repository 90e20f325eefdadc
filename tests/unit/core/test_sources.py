"""The source register."""

import pytest

from pourwright.core.errors import DataError
from pourwright.core.sources import find, register


def test_a_source_says_how_much_of_it_was_read():
    assert all(one.read for one in register().values())


def test_an_unknown_key_is_refused():
    with pytest.raises(DataError, match="no_such_source"):
        find("no_such_source")
