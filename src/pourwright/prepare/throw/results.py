"""What the throw part of the plan says: mark on the arm, winding, head."""

from __future__ import annotations

from dataclasses import dataclass

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class Balance:
    """Where the weight goes, from the shaft. ``mark_mm`` is for the filled flask; the others are shown beside.

    The forces are at the stated speed found among their inputs (``stated_rpm``). ``start_force_N`` is what the shaft
    would feel with the weight at ``mark_mm`` and the metal still in the crucible; ``residual_force_N`` what it would
    feel in either state with the weight at the halfway mark.

    ``second_kg`` is a second weight at the end of the reach where one weight is too light; ``left_force_N`` what the
    uncertainty of masses and lengths may leave at the peak, ``grade_m_s`` the same as eccentricity times speed;
    ``swing_force_N`` the most that the swing of the unfolding arm pulls with. ``steady``: the mark was worked out over
    the whole throw, which takes a machine whose spring and hinge were measured.
    """

    mark_mm: Figure
    start_mark_mm: Figure
    halfway_mark_mm: Figure
    moment_start_kgm: Figure
    start_force_N: Figure
    residual_force_N: Figure
    findings: tuple[Finding, ...]
    second_kg: Figure | None = None
    left_force_N: Figure | None = None
    grade_m_s: Figure | None = None
    swing_force_N: Figure | None = None
    steady: bool = False


@dataclass(frozen=True)
class Winding:
    """What a number of turns gives with this spring at its peak, about a second after release.

    ``head_kPa`` is from the crucible to the middle of the flask.
    """

    turns_turns: float
    energy_J: Figure
    speed_rpm: Figure
    flask_gee: Figure
    head_kPa: Figure


@dataclass(frozen=True)
class ForceLine:
    """Force on the metal at the middle of the flask over time, in multiples of gravity, for a chart.

    ``along_gee`` is outward along the outer part of the arm, for the arm as stated and between the least and the most
    of its range; ``across_gee`` is across it, negative to the trailing side. ``runs_s``: when the metal leaves the
    crucible, None if it never does.
    """

    time_s: tuple[float, ...]
    along_gee: tuple[float, ...]
    along_low_gee: tuple[float, ...]
    along_high_gee: tuple[float, ...]
    across_gee: tuple[float, ...]
    runs_s: float | None


@dataclass(frozen=True)
class ThrowCourse:
    """One throw over time, with the arm folded at the start. A figure is None where it does not happen.

    ``opens_s``, ``opens_deg``: when the hinge leaves its stop and how far the arm has turned by then; ``straight_s``:
    first straight; ``runs_s``, ``run_pull_gee``: when the metal leaves the crucible and the force at the flask then;
    ``peak_s``, ``speed_rpm``, ``pull_gee``: fastest; ``holds_s``: until when the arm still pulls with three times
    gravity. ``not_measured`` names what the studio did not measure of the arm.
    """

    turns_turns: float
    opens_s: Figure | None
    opens_deg: Figure | None
    straight_s: Figure | None
    runs_s: Figure | None
    run_pull_gee: Figure | None
    peak_s: Figure | None
    speed_rpm: Figure | None
    pull_gee: Figure | None
    holds_s: Figure | None
    line: ForceLine
    not_measured: tuple[str, ...]


@dataclass(frozen=True)
class ThrowSetup:
    """Arm set-up for one flask. ``windings`` is the table from ``wind_low_turns`` to ``wind_limit_turns``.

    ``course`` is the throw over time at ``wind_turns``; None where the machine's numbers contradict each other.
    """

    balance: Balance
    windings: tuple[Winding, ...]
    wind_low_turns: Figure
    wind_turns: Figure
    wind_limit_turns: Figure
    calibrated: bool
    findings: tuple[Finding, ...]
    course: ThrowCourse | None = None
