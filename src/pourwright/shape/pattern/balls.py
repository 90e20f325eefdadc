"""Balls that touch a surface at given points and hold nothing of the rest of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pourwright.shape.pattern.leaves import Leaves, leaves_of

# Of evenly spread points one in so many is kept for larger and larger balls.
_STRIDES = (1, 4, 16)
# A flat obstacle whose points lie h apart may stand h^2 / (2 r) inside a ball of radius r unseen: under 0.2 % of r.
_COARSE_RATIO = 16.0


class Obstacles(NamedTuple):
    """Surface points that balls must not hold, at several densities.

    ``levels[k]`` will do for balls from radius ``coarse_mm[k]`` up.
    """

    levels: tuple[Leaves, ...]
    coarse_mm: NDArray[np.float64]


def obstacles_of(points_mm: NDArray[np.float64], spacing_mm: float) -> Obstacles:
    """Group points that are spread evenly so far apart [mm], in an order of which each n-th is spread evenly too."""
    from scipy.spatial import cKDTree

    parts = [points_mm[::stride] for stride in _STRIDES]
    coarse_mm = [0.0] + [_COARSE_RATIO * spacing_mm * np.sqrt(stride) for stride in _STRIDES[1:]]
    return Obstacles(tuple(leaves_of(cKDTree(part), part) for part in parts), np.array(coarse_mm))


def shrunk_mm(
    points_mm: NDArray[np.float64], inward_ratio: NDArray[np.float64], obstacles: Obstacles,
    radii_mm: NDArray[np.float64], slack_frac: float,
) -> NDArray[np.float64]:  # fmt: skip
    """Return the radii [mm] to which balls shrink that touch each point, until no obstacle lies deeper than the slack.

    Parameters
    ----------
    points_mm, inward_ratio : array, shape (n, 3)
        Where the balls touch [mm], and the directions, length one, in which their middles lie.
    obstacles : Obstacles
        Of the whole surface.
    radii_mm : array, shape (n,)
        To start from [mm].
    slack_frac : float
        Share of its radius that an obstacle may lie deep in a ball.
    """
    from pourwright.shape.pattern.kernels.walls import _kernels

    radii_mm = radii_mm.copy()
    points_mm, inward_ratio = np.ascontiguousarray(points_mm), np.ascontiguousarray(inward_ratio)
    _kernels.shrink_balls(points_mm, inward_ratio, obstacles.levels, obstacles.coarse_mm, slack_frac, radii_mm)
    return radii_mm
