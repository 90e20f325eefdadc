"""Numbers out of text files, with the line named where one is wrong."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.soup import UnusableError

Line = tuple[int, bytes]  # its number in the file, from 1, and its words


def bad_line(line: Line) -> UnusableError:
    """Return the refusal of a line that does not hold the numbers it should."""
    number, text = line
    shown = text.decode("utf-8", "replace").strip()[:60]
    code = "shape.file-comma" if b"," in text else "shape.file-line"
    return UnusableError(code, line=f"{number:,}", text=shown)


def whole_numbers(line: Line, words: Sequence[bytes]) -> list[int]:
    """Return words of a line as whole numbers."""
    try:
        return [int(one) for one in words]
    except ValueError:
        raise bad_line(line) from None


def points(lines: Sequence[Line], skip: int = 0) -> NDArray[np.float64]:
    """Return three numbers from each line after ``skip`` words, shape (n, 3); what follows them is ignored."""
    if not lines:
        return np.zeros((0, 3))
    end = skip + 3
    words = [text.split()[skip:end] for _, text in lines]
    try:
        numbers = np.array(words, dtype=np.bytes_).astype(np.float64)
    except ValueError:
        numbers = np.zeros(0)
    if numbers.shape != (len(lines), 3):
        raise _first_bad(lines, words)
    return numbers


def _first_bad(lines: Sequence[Line], words: Sequence[Sequence[bytes]]) -> UnusableError:
    for line, three in zip(lines, words, strict=True):
        if len(three) != 3 or not all(_is_number(one) for one in three):
            return bad_line(line)
    return bad_line(lines[0])


def _is_number(word: bytes) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return True


def counted_faces(
    lines: Sequence[Line], wanted_sizes: int | None = None
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return corner numbers and sizes of faces written as a count and that many numbers; colours after it are ignored.

    ``wanted_sizes`` is not None where every line must hold exactly the count and its numbers.
    """
    flat: list[int] = []
    sizes: list[int] = []
    for line in lines:
        words = line[1].split()
        size = whole_numbers(line, words[:1])[0] if words else -1
        if size < 0 or len(words) < size + 1 or (wanted_sizes is not None and len(words) != size + 1):
            raise bad_line(line)
        flat += whole_numbers(line, words[1 : size + 1])
        sizes.append(size)
    return as_indices(flat), np.array(sizes, dtype=np.int64)


def as_indices(numbers: Sequence[int]) -> NDArray[np.int64]:
    """Return numbers as an array; one too large for it cannot name a corner and becomes one that no file has."""
    try:
        return np.array(numbers, dtype=np.int64)
    except OverflowError:
        largest = np.iinfo(np.int64).max
        return np.array([min(max(one, -largest), largest) for one in numbers], dtype=np.int64)
