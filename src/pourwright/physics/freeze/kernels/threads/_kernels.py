"""How many threads the compiled loops run on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from numba import get_num_threads, set_num_threads

# Cells from which a second thread gains more than it costs to wake.
_WORTH_THREADS = 100_000


@contextmanager
def threads_for(cells_count: int) -> Iterator[None]:
    """Keep to one thread where there are few cells, as long as the context lasts."""
    allowed = get_num_threads()
    set_num_threads(allowed if cells_count >= _WORTH_THREADS else 1)
    try:
        yield
    finally:
        set_num_threads(allowed)
