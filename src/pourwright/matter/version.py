"""Which edition of our tables a result was made with."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from importlib.resources import files


@lru_cache(maxsize=1)
def tables_sha256() -> str:
    """Return one hash over all tables and the source register, in the order of their names."""
    digest = hashlib.sha256()
    tables = sorted(files("pourwright.matter").joinpath("tables").iterdir(), key=lambda one: one.name)
    for table in [*tables, files("pourwright.core").joinpath("sources.toml")]:
        digest.update(table.name.encode())
        digest.update(table.read_bytes())
    return digest.hexdigest()
