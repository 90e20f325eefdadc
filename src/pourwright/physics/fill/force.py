"""What pulls at the metal, moment by moment, at any place of the flask."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.physics.fill.problem import Drive, Floats


@dataclass(frozen=True, eq=False)
class Force:
    """The pull at m moments, all arrays of shape (m,).

    Parameters
    ----------
    along_m_s2, across_m_s2, upward_m_s2 : array
        Force per mass at the hinge, gravity with it [m/s**2].
    turning_rad_s, turning_rad_s2 : array
        Speed of the part that holds the flask [rad/s], and how fast that grows [rad/s**2].
    push_Pa : array
        Pressure on the metal's surface over that in the mould [Pa].
    """

    along_m_s2: Floats
    across_m_s2: Floats
    upward_m_s2: Floats
    turning_rad_s: Floats
    turning_rad_s2: Floats
    push_Pa: Floats

    def __len__(self) -> int:
        return len(self.push_Pa)

    def chosen(self, rows: NDArray[np.int64]) -> Force:
        """Return the pull at some of the moments, by their numbers."""
        return Force(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))

    def packed(self) -> Floats:
        """Return the pull as the compiled passes take it, shape (m, 6)."""
        return np.column_stack([self.along_m_s2, self.across_m_s2, self.turning_rad_s**2, self.turning_rad_s2,
                                self.upward_m_s2, self.push_Pa])  # fmt: skip


def force_over(drive: Drive, time_s: Floats) -> Force:
    """Return the pull of a drive at moments [s], shape (m,)."""
    along, across, up = drive.gravity_m_s2

    def now(values: Floats) -> Floats:
        return np.interp(time_s, drive.time_s, values)

    return Force(now(drive.along_m_s2) + along, now(drive.across_m_s2) + across, np.full(len(time_s), up),
                 now(drive.turning_rad_s), now(drive.turning_rad_s2), now(drive.push_Pa))  # fmt: skip


def depth_J_kg(force: Force, place_m: Floats) -> Floats:
    """Return the work of the pull on a kilogram of metal on its way from the hinge to a place [J/kg].

    Parameters
    ----------
    force : Force
        At m moments.
    place_m : array, shape (3,) or (m, 3)
        Along, across, up: one place, or one for each moment [m].

    Notes
    -----
    While the turning speeds up the pull is no gradient; the way is taken along the middle of the arm and then across,
    as the metal goes.
    """
    along, across, up = np.moveaxis(place_m, -1, 0)
    return np.asarray(
        force.along_m_s2 * along + force.across_m_s2 * across + force.upward_m_s2 * up
        + force.turning_rad_s**2 * (along**2 + across**2) / 2 - force.turning_rad_s2 * along * across
    )  # fmt: skip


def pull_m_s2(force: Force, place_m: Floats) -> Floats:
    """Return the pull at a place (3,) [m]: along, across, up [m/s**2], shape (m, 3)."""
    along, across, _ = place_m
    squared, growth = force.turning_rad_s**2, force.turning_rad_s2
    return np.column_stack([force.along_m_s2 + squared * along + growth * across,
                            force.across_m_s2 + squared * across - growth * along, force.upward_m_s2])  # fmt: skip
