"""Shells told apart: bodies, voids inside them, and shells whose meaning only the user knows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.shape.pattern import mass
from pourwright.shape.pattern.report import Mesh, Point
from pourwright.shape.pattern.topology import shells_of, used_only

MOST_SHELLS = 3000
# Steps that telling shells apart may take, some forty million a second; a cut costs so many for each triangle.
MOST_STEPS = 500_000_000
CUT_STEPS = 100
# Shells below this, and below this share of the largest, are scraps of modelling: left out, and said to be.
SCRAP_MM3 = 0.01
SCRAP_FRAC = 1e-3
# Two volumes closer than this share count as equal when asking whether one shell lies inside another.
_SAME_FRAC = 1e-4
_PROBES = 5


@dataclass(frozen=True)
class Shell:
    """One connected closed surface. ``volume_mm3`` is negative when it faces inward."""

    mesh: Mesh
    volume_mm3: float
    low_mm: NDArray[np.float64]
    high_mm: NDArray[np.float64]

    @property
    def middle_mm(self) -> Point:
        """Middle of the box round the shell."""
        x, y, z = (self.low_mm + self.high_mm) / 2.0
        return (float(x), float(y), float(z))


def split(mesh: Mesh) -> tuple[Shell, ...]:
    """Return the shells of a closed mesh, the largest first."""
    label = shells_of(mesh)
    count = int(label.max()) + 1 if len(label) else 0
    if count == 1:
        return (shell(mesh),)
    order = np.argsort(label, kind="stable")
    pieces = np.split(mesh.faces[order], np.cumsum(np.bincount(label))[:-1])
    shells = [shell(used_only(Mesh(mesh.vertices_mm, faces))) for faces in pieces]
    return tuple(sorted(shells, key=lambda one: -abs(one.volume_mm3)))


def shell(mesh: Mesh) -> Shell:
    """Return a closed surface with its volume and box."""
    return Shell(mesh, mass.volume_mm3(mesh), *mass.box_mm(mesh.vertices_mm))


def outward(one: Shell) -> Shell:
    """Return the shell facing outward."""
    return one if one.volume_mm3 >= 0 else turned(one)


def turned(one: Shell) -> Shell:
    """Return the shell facing the other way."""
    flipped = Mesh(one.mesh.vertices_mm, np.ascontiguousarray(one.mesh.faces[:, ::-1]))
    return Shell(flipped, -one.volume_mm3, one.low_mm, one.high_mm)


def holders(shells: Sequence[Shell]) -> list[int]:
    """Return for each shell (largest first) the number of the smallest shell it lies wholly inside, or -1."""
    holder: list[int] = []
    for one, around in zip(shells, _boxed_by(shells), strict=True):
        inside = (other for other in reversed(around) if _lies_inside(one, shells[other]))
        holder.append(next(inside, -1))
    return holder


def _boxed_by(shells: Sequence[Shell]) -> list[list[int]]:
    """Return for each shell (largest first) those before it whose box holds its box."""
    low, high = np.array([one.low_mm for one in shells]), np.array([one.high_mm for one in shells])
    return [
        np.flatnonzero(np.all((low[:number] <= low[number]) & (high[:number] >= high[number]), axis=1)).tolist()
        for number in range(len(shells))
    ]


def nesting_steps(shells: Sequence[Shell]) -> int:
    """Return how many triangles must be looked at, at most, to find out which shell lies in which."""
    faces = np.array([len(one.mesh.faces) for one in shells])
    return sum(int(faces[around].sum()) for around in _boxed_by(shells))


def cutting_steps(backward: Sequence[Shell], forward: Sequence[Shell]) -> int:
    """Return how many steps, at most, cutting shells that face opposite ways with each other takes.

    Shells whose boxes meet are cut, which takes :data:`CUT_STEPS` for each of their triangles.
    """
    return sum(
        CUT_STEPS * (len(one.mesh.faces) + len(other.mesh.faces))
        for one in backward
        for other in forward
        if boxes_meet(one, other)
    )


def _lies_inside(inner: Shell, outer: Shell) -> bool:
    """Probe a few corners by winding number; where they say inside, make sure no part sticks out."""
    corners_mm = inner.mesh.vertices_mm
    probes_mm = corners_mm[:: max(1, len(corners_mm) // _PROBES)][:_PROBES]
    # most shells in another's box lie beside it: one probe tells
    if not (_is_held(probes_mm[:1], outer) and _is_held(probes_mm[1:], outer)):
        return False
    try:
        shared_mm3 = overlap_mm3(inner, outer)
    except MeshError:
        return True
    return shared_mm3 > (1 - _SAME_FRAC) * abs(inner.volume_mm3)


def _is_held(probes_mm: NDArray[np.float64], outer: Shell) -> bool:
    from pourwright.shape.pattern.kernels.joining import _kernels

    turns = np.empty(len(probes_mm))
    _kernels.winding(np.ascontiguousarray(probes_mm), outer.mesh.vertices_mm[outer.mesh.faces], turns)
    return bool((np.abs(turns) > 0.5).all())


def overlap_mm3(one: Shell, other: Shell) -> float:
    """Return the volume that two shells share, each taken as solid [mm3]; raises MeshError for an unsound shell."""
    from pourwright.shape.pattern.union import shared_mm3

    return shared_mm3(outward(one).mesh, outward(other).mesh)


def boxes_meet(one: Shell, other: Shell) -> bool:
    """Return whether the boxes round two shells overlap."""
    return bool(np.all((one.low_mm <= other.high_mm) & (other.low_mm <= one.high_mm)))
