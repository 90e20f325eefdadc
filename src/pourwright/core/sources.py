"""The source register: what every value, rule and limit rests on."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib.resources import files

from pourwright.core.errors import DataError


class Kind(StrEnum):
    """How a value in our tables is known. Copying never moves a value up this list."""

    PUBLISHED = "published"  # the text was read
    STANDARD = "standard"  # a standard or law, its text read
    COMPUTED = "computed"  # by another program from published inputs
    DERIVED = "derived"  # by a formula given beside it
    COMMON_PRACTICE = "common-practice"  # printed as: common practice, no source
    MEMORY = "memory"  # printed as: from memory


@dataclass(frozen=True)
class Source:
    """One entry of the register.

    Parameters
    ----------
    key : str
        What tables write.
    title : str
        Author, title, year.
    authority : str
        regulation, government, standard-scope, paper, handbook, university, program, community, trade, web-low, ours.
    read : str
        How much was read: ``full text``, ``excerpt``, ``abstract``, ``run`` (a program), ``not read``.
    url : str
        Address, or empty.
    """

    key: str
    title: str
    authority: str
    read: str
    url: str = ""


@lru_cache(maxsize=1)
def register() -> dict[str, Source]:
    """Return every source by its key."""
    content = tomllib.loads(files("pourwright.core").joinpath("sources.toml").read_text("utf-8"))
    return {
        row["id"]: Source(row["id"], row["title"], row["authority"], row["read"], row.get("url", ""))
        for row in content["source"]
    }


def find(key: str) -> Source:
    """Return the source for a key.

    Raises
    ------
    DataError
        The key is not in the register.
    """
    try:
        return register()[key]
    except KeyError:
        raise DataError(f"source '{key}' is not in the source register") from None
