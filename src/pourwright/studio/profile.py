"""The studio profile: equipment, stock and habits, as read from ``studio.toml``.

Every number is a :class:`~pourwright.core.figure.Figure` whose origin names the file and key, so that any planned
number can be traced to the line the user wrote.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

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
    """A burnout kiln. ``offset_C``: true temperature minus reading. ``controller``: programme or dial.

    ``power_kW`` is what its elements take when on, ``duty_frac`` the share of the time that they are on.
    """

    id: str
    flasks_count: int
    ramp_limit_C_h: Figure
    cooling_C_h: Figure
    offset_C: Figure
    controller: str = "programme"
    power_kW: Figure | None = None
    duty_frac: Figure | None = None


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

    What is None was not measured: the throw takes a wide range for it and says so. ``outer_kg`` is the bare part beyond
    the hinge, without cradle, flask and crucible; ``outer_radius_mm`` is where its middle is, from the shaft with the
    arm straight, ``outer_own_kg_m2`` its inertia about that. ``folded_deg``: how far it is folded back at release.
    ``lip_deg``: slope that holds the melt in the crucible; ``mouth_mm``: width of the crucible's mouth.

    ``stated_start_Nm`` and ``stated_rate_Nm_turn`` are what the profile said of a spring that was measured since.
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
    hinge_radius_mm: Figure | None = None
    outer_kg: Figure | None = None
    outer_radius_mm: Figure | None = None
    outer_own_kg_m2: Figure | None = None
    folded_deg: Figure | None = None
    friction_dry_Nm: Figure | None = None
    friction_speed_Nms: Figure | None = None
    friction_air_Nms2: Figure | None = None
    rebound_frac: Figure | None = None
    lip_deg: Figure | None = None
    mouth_mm: Figure | None = None
    stated_start_Nm: Figure | None = None
    stated_rate_Nm_turn: Figure | None = None


@dataclass(frozen=True)
class Crucible:
    """A crucible; ``fill_frac`` of its volume may be filled with melt. ``metals``: alloy families it may hold.

    ``melts_count`` is how many it has seen, ``melts_most_count`` after how many the studio throws it away; ``shut``
    says why nobody may use it now (from the books), or is empty.
    """

    id: str
    volume_cm3: Figure
    fill_frac: Figure
    metals: tuple[str, ...] = ()
    melts_count: int = 0
    melts_most_count: int | None = None
    shut: str = ""


@dataclass(frozen=True)
class Scale:
    """A balance: smallest step, largest load, and its error on one weighing (half a step unless stated)."""

    id: str
    division_g: Figure
    capacity_g: Figure
    error_g: Figure


@dataclass(frozen=True)
class Powder:
    """Investment powder as the studio's own data sheet gives it.

    ``working_min`` holds at ``working_at_C``; for each degree more it changes by ``working_per_degree_min_K``, which is
    negative. ``bench_set_min`` is the rest before the kiln, ``top_limit_C`` the hottest the mould may truly get,
    ``rapid_allowed`` whether a flask may go through without a drying hold. ``keeps_h`` counts from opening the tin,
    or from buying it while nobody wrote down when it was opened.
    """

    id: str
    mould: str
    water_ratio: Figure
    water_low_ratio: Figure
    water_high_ratio: Figure
    working_min: Figure
    stock_g: Figure
    slurry_g_cm3: Figure | None = None
    working_at_C: Figure | None = None
    working_per_degree_min_K: Figure | None = None
    bench_set_min: Figure | None = None
    top_limit_C: Figure | None = None
    rapid_allowed: bool = False
    bought_on: date | None = None
    opened_on: date | None = None
    keeps_h: Figure | None = None


@dataclass(frozen=True)
class StockLot:
    """Metal in the drawer. ``material`` is a table id or ``scrap``; fineness is of the noble metal, as a range.

    A lot with an owner is used for that owner's pieces only, until ``released_by`` names who signed. From the books
    come what is known of its composition (``contents_frac``) and why nobody may use it now (``shut``).
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
    contents_frac: Mapping[str, float] | None = None
    shut: str = ""


@dataclass(frozen=True)
class Cylinder:
    """A cylinder of liquefied gas, known by its weight: as it stands, empty, and what one melt takes."""

    id: str
    gas: str
    gross_g: Figure
    tare_g: Figure
    per_melt_g: Figure


@dataclass(frozen=True)
class Consumable:
    """Something used up at each melt, such as flux: what is there, and what one melt takes."""

    id: str
    title: str
    stock_g: Figure
    per_melt_g: Figure


@dataclass(frozen=True)
class EquipmentCheck:
    """A check that the studio does every so often.

    ``what``: scale, thermocouple, pin-and-spring, hoses, eyewash or extinguisher; ``of``: which one; ``last`` is None
    when it was never done; ``against``: the test mass or what else it is held against.
    """

    what: str
    every_h: Figure
    of: str = ""
    last: date | None = None
    by: str = ""
    against: str = ""


@dataclass(frozen=True)
class MaterialStep:
    """A step of a material's own burnout: climb no faster than ``ramp_C_h`` to ``temperature_C``, hold ``hold_min``."""

    temperature_C: Figure
    hold_min: Figure
    ramp_C_h: Figure | None = None


@dataclass(frozen=True)
class StudioMaterial:
    """A pattern material of the studio: density as measured or from the data sheet, and who approved it.

    ``programme`` names a burnout of the tables; ``steps`` are the material's own and take its place, written for
    flasks of ``steps_diameter_mm``. ``ash``: it leaves ash that must be tapped out. ``wash`` and ``cure``: what is done
    to a fresh print, step by step.
    """

    id: str
    family: str
    density_g_cm3: Figure
    approved_by: str = ""
    programme: str = ""
    steps: tuple[MaterialStep, ...] = ()
    steps_diameter_mm: Figure | None = None
    ash: bool = False
    wash: tuple[str, ...] = ()
    cure: tuple[str, ...] = ()


@dataclass(frozen=True)
class Habits:
    """How this studio works: losses, rules it keeps, times it takes.

    ``dewax``: kiln (the wax leaves there), steam or oven, which takes ``dewax_min``. ``overdue_stops``: the equipment
    checks without which nothing is cast. ``release_delay_s``: from torch off to release; ``flask_out_s``: from the kiln
    to the pour; ``vacuum_kPa``: what a pump under a flask pulls below the room's air.
    """

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
    dewax: str = "kiln"
    dewax_min: Figure | None = None
    overdue_stops: tuple[str, ...] = ("pin-and-spring", "hoses")
    intake_limit_g: Figure | None = None
    release_delay_s: Figure | None = None
    flask_out_s: Figure | None = None
    vacuum_kPa: Figure | None = None


@dataclass(frozen=True)
class MeasuredPair:
    """A length as it was drawn in a pattern file and as the finished piece was measured."""

    drawn_mm: Figure
    measured_mm: Figure


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
    country: str = ""
    cylinders: tuple[Cylinder, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    checks: tuple[EquipmentCheck, ...] = ()
    shrink_pairs: tuple[MeasuredPair, ...] = ()


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
