"""The machine as two bodies on one hinge: what the studio measured of it, and ranges for what it did not.

Every range that stands in for a measurement is our judgement, has no source, and is named in the result.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import radians

from pourwright.core.figure import Figure, from_interval, given, reckon
from pourwright.matter.laws import surrounding
from pourwright.physics.spin.history import HingedArm
from pourwright.physics.spin.spring import torque_Nm
from pourwright.prepare.throw.balancing import ArmLoad
from pourwright.studio.profile import Machine

_MM_M, _G_KG = 1000, 1000
_NONE = ("none",)

# The least share of the loaded arm's inertia that hub, inner arm and weight can have: less, and the numbers disagree.
_LEAST_INNER_FRAC = 0.02


def _judged(how: str, unit: str, best_ratio: float, low_ratio: float, high_ratio: float) -> Figure:
    return given(best_ratio, unit, "throw", low_ratio, high_ratio, _NONE, how)


# Shares of known lengths where hinge and bare outer part may be, and the rest of what was not measured.
_HINGE_SHARE = _judged("prepare.throw.judged-hinge", "ratio", 0.65, 0.45, 0.85)
_OUTER_SHARE = _judged("prepare.throw.judged-outer-radius", "ratio", 0.5, 0.35, 0.65)
_JUDGED = {
    "outer_kg": _judged("prepare.throw.judged-outer-mass", "kg", 0.4, 0.2, 0.8),
    "folded_deg": _judged("prepare.throw.judged-folded", "deg", 90, 80, 100),
    "friction_dry_Nm": _judged("prepare.throw.judged-friction-dry", "Nm", 0.06, 0.02, 0.15),
    "friction_speed_Nms": given(0.0, "Nms", "throw", how="prepare.throw.no-friction-speed"),
    "friction_air_Nms2": _judged("prepare.throw.judged-friction-air", "Nms2", 6e-5, 2e-5, 2e-4),
    "rebound_frac": _judged("prepare.throw.judged-rebound", "frac", 0.05, 0.0, 0.2),
    "mouth_mm": _judged("prepare.throw.judged-mouth", "mm", 8, 5, 12),
}
# Without these the two bodies are a guess, and a throw over time is one.
_BODIES = ("hinge_radius_mm", "outer_kg", "outer_radius_mm")
# And these are said when they are missing; the rest hardly moves a result.
_TOLD = ("folded_deg", "friction_dry_Nm", "friction_air_Nms2", "rebound_frac", "lip_deg", "mouth_mm")


@dataclass(frozen=True)
class HingeFigures:
    """The hinged arm in figures; ``not_measured`` names those that are ranges of ours."""

    hinge_radius_mm: Figure
    outer_kg: Figure
    outer_radius_mm: Figure
    outer_own_kg_m2: Figure
    folded_deg: Figure
    friction_dry_Nm: Figure
    friction_speed_Nms: Figure
    friction_air_Nms2: Figure
    rebound_frac: Figure
    lip_deg: Figure
    mouth_mm: Figure
    not_measured: tuple[str, ...]


def hinge_figures(machine: Machine) -> HingeFigures:
    """Return the machine's hinge with a range for everything that the studio did not measure."""
    hinge = machine.hinge_radius_mm or reckon(
        "mm",
        "prepare.throw.hinge-taken",
        _share,
        {"length_mm": machine.crucible_radius_mm, "share_ratio": _HINGE_SHARE},
    )
    outer_kg = machine.outer_kg or _JUDGED["outer_kg"]
    beyond = {"hinge_mm": hinge, "flask_mm": machine.flask_radius_mm}
    outer_mm = machine.outer_radius_mm or reckon(
        "mm", "prepare.throw.outer-radius-taken", _between, {**beyond, "share_ratio": _OUTER_SHARE}
    )
    own = machine.outer_own_kg_m2 or reckon(
        "kg_m2", "prepare.throw.outer-inertia-taken", _bar_kg_m2, {**beyond, "outer_kg": outer_kg}
    )
    rest = {name: getattr(machine, name) or figure for name, figure in _JUDGED.items() if name != "outer_kg"}
    lip = machine.lip_deg or from_interval(surrounding("lip"), "deg", "table: surroundings")
    missing = tuple(name for name in (*_BODIES, *_TOLD) if getattr(machine, name) is None)
    return HingeFigures(hinge, outer_kg, outer_mm, own, **rest, lip_deg=lip, not_measured=missing)


def hinge_measured(machine: Machine) -> bool:
    """Return whether the studio stated both bodies of the arm."""
    return all(getattr(machine, name) is not None for name in _BODIES)


def _share(length_mm: float, share_ratio: float) -> float:
    return length_mm * share_ratio


def _between(hinge_mm: float, flask_mm: float, share_ratio: float) -> float:
    return hinge_mm + share_ratio * (flask_mm - hinge_mm)


def _bar_kg_m2(hinge_mm: float, flask_mm: float, outer_kg: float) -> float:
    """Return the inertia of an even bar from hinge to flask about its middle."""
    return outer_kg * ((flask_mm - hinge_mm) / _MM_M) ** 2 / 12


Pick = Callable[[Figure], float]


def hinged_arm(
    machine: Machine, load: ArmLoad, hinge: HingeFigures, pick: Pick, less: Pick, more: Pick, drive_ratio: float = 1.0
) -> HingedArm | None:
    """Return the loaded arm as two bodies, or None if the stated inertia leaves nothing for the inner one.

    Flask, crucible and metal count as points at their middles, the metal in the flask, where it is most of the throw.
    The friction that the studio reads off the spring holds the shaft's own; what is over is the coils'.

    Parameters
    ----------
    machine, load, hinge
        Machine, what stands on it, and its hinge.
    pick, less, more : callable
        Which end of a figure's range to take: of lengths and masses; of what slows the arm when it is small; and of
        what slows it when it is large (for a slow arm both take the ends that slow it).
    drive_ratio : float
        Torque of the spring as a multiple of what was stated; for a spring that nobody measured.
    """
    parts = [
        (pick(hinge.outer_kg), pick(hinge.outer_radius_mm)),
        (pick(load.flask_kg), pick(load.flask_mm)),
        (pick(load.crucible_kg), pick(load.crucible_mm)),
        (pick(load.charge_g) / _G_KG, pick(load.metal_mm)),
    ]
    hinge_m = pick(hinge.hinge_radius_mm) / _MM_M
    outer_kg = sum(mass for mass, _ in parts)
    centre_m = sum(mass * place / _MM_M for mass, place in parts) / outer_kg
    own = pick(hinge.outer_own_kg_m2) + sum(mass * (place / _MM_M - centre_m) ** 2 for mass, place in parts)
    whole = more(machine.inertia_kg_m2)
    inner = whole - own - outer_kg * centre_m**2
    if inner < _LEAST_INNER_FRAC * whole or centre_m <= hinge_m:
        return None
    start_Nm = drive_ratio * less(machine.torque_start_Nm)
    rate_Nm_turn = drive_ratio * less(machine.torque_rate_Nm_turn)
    usual_Nm = torque_Nm(start_Nm, rate_Nm_turn, machine.turns_usual_turns.value / 2)
    dry_Nm = more(hinge.friction_dry_Nm)
    return HingedArm(
        torque_start_Nm=start_Nm,
        torque_rate_Nm_turn=rate_Nm_turn,
        inner_kg_m2=inner,
        outer_kg=outer_kg,
        outer_own_kg_m2=own,
        hinge_m=hinge_m,
        outer_centre_m=centre_m - hinge_m,
        cocked_rad=radians(pick(hinge.folded_deg)),
        spring_loss_frac=max(0.0, more(machine.friction_frac) - dry_Nm / usual_Nm) if usual_Nm else 0.0,
        dry_Nm=dry_Nm,
        viscous_Nms=more(hinge.friction_speed_Nms),
        air_Nms2=more(hinge.friction_air_Nms2),
        restitution_frac=pick(hinge.rebound_frac),
    )
