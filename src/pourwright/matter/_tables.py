"""Reads the tables that ship with the program and brings every value to SI.

The folder can be changed by the environment variable ``POURWRIGHT_TABLES``, so that a test can try a changed copy.
"""

from __future__ import annotations

import difflib
import os
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import DataError
from pourwright.core.interval import Interval, Shape

TABLES_VARIABLE = "POURWRIGHT_TABLES"
ZERO_C_K = 273.15  # exact by definition

# unit in a table -> factor, offset and the SI unit; any other unit stays as it is.
_TO_SI: dict[str, tuple[float, float, str]] = {
    "degC": (1.0, ZERO_C_K, "K"),
    "kJ/kg": (1e3, 0.0, "J/kg"),
    "g/mol": (1e-3, 0.0, "kg/mol"),
    "1": (1.0, 0.0, ""),
}


def folder() -> str:
    """Return the folder that tables are read from; empty for the tables in the package."""
    return os.environ.get(TABLES_VARIABLE, "")


@lru_cache(maxsize=32)
def table(name: str, place: str) -> Mapping[str, Any]:
    """Return one table as it stands in its file.

    Parameters
    ----------
    name : str
        Such as ``alloys``.
    place : str
        What :func:`folder` says; part of the key of the cache.

    Raises
    ------
    DataError
        The file is not there.
    """
    home = Path(place) if place else files("pourwright.matter").joinpath("tables")
    try:
        return tomllib.loads(home.joinpath(f"{name}.toml").read_text("utf-8"))
    except FileNotFoundError:
        raise DataError(f"there is no table '{name}'") from None


def pick(rows: Mapping[str, Any], key: str, what: str) -> Any:
    """Return the row for a key, or say which keys come near.

    Raises
    ------
    DataError
        The key is not there.
    """
    if key in rows:
        return rows[key]
    raise DataError(f"{what} '{key}' is not in the tables; {_near(key, rows)}")


def _near(key: str, known: Iterable[str]) -> str:
    names = sorted(known)
    close = difflib.get_close_matches(key.lower().replace("_", "-"), names, n=3, cutoff=0.5)
    return "did you mean " + " or ".join(close) + "?" if close else "known are " + ", ".join(names)


def interval(row: Mapping[str, Any]) -> Interval:
    """Return a row's value and range in SI; a row without a range is exact."""
    factor, offset, unit = _TO_SI.get(row["unit"], (1.0, 0.0, row["unit"]))
    low, best, high = (row.get(name, row["value"]) * factor + offset for name in ("low", "value", "high"))
    shape = Shape.LOG_UNIFORM if row.get("log") else Shape.UNIFORM
    return Interval(low, best, high, unit, shape, tuple(row["source"]), row["kind"])


def curve(row: Mapping[str, Any]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return temperatures [K] and values of a row that is tabulated over temperature."""
    return np.asarray(row["temperature_C"], dtype=float) + ZERO_C_K, np.asarray(row["value"], dtype=float)
