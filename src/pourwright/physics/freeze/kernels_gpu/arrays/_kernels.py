"""Arrays on a graphics card with the little arithmetic that the driver does between kernels, and how to launch there.

A kernel is given a fixed number of threads, each of which takes every so-manieth item: sums are then always taken in
the same order, and a run repeats to the last bit. Under numba's simulator (``NUMBA_ENABLE_CUDASIM=1``) the same code
runs on the processor with a few threads.

Laws and loops that are safe to split are not written twice: :func:`twin` makes one for the card from the one for the
processor.
"""

from __future__ import annotations

import math
from types import FunctionType, ModuleType

import numpy as np
from numba import config, cuda

SIMULATED = bool(config.ENABLE_CUDASIM)  # type: ignore[attr-defined]
# Short lists are no mistake here.
config.CUDA_LOW_OCCUPANCY_WARNINGS = 0  # type: ignore[attr-defined]
# Threads of a block, and most blocks of a launch; sums are taken in so many parts.
THREADS = 2 if SIMULATED else 256
_BLOCKS = 1 if SIMULATED else 2048
PARTS = 4 if SIMULATED else 2048


def is_there() -> bool:
    """Return whether there is a card, or its simulator."""
    return bool(cuda.is_available())


def _mathematics():
    """Return what twins call ``np``: the few functions that a card knows under other names."""
    made = ModuleType("np")
    made.__dict__.update(floor=math.floor, sqrt=math.sqrt, isnan=math.isnan, pi=np.pi, inf=np.inf, nan=np.nan)
    made.__dict__.update(float32=np.float32, float64=np.float64, uint64=np.uint64)
    return made


_MATHEMATICS = _mathematics()


def _shared(many):
    return range(cuda.grid(1), many, cuda.gridsize(1))


def _copy(kernel, others):
    plain = kernel.py_func
    return FunctionType(plain.__code__, {**plain.__globals__, "np": _MATHEMATICS, **others}, plain.__name__)


def twin(kernel, **others):
    """Return a function for use inside kernels on the card; ``others`` are the twins that it calls, by name."""
    return cuda.jit(device=True)(_copy(kernel, others))


def wide_twin(kernel, **others):
    """Return a kernel for the card from one whose only loop is over ``prange``: the threads share that out."""
    made = _copy(kernel, {"cuda": cuda, **others})
    made.__globals__["prange"] = cuda.jit(device=True)(FunctionType(_shared.__code__, made.__globals__, "shared"))
    return cuda.jit(made)


def spread(kernel, many, *fields, blocks=None, threads=THREADS):
    """Launch a kernel on so many items; none, no launch."""
    if many > 0:
        wide = blocks or min((many + threads - 1) // threads, _BLOCKS)
        kernel[wide, threads](*(bare(one) for one in fields))


def bare(tree):
    """Return the numba arrays inside an array of ours, or inside a tuple of them."""
    if isinstance(tree, _OnCard):
        return tree.inside
    if isinstance(tree, tuple):
        parts = [bare(one) for one in tree]
        return type(tree)(*parts) if hasattr(tree, "_fields") else tuple(parts)
    return tree


@cuda.jit
def _weigh(out, one, by, other, times, plus):
    for i in range(cuda.grid(1), len(out), cuda.gridsize(1)):
        out[i] = by * one[i] + times * other[i] + plus


@cuda.jit
def _multiply(out, one, other):
    for i in range(cuda.grid(1), len(out), cuda.gridsize(1)):
        out[i] = one[i] * other[i]


@cuda.jit
def _take(out, source, places):
    for i in range(cuda.grid(1), len(out), cuda.gridsize(1)):
        out[i] = source[places[i]]


@cuda.jit
def _sum_parts(values, parts):
    for part in range(cuda.grid(1), len(parts), cuda.gridsize(1)):
        total = 0.0
        for i in range(part, len(values), len(parts)):
            total += values[i]
        parts[part] = total


class _OnCard:
    """An array on the card. ``kept`` holds what was once worked out from it, such as lists the other way round."""

    __slots__ = ("inside", "kept")
    __array_ufunc__ = None  # lets numbers of numpy leave the arithmetic to us

    def __init__(self, inside):
        self.inside = inside
        self.kept = {}

    dtype = property(lambda self: self.inside.dtype)
    shape = property(lambda self: tuple(self.inside.shape))
    size = property(lambda self: int(np.prod(self.shape)))

    def __len__(self):
        return self.shape[0]

    def __getitem__(self, key):
        if isinstance(key, np.ndarray):
            key = put(key)
        if isinstance(key, _OnCard):
            out = empty(len(key), self.dtype)
            spread(_take, len(key), out, self, key)
            return out
        found = self.inside[key]
        return found if np.isscalar(found) else _OnCard(found)

    def __setitem__(self, key, value):
        whole = key is Ellipsis or key == slice(None)
        target = self.inside if whole else self.inside[key]
        if np.prod(target.shape):
            target.copy_to_device(bare(value))

    def __add__(self, other):
        return self._weighed(1.0, other, 1.0)

    def __sub__(self, other):
        return self._weighed(1.0, other, -1.0)

    def __iadd__(self, other):
        return self._weighed(1.0, other, 1.0, self)

    def __mul__(self, other):
        if not isinstance(other, _OnCard):
            return self._weighed(float(other), self, 0.0)
        out = empty(len(self), self.dtype)
        spread(_multiply, len(self), out, self, other)
        return out

    __rmul__ = __mul__

    def _weighed(self, by, other, times, out=None):
        out = out or empty(len(self), self.dtype)
        if isinstance(other, _OnCard):
            spread(_weigh, len(self), out, self, by, other, times, 0.0)
        else:
            spread(_weigh, len(self), out, self, by, self, 0.0, times * float(other))
        return out

    def __bool__(self):
        return True

    def sum(self):
        """Return the sum, taken in parts that are always the same."""
        parts = empty(PARTS, np.float64)
        spread(_sum_parts, PARTS, self, parts)
        return fetch(parts).sum()

    def max(self):
        """Return the largest entry."""
        return fetch(self).max()

    def copy(self):
        """Return another array of the same content."""
        made = empty(self.shape, self.dtype)
        made[...] = self
        return made

    def reshape(self, *shape):
        """Return the same array in another shape; it must be flat in memory."""
        flat = (self.size,) if shape == (-1,) else shape
        return self if flat == self.shape else _OnCard(self.inside.reshape(*flat))


def put(array):
    """Carry an array to the card; what is there stays."""
    if isinstance(array, _OnCard):
        return array
    array = np.ascontiguousarray(array)
    if array.size:
        return _OnCard(cuda.to_device(array))
    return _OnCard(cuda.to_device(np.zeros((1, *array.shape[1:]), array.dtype))[:0])  # a card has no room for nothing


def fetch(array):
    """Carry an array back."""
    if not isinstance(array, _OnCard):
        return np.asarray(array)
    return array.inside.copy_to_host() if array.size else np.empty(array.shape, array.dtype)


def fetched(tree):
    """Return a tuple, or one array, with all arrays carried back."""
    if isinstance(tree, tuple):
        parts = [fetched(one) for one in tree]
        return type(tree)(*parts) if hasattr(tree, "_fields") else tuple(parts)
    return fetch(tree) if isinstance(tree, _OnCard) else tree


def empty(many, kind):
    """Return room for a list on the card."""
    return _OnCard(cuda.device_array(many, kind))


def kept(array, name, make):
    """Return what was made of an array the first time, under a name."""
    if name not in array.kept:
        array.kept[name] = make()
    return array.kept[name]


def grouped(owner, many):
    """Return the other way round who belongs to an owner: i has ``member[first[i]]`` to ``member[first[i + 1] - 1]``.

    Members come in rising order; owners below zero are left out.
    """

    def make():
        flat = fetch(owner).astype(np.int64)
        member = np.argsort(flat, kind="stable")
        member = member[np.count_nonzero(flat < 0) :]
        first = np.concatenate(([0], np.cumsum(np.bincount(flat[member], minlength=many))))
        return put(first.astype(np.uint32)), put(member.astype(np.uint32))

    return kept(owner, "grouped", make)
