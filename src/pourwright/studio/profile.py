"""The studio profile: equipment, stock and habits, as read from ``studio.toml``.

Every number is a :class:`~pourwright.core.figure.Figure` whose origin names the file and key, so that any planned
number can be traced to the line the user wrote.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pourwright.core.figure import Figure
from pourwright.core.interval import Interval

PROFILE_FORMAT = 1


@dataclass(frozen=True)
class PrintUnits:
    """Units the studio wants on paper: ``mass`` g, dwt or ozt; ``length`` mm or in; ``temperature`` C or F."""

    mass: str = "g"
    length: str = "mm"
    temperature: str = "C"


@dataclass(frozen=True)
class Kiln:
    """A burnout kiln. ``offset_C``: true temperature minus reading. ``controller``: programme or dial."""

    id: str
    flasks_count: int
    ramp_limit_C_h: Figure
    cooling_C_h: Figure
    offset_C: Figure
    controller: str = "programme"


@dataclass(frozen=True)
class Flask:
    """A steel flask, by inside diameter and height; ``steel_g`` is its empty mass."""

    id: str
    diameter_mm: Figure
    height_mm: Figure
    wall_mm: Figure
    steel_g: Figure


@dataclass(frozen=True)
class SprueBase:
    """A rubber base with its funnel; the button freezes inside the funnel. ``fits``: ids of flasks."""

    id: str
    fits: tuple[str, ...]
    funnel_cm3: Figure
    button_diameter_mm: Figure
    button_height_mm: Figure


@dataclass(frozen=True)
class Machine:
    """A spring-wound broken-arm machine.

    The bare arm's own moment about the shaft counts positive on the flask side. ``calibrated`` is true only when
    ``calibration.toml`` holds accepted spring values; otherwise results carry "not calibrated".
    """

    id: str
    turns_usual_turns: Figure
    turns_limit_turns: Figure
    torque_start_Nm: Figure
    torque_rate_Nm_turn: Figure
    friction_frac: Figure
    inertia_kg_m2: Figure
    bare_arm_moment_kgm: Figure
    cradle_kg: Figure
    flask_radius_mm: Figure
    metal_in_flask_radius_mm: Figure
    crucible_radius_mm: Figure
    crucible_kg: Figure
    weight_kg: Figure
    weight_low_mm: Figure
    weight_high_mm: Figure
    calibrated: bool = False


@dataclass(frozen=True)
class Crucible:
    """A crucible; ``fill_frac`` of its volume may be filled with melt. ``metals``: alloy families it may hold."""

    id: str
    volume_cm3: Figure
    fill_frac: Figure
    metals: tuple[str, ...] = ()


@dataclass(frozen=True)
class Scale:
    """A balance: smallest step, largest load, and its error on one weighing (half a step unless stated)."""

    id: str
    division_g: Figure
    capacity_g: Figure
    error_g: Figure


@dataclass(frozen=True)
class Powder:
    """Investment powder as the studio's own data sheet gives it."""

    id: str
    mould: str
    water_ratio: Figure
    water_low_ratio: Figure
    water_high_ratio: Figure
    working_min: Figure
    stock_g: Figure
    slurry_g_cm3: Figure | None = None


@dataclass(frozen=True)
class StockLot:
    """Metal in the drawer. ``material`` is a table id or ``scrap``; fineness is of the noble metal, as a range.

    A lot with an owner is used for that owner's pieces only, until ``released_by`` names who signed.
    """

    id: str
    material: str
    mass_g: Figure
    fineness_permille: Figure
    element: str
    certain: bool = True
    solder: bool = False
    owner: str = ""
    released_by: str = ""


@dataclass(frozen=True)
class StudioMaterial:
    """A pattern material of the studio: density as measured or from the data sheet, and who approved it."""

    id: str
    family: str
    density_g_cm3: Figure
    approved_by: str = ""
    programme: str = ""


@dataclass(frozen=True)
class Habits:
    """How this studio works: losses, rules it keeps, times it takes."""

    loss_frac: Figure
    spill_frac: Figure
    pour_temperature_C: Figure | None
    scrap_most_frac: Figure
    wall_clearance_mm: Figure
    end_clearance_per_diameter_ratio: Figure
    piece_clearance_mm: Figure
    mix_min: Figure
    bowl_vacuum_min: Figure
    fill_each_min: Figure
    flask_vacuum_min: Figure
    flasks_per_vacuum_count: int
    minutes_per_pour_min: Figure
    soak_at_casting_min: Figure
    alone_allowed_by: str = ""


@dataclass(frozen=True)
class Studio:
    """Everything the profile says. ``sha256`` is of ``studio.toml`` and ``calibration.toml`` together."""

    name: str
    zone: str
    units: PrintUnits
    kilns: tuple[Kiln, ...]
    flasks: tuple[Flask, ...]
    bases: tuple[SprueBase, ...]
    machines: tuple[Machine, ...]
    crucibles: tuple[Crucible, ...]
    scales: tuple[Scale, ...]
    powders: tuple[Powder, ...]
    lots: tuple[StockLot, ...]
    materials: tuple[StudioMaterial, ...]
    habits: Habits
    calibration: Mapping[str, Calibrated] = field(default_factory=dict)
    sha256: str = ""
    decimal_comma: bool = False


@dataclass(frozen=True)
class Calibrated:
    """A quantity that the studio measured and a person accepted; key is ``quantity`` or ``quantity:subject``."""

    quantity: str
    subject: str
    interval: Interval
    unit: str
    method: str
    evidence: str
    accepted_by: str
    accepted_on: str
