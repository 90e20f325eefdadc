"""Numbers out of text files, with the line named where one is wrong."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.formats.soup import UnusableError, grouped

Line = tuple[int, bytes]  # its number in the file, from 1, and its words
Words = Sequence[bytes]


def bad_line(line: Line) -> UnusableError:
    """Return the refusal of a line that does not hold the numbers it should."""
    number, text = line
    shown = text.decode("utf-8", "replace").strip()[:60]
    code = "shape.file-comma" if b"," in text else "shape.file-line"
    return UnusableError(code, line=grouped(number), text=shown)


def points(lines: Sequence[Line], skip: int = 0) -> NDArray[np.float64]:
    """Return three numbers from each line after ``skip`` words, shape (n, 3); what follows them is ignored."""
    end = skip + 3
    words = [text.split()[skip:end] for _, text in lines]
    for line, three in zip(lines, words, strict=True):
        if len(three) != 3:
            raise bad_line(line)
    try:
        return np.fromiter(map(float, chain.from_iterable(words)), np.float64).reshape(-1, 3)
    except ValueError:
        raise first_bad(lines, words, float) from None


def whole_numbers(lines: Sequence[Line], words: Sequence[Words]) -> NDArray[np.int64]:
    """Return the words of all lines as whole numbers in one row; one too large becomes one that names no corner."""
    try:
        return np.fromiter(map(int, chain.from_iterable(words)), np.int64)
    except ValueError:
        raise first_bad(lines, words, int) from None
    except OverflowError:
        largest = np.iinfo(np.int64).max
        kept = (min(max(int(one), -largest), largest) for one in chain.from_iterable(words))
        return np.fromiter(kept, np.int64)


def counted_faces(lines: Sequence[Line]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return corner numbers and sizes of faces written as a count and that many numbers; what follows is ignored."""
    words = [text.split() for _, text in lines]
    sizes = whole_numbers(lines, [one[:1] for one in words])
    for line, one, size in zip(lines, words, sizes.tolist(), strict=True):
        if not 0 <= size < len(one):
            raise bad_line(line)
    return whole_numbers(lines, [one[1 : size + 1] for one, size in zip(words, sizes.tolist(), strict=True)]), sizes


def first_bad(lines: Sequence[Line], words: Sequence[Words], number: Callable[[bytes], float]) -> UnusableError:
    """Return the refusal of the first line with a word that is no number."""
    for line, some in zip(lines, words, strict=True):
        try:
            for one in some:
                number(one)
        except ValueError:
            return bad_line(line)
    return bad_line(lines[0])
