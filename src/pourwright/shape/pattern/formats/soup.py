"""What every format is turned into: triangle corners, the unit the file states, and remarks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

# Lengths in the unit of the file, whatever it may be.
OwnNumbers: TypeAlias = NDArray[np.number[Any]]

# Beyond this, numbers of single precision lose a thousandth of a millimetre's worth of shape and more.
FARTHEST_COORDINATE = 1.0e6


@dataclass(frozen=True)
class Remark:
    """What is wrong or odd in a file: the code of a finding, its level and the blanks of its sentences."""

    code: str
    level: str
    params: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Soup:
    """Triangle corners in the file's own numbers, shape (n, 3, 3), or None, with what was noticed.

    ``units`` is what the file itself says its numbers mean, empty where the format has no word for it.
    """

    corners: NDArray[np.generic] | None
    remarks: tuple[Remark, ...] = ()
    units: str = ""


@dataclass(frozen=True)
class Ceilings:
    """How much one file may hold: triangles, bytes on disk, and bytes once unpacked."""

    triangles_count: int
    file_bytes_count: int
    unpacked_bytes_count: int


Reader = Callable[[bytes, Ceilings], Soup]


class UnusableError(Exception):
    """A file cannot be used; carries the remark that says why. Never leaves the reading process."""

    def __init__(self, code: str, **params: str) -> None:
        super().__init__(code)
        self.remark = Remark(code, "stop", params)


def grouped(number_count: float) -> str:
    """Return a whole number as text, its digits in threes; no comma, which some read as the decimal sign."""
    return f"{number_count:,.0f}".replace(",", "\u2009")


def look(code: str, **params: str) -> Remark:
    """Return a remark about a file that can be used all the same."""
    return Remark(code, "look", params)


def checked(soup: Soup, most_triangles: int) -> Soup:
    """Return the soup if it holds triangles, not too many, of finite corners within reach.

    Raises
    ------
    UnusableError
        It does not.
    """
    corners = soup.corners
    if corners is None or len(corners) == 0:
        raise UnusableError("shape.file-no-triangles")
    check_count(len(corners), most_triangles)
    finite = np.isfinite(corners).all(axis=(1, 2))
    if not finite.all():
        bad_count, first = int((~finite).sum()), int(finite.argmin()) + 1
        raise UnusableError("shape.file-not-finite", count=grouped(bad_count), first=grouped(first))
    farthest = float(np.abs(corners).max())
    if farthest >= FARTHEST_COORDINATE:
        raise UnusableError("shape.file-far", value=f"{farthest:.3g}", limit=grouped(FARTHEST_COORDINATE))
    return soup


def check_count(count: int, most_triangles: int) -> None:
    """Refuse more triangles than the limit, before room is made for them."""
    if count > most_triangles:
        raise UnusableError("shape.too-many-triangles", count=grouped(count), limit=grouped(most_triangles))


def attempt(reader: Reader, content: bytes, ceilings: Ceilings) -> Soup:
    """Read with a format's reader and check what came out; a refusal becomes a soup without corners."""
    try:
        if not content:
            raise UnusableError("shape.file-empty")
        with np.errstate(invalid="ignore", over="ignore"):  # what is not finite is refused below
            soup = reader(content, ceilings)
        return replace(checked(soup, ceilings.triangles_count), remarks=soup.remarks)
    except UnusableError as refusal:
        return Soup(None, (refusal.remark,))
