"""Every key of ``studio.toml``, ``calibration.toml`` and ``day.toml``.

The limits marked with ``most`` and ``least`` are ours and wide: beyond them a unit or a decimal point has slipped.
"""

from __future__ import annotations

from pourwright.studio.day import Day, PatternPart, Person, PieceOrder
from pourwright.studio.fields import Field, Kind, Section, Take, choice, count, flag, number, text, texts
from pourwright.studio.measurement_keys import MEASUREMENTS
from pourwright.studio.profile import (
    Consumable,
    Crucible,
    Cylinder,
    EquipmentCheck,
    Flask,
    Habits,
    Kiln,
    Machine,
    MaterialStep,
    MeasuredPair,
    Powder,
    PrintUnits,
    Scale,
    SprueBase,
    StockLot,
    Studio,
    StudioMaterial,
)

FAMILIES = ("silver", "gold", "bronze", "brass", "copper")
PATTERN_FAMILIES = ("wax", "resin", "wax-resin", "thermoplastic", "organic")
ELEMENTS = ("Ag", "Au")
FILE_UNITS = ("mm", "cm", "inch", "m")
ROLES = ("caller", "pourer", "helper", "teacher")
CHECKED = ("scale", "thermocouple", "pin-and-spring", "hoses", "eyewash", "extinguisher")
DEWAXING = ("kiln", "steam", "oven")

PRINT = Section(
    "print",
    PrintUnits,
    "studio.about.print",
    (
        choice("mass", "studio.about.print-mass", ("g", "dwt", "ozt"), "g"),
        choice("length", "studio.about.print-length", ("mm", "in"), "mm"),
        choice("temperature", "studio.about.print-temperature", ("C", "F"), "C"),
    ),
    many=False,
    needed=False,
)

_KILN = Section(
    "kiln",
    Kiln,
    "studio.about.kiln",
    (
        text("id", "studio.about.id", example='"KILN-1"'),
        count("flasks", "flasks_count", "studio.about.kiln-flasks"),
        number("ramp_limit", "ramp_limit_C_h", "studio.about.kiln-ramp", above="0 C/h", most="2000 C/h",
               rule="burn.ramp", take=Take.HIGH),
        number("cooling", "cooling_C_h", "studio.about.kiln-cooling", above="0 C/h", most="2000 C/h",
               example='"110 C/h"'),
        number("offset", "offset_C", "studio.about.kiln-offset", least="-100 C", most="100 C", step=True,
               example='{ best = "-6 C", low = "-10 C", high = "-2 C" }'),
        choice("controller", "studio.about.kiln-controller", ("programme", "dial"), "programme"),
        number("power", "power_kW", "studio.about.kiln-power", above="0 kW", most="100 kW", needed=False),
        number("duty", "duty_frac", "studio.about.kiln-duty", above="0 %", most="100 %", needed=False,
               example='"45 %"'),
    ),
)  # fmt: skip

_FLASK = Section(
    "flask",
    Flask,
    "studio.about.flask",
    (
        text("id", "studio.about.id", example='"FL-01"'),
        number("diameter", "diameter_mm", "studio.about.flask-diameter", above="0 mm", most="300 mm"),
        number("height", "height_mm", "studio.about.flask-height", above="0 mm", most="500 mm", example='"101.6 mm"'),
        number("wall", "wall_mm", "studio.about.flask-wall", above="0 mm", most="20 mm", example='"1.6 mm"'),
        number("steel", "steel_g", "studio.about.flask-steel", above="0 g", most="20 kg", example='"265 g"'),
    ),
)

_BASE = Section(
    "base",
    SprueBase,
    "studio.about.base",
    (
        text("id", "studio.about.id", example='"BASE-63"'),
        texts("fits", "studio.about.base-fits", example='["FL-01", "FL-02"]'),
        number("funnel", "funnel_cm3", "studio.about.base-funnel", above="0 cm3", most="500 cm3", example='"6 cm3"'),
        number("button_diameter", "button_diameter_mm", "studio.about.base-button-diameter", above="0 mm",
               most="150 mm", example='"20 mm"'),
        number("button_height", "button_height_mm", "studio.about.base-button-height", above="0 mm", most="150 mm",
               example='"9 mm"'),
    ),
)  # fmt: skip

_MACHINE = Section(
    "machine",
    Machine,
    "studio.about.machine",
    (
        text("id", "studio.about.id", example='"ARM-1"'),
        number("turns_usual", "turns_usual_turns", "studio.about.machine-turns-usual", above="0 turns",
               most="20 turns"),
        number("turns_limit", "turns_limit_turns", "studio.about.machine-turns-limit", above="0 turns",
               most="20 turns", example='"4 turns"'),
        number("torque_start", "torque_start_Nm", "studio.about.machine-torque-start", least="0 N.m",
               most="100 N.m", example='"1.0 N.m"'),
        number("torque_rate", "torque_rate_Nm_turn", "studio.about.machine-torque-rate", above="0 N.m/turn",
               most="100 N.m/turn"),
        number("friction", "friction_frac", "studio.about.machine-friction", least="0 %", most="90 %",
               example='{ best = "12 %", low = "8 %", high = "16 %" }'),
        number("inertia", "inertia_kg_m2", "studio.about.machine-inertia", above="0 kg.m2", most="50 kg.m2"),
        number("bare_arm_moment", "bare_arm_moment_kgm", "studio.about.machine-bare-arm", least="-20 kg.m",
               most="20 kg.m", example='"-0.03 kg.m"'),
        number("cradle", "cradle_kg", "studio.about.machine-cradle", least="0 g", most="20 kg", example='"300 g"'),
        number("flask_radius", "flask_radius_mm", "studio.about.machine-flask-radius", above="0 mm", most="1 m",
               example='"220 mm"'),
        number("metal_radius", "metal_in_flask_radius_mm", "studio.about.machine-metal-radius", above="0 mm",
               most="1 m", example='"205 mm"'),
        number("crucible_radius", "crucible_radius_mm", "studio.about.machine-crucible-radius", above="0 mm",
               most="1 m", example='"150 mm"'),
        number("crucible", "crucible_kg", "studio.about.machine-crucible", above="0 g", most="20 kg",
               example='"350 g"'),
        number("weight", "weight_kg", "studio.about.machine-weight", above="0 g", most="50 kg", example='"2.2 kg"'),
        number("weight_low", "weight_low_mm", "studio.about.machine-weight-low", least="0 mm", most="1 m",
               example='"90 mm"'),
        number("weight_high", "weight_high_mm", "studio.about.machine-weight-high", above="0 mm", most="1 m",
               example='"260 mm"'),
        number("hinge_radius", "hinge_radius_mm", "studio.about.machine-hinge", above="0 mm", most="1 m",
               needed=False, example='"100 mm"'),
        number("outer_mass", "outer_kg", "studio.about.machine-outer", above="0 g", most="20 kg", needed=False,
               example='"400 g"'),
        number("outer_radius", "outer_radius_mm", "studio.about.machine-outer-radius", above="0 mm", most="1 m",
               needed=False, example='"175 mm"'),
        number("outer_inertia", "outer_own_kg_m2", "studio.about.machine-outer-inertia", above="0 kg.m2",
               most="5 kg.m2", needed=False, example='"0.0008 kg.m2"'),
        number("folded", "folded_deg", "studio.about.machine-folded", least="10 deg", most="150 deg", needed=False,
               example='"90 deg"'),
        number("friction_dry", "friction_dry_Nm", "studio.about.machine-friction-dry", least="0 N.m", most="5 N.m",
               needed=False, example='"0.06 N.m"'),
        number("friction_speed", "friction_speed_Nms", "studio.about.machine-friction-speed", least="0 N.m.s",
               most="1 N.m.s", needed=False, example='"0.001 N.m.s"'),
        number("friction_air", "friction_air_Nms2", "studio.about.machine-friction-air", least="0 N.m.s2",
               most="0.1 N.m.s2", needed=False, example='"0.00006 N.m.s2"'),
        number("rebound", "rebound_frac", "studio.about.machine-rebound", least="0 %", most="50 %", needed=False,
               example='{ best = "5 %", low = "0 %", high = "20 %" }'),
        number("lip", "lip_deg", "studio.about.machine-lip", least="0 deg", most="80 deg", needed=False,
               example='"25 deg"'),
        number("mouth", "mouth_mm", "studio.about.machine-mouth", above="0 mm", most="60 mm", needed=False,
               example='"8 mm"'),
    ),
)  # fmt: skip

_CRUCIBLE = Section(
    "crucible",
    Crucible,
    "studio.about.crucible",
    (
        text("id", "studio.about.id", example='"CR-1"'),
        number("volume", "volume_cm3", "studio.about.crucible-volume", above="0 ml", most="5000 ml",
               example='"30 ml"'),
        number("fill", "fill_frac", "studio.about.crucible-fill", above="0 %", most="100 %",
               rule="melt.crucible.fill"),
        texts("metals", "studio.about.crucible-metals", needed=False, example='["silver"]', choices=FAMILIES),
        count("melts", "melts_count", "studio.about.crucible-melts", default=0, least=0),
        Field("melts_most", "melts_most_count", Kind.COUNT, "studio.about.crucible-melts-most", needed=False,
              least="1", example="50"),
    ),
)  # fmt: skip

_SCALE = Section(
    "scale",
    Scale,
    "studio.about.scale",
    (
        text("id", "studio.about.id", example='"SCALE-1"'),
        number("division", "division_g", "studio.about.scale-division", above="0 g", most="100 g",
               example='"0.01 g"'),
        number("capacity", "capacity_g", "studio.about.scale-capacity", above="0 g", most="200 kg",
               example='"500 g"'),
        number("error", "error_g", "studio.about.scale-error", least="0 g", most="1 kg", needed=False,
               example='"0.02 g"'),
    ),
)  # fmt: skip

_POWDER = Section(
    "powder",
    Powder,
    "studio.about.powder",
    (
        text("id", "studio.about.id", example='"POWDER-A"'),
        text("mould", "studio.about.powder-mould", example='"gypsum-bonded"'),
        number("water", "water_ratio", "studio.about.powder-water", above="0 %", most="100 %", example='"40/100"'),
        number("water_least", "water_low_ratio", "studio.about.powder-water-least", above="0 %", most="100 %",
               example='"38/100"'),
        number("water_most", "water_high_ratio", "studio.about.powder-water-most", above="0 %", most="100 %",
               example='"42/100"'),
        number("working_time", "working_min", "studio.about.powder-working", above="0 min", most="2 h"),
        number("stock", "stock_g", "studio.about.powder-stock", least="0 g", most="1000 kg", example='"8 kg"'),
        number("slurry", "slurry_g_cm3", "studio.about.powder-slurry", above="0 g/cm3", most="4 g/cm3",
               needed=False, example='"1.77 g/cm3"'),
        number("working_time_at", "working_at_C", "studio.about.powder-working-at", least="0 C", most="50 C",
               rule="inv.temp", take=Take.MIDDLE, example='"21 C"'),
        number("working_time_per_degree", "working_per_degree_min_K", "studio.about.powder-per-degree",
               least="-5 min/C", most="0 min/C", needed=False),
        number("bench_set", "bench_set_min", "studio.about.powder-bench", above="0 min", most="7 d", needed=False,
               example='"2 h"'),
        number("top_most", "top_limit_C", "studio.about.powder-top", least="300 C", most="1200 C", needed=False,
               example='"732 C"'),
        flag("rapid_burnout", "studio.about.powder-rapid", default=False, attr="rapid_allowed"),
        Field("bought", "bought_on", Kind.DATE, "studio.about.powder-bought", needed=False, example="2026-06-01"),
        Field("opened", "opened_on", Kind.DATE, "studio.about.powder-opened", needed=False, example="2026-10-10"),
        number("keeps", "keeps_h", "studio.about.powder-keeps", above="0 d", most="3650 d", needed=False,
               example='"180 d"'),
    ),
)  # fmt: skip

_CYLINDER = Section(
    "cylinder",
    Cylinder,
    "studio.about.cylinder",
    (
        text("id", "studio.about.id", example='"GAS-1"'),
        text("gas", "studio.about.cylinder-gas", example='"propane"'),
        number("gross", "gross_g", "studio.about.cylinder-gross", above="0 g", most="500 kg", example='"13.2 kg"'),
        number("tare", "tare_g", "studio.about.cylinder-tare", above="0 g", most="500 kg", example='"9.8 kg"'),
        number("per_melt", "per_melt_g", "studio.about.cylinder-per-melt", above="0 g", most="50 kg",
               example='"90 g"'),
    ),
    needed=False,
)  # fmt: skip

_CONSUMABLE = Section(
    "consumable",
    Consumable,
    "studio.about.consumable",
    (
        text("id", "studio.about.id", example='"FLUX-1"'),
        text("title", "studio.about.consumable-title", example='"Borax"'),
        number("stock", "stock_g", "studio.about.consumable-stock", least="0 g", most="1000 kg", example='"250 g"'),
        number("per_melt", "per_melt_g", "studio.about.consumable-per-melt", above="0 g", most="50 kg",
               example='"0.5 g"'),
    ),
    needed=False,
)  # fmt: skip

_CHECK = Section(
    "check",
    EquipmentCheck,
    "studio.about.check",
    (
        choice("what", "studio.about.check-what", CHECKED, needed=True),
        number("every", "every_h", "studio.about.check-every", above="0 d", most="3650 d", example='"30 d"'),
        text("of", "studio.about.check-of", needed=False, example='"SCALE-1"'),
        Field("last", "last", Kind.DATE, "studio.about.check-last", needed=False, example="2026-11-20"),
        text("by", "studio.about.check-by", needed=False, example='"Teacher"'),
        text("against", "studio.about.check-against", needed=False, example='"100 g test mass"'),
    ),
    needed=False,
)

_LOT = Section(
    "lot",
    StockLot,
    "studio.about.lot",
    (
        text("id", "studio.about.id", example='"L-0001"'),
        text("material", "studio.about.lot-material", example='"fine-silver-999"'),
        number("mass", "mass_g", "studio.about.lot-mass", least="0 g", most="100 kg", troy=True, example='"120 g"'),
        number("fineness", "fineness_permille", "studio.about.lot-fineness", least="0 permille",
               most="1000 permille", needed=False, example='"920..926 permille"'),
        choice("element", "studio.about.lot-element", ELEMENTS),
        flag("certain", "studio.about.lot-certain", default=True),
        flag("solder", "studio.about.lot-solder", default=False),
        text("owner", "studio.about.lot-owner", needed=False, example='"Student A"'),
        text("released_by", "studio.about.lot-released", needed=False, example='"Student A"'),
    ),
)  # fmt: skip

_STEP = Section(
    "step",
    MaterialStep,
    "studio.about.step",
    (
        number("temperature", "temperature_C", "studio.about.step-temperature", least="40 C", most="1200 C",
               example='"150 C"'),
        number("hold", "hold_min", "studio.about.step-hold", least="0 min", most="48 h", example='"1 h"'),
        number("ramp", "ramp_C_h", "studio.about.step-ramp", above="0 C/h", most="2000 C/h", needed=False,
               example='"60 C/h"'),
    ),
    needed=False,
)  # fmt: skip

_MATERIAL = Section(
    "material",
    StudioMaterial,
    "studio.about.material",
    (
        text("id", "studio.about.id", example='"blue-wax"'),
        choice("family", "studio.about.material-family", PATTERN_FAMILIES, needed=True),
        number("density", "density_g_cm3", "studio.about.material-density", above="0 g/cm3", most="3 g/cm3"),
        text("approved_by", "studio.about.material-approved", needed=False, example='"Teacher"'),
        text("programme", "studio.about.material-programme", needed=False, example='"prog.wax.standard"'),
        Field("step", "steps", Kind.ROWS, _STEP.about, needed=False, rows=_STEP),
        number("steps_diameter", "steps_diameter_mm", "studio.about.material-diameter", above="0 mm", most="300 mm",
               needed=False, example='"64 mm"'),
        flag("ash", "studio.about.material-ash", default=False),
        texts("wash", "studio.about.material-wash", needed=False, example='["first bath", "dry"]'),
        texts("cure", "studio.about.material-cure", needed=False, example='["cure 30 min"]'),
    ),
    needed=False,
)  # fmt: skip

HABITS = Section(
    "habits",
    Habits,
    "studio.about.habits",
    (
        number("loss", "loss_frac", "studio.about.habits-loss", least="0 %", most="20 %", rule="melt.loss",
               take=Take.LOW_TO_HIGH, example='"1 %"'),
        number("spill", "spill_frac", "studio.about.habits-spill", least="0 %", most="100 %", rule="inv.spill",
               take=Take.MIDDLE, example='"10 %"'),
        number("pour_temperature", "pour_temperature_C", "studio.about.habits-pour-temperature", least="200 C",
               most="1800 C", needed=False, example='"970 C"'),
        number("scrap_most", "scrap_most_frac", "studio.about.habits-scrap", least="0 %", most="100 %",
               rule="melt.scrap", take=Take.REST, example='"50 %"'),
        number("wall_clearance", "wall_clearance_mm", "studio.about.habits-wall", least="0 mm", most="100 mm",
               rule="inv.clear.wall", take=Take.LOW, example='"10 mm"'),
        number("end_clearance_per_diameter", "end_clearance_per_diameter_ratio", "studio.about.habits-end",
               least="0 %", most="200 %", rule="inv.clear.end.ratio", example='"25 %"'),
        number("piece_clearance", "piece_clearance_mm", "studio.about.habits-piece", least="0 mm", most="100 mm",
               rule="inv.space.patterns", take=Take.LOW, example='"3 mm"'),
        number("mix", "mix_min", "studio.about.habits-mix", above="0 min", most="1 h", rule="inv.mix.min",
               example='"3 min"'),
        number("bowl_vacuum", "bowl_vacuum_min", "studio.about.habits-bowl-vacuum", least="0 min", most="1 h",
               rule="inv.vac.bowl", take=Take.MIDDLE, example='"1.5 min"'),
        number("fill_each", "fill_each_min", "studio.about.habits-fill", least="0 min", most="1 h",
               rule="inv.fill.each", example='"30 s"'),
        number("flask_vacuum", "flask_vacuum_min", "studio.about.habits-flask-vacuum", least="0 min", most="1 h",
               rule="inv.vac.flask", take=Take.MIDDLE, example='"1.5 min"'),
        count("flasks_per_vacuum", "flasks_per_vacuum_count", "studio.about.habits-per-vacuum", default=1),
        number("minutes_per_pour", "minutes_per_pour_min", "studio.about.habits-pour", above="0 min", most="2 h",
               example='"8 min"'),
        number("soak_at_casting", "soak_at_casting_min", "studio.about.habits-soak", least="0 min", most="24 h",
               rule="burn.equalise", take=Take.LOW, example='"60 min"'),
        text("alone_allowed_by", "studio.about.habits-alone", needed=False, example='"Teacher"'),
        choice("dewax", "studio.about.habits-dewax", DEWAXING, "kiln"),
        number("dewax_time", "dewax_min", "studio.about.habits-dewax-time", above="0 min", most="24 h",
               rule="burn.steam.max", take=Take.HIGH, example='"45 min"'),
        texts("overdue_stops", "studio.about.habits-overdue", needed=False, example='["hoses"]',
              choices=CHECKED, default=("pin-and-spring", "hoses")),
        number("intake_limit", "intake_limit_g", "studio.about.habits-intake", above="0 g", most="10 kg",
               needed=False, troy=True, example='"60 dwt"'),
        number("release_delay", "release_delay_s", "studio.about.habits-release", least="0 s", most="5 min",
               needed=False, example='{ best = "1 s", low = "0.5 s", high = "3 s" }'),
        number("flask_out", "flask_out_s", "studio.about.habits-flask-out", least="0 s", most="30 min",
               needed=False, example='{ best = "30 s", low = "20 s", high = "60 s" }'),
        number("vacuum", "vacuum_kPa", "studio.about.habits-vacuum", above="0 kPa", most="101 kPa",
               needed=False, example='"80 kPa"'),
    ),
    many=False,
)  # fmt: skip

ROWS_OF_STUDIO = {
    "kilns": _KILN,
    "flasks": _FLASK,
    "bases": _BASE,
    "machines": _MACHINE,
    "crucibles": _CRUCIBLE,
    "scales": _SCALE,
    "powders": _POWDER,
    "lots": _LOT,
    "materials": _MATERIAL,
    "cylinders": _CYLINDER,
    "consumables": _CONSUMABLE,
    "checks": _CHECK,
}

STUDIO = Section(
    "",
    Studio,
    "studio.about.studio",
    (
        Field("format", "format", Kind.COUNT, "studio.about.format", least="1", example="1"),
        text("name", "studio.about.studio-name", example='"The Evening Studio"'),
        text("zone", "studio.about.studio-zone", example='"Europe/Vienna"'),
        flag("decimal_comma", "studio.about.decimal-comma", default=False),
        text("country", "studio.about.studio-country", needed=False, example='"united-kingdom"'),
        Field("print", "units", Kind.ROWS, PRINT.about, needed=False, rows=PRINT),
        *(
            Field(one.key, attr, Kind.ROWS, one.about, needed=one.needed, rows=one)
            for attr, one in ROWS_OF_STUDIO.items()
        ),
        Field("habits", "habits", Kind.ROWS, HABITS.about, rows=HABITS),
    ),
    many=False,
)

QUANTITY = Section(
    "quantity",
    dict,
    "studio.about.quantity",
    (
        text("id", "studio.about.quantity-id", needed=False, example='"CAL-003"'),
        text("quantity", "studio.about.quantity-quantity", example='"kiln.offset"'),
        text("subject", "studio.about.quantity-subject", needed=False, example='"KILN-1"'),
        Field("value", "value", Kind.MEASURED, "studio.about.quantity-value", example='"-6 C"'),
        Field("low", "low", Kind.MEASURED, "studio.about.quantity-low", example='"-10 C"'),
        Field("high", "high", Kind.MEASURED, "studio.about.quantity-high", example='"-2 C"'),
        text("unit", "studio.about.quantity-unit", needed=False, example='"C"'),
        text("method", "studio.about.quantity-method", example='"second thermocouple"'),
        text("evidence", "studio.about.quantity-evidence", example='"kiln book, page 12"'),
        text("fitted_by", "studio.about.quantity-fitted-by", needed=False, example='"Student A"'),
        text("accepted_by", "studio.about.quantity-accepted-by", needed=False, example='"Teacher"'),
        Field("accepted_on", "accepted_on", Kind.DATE, "studio.about.quantity-accepted-on", needed=False,
              default="", example="2026-11-20"),
        text("replaces", "studio.about.quantity-replaces", needed=False, example='"CAL-001"'),
    ),
    needed=False,
)  # fmt: skip

PAIR = Section(
    "pair",
    MeasuredPair,
    "studio.about.pair",
    (
        number("drawn", "drawn_mm", "studio.about.pair-drawn", above="0 mm", most="500 mm", example='"18.00 mm"'),
        number("measured", "measured_mm", "studio.about.pair-measured", above="0 mm", most="500 mm",
               example='"17.75 mm"'),
    ),
    needed=False,
)  # fmt: skip

CALIBRATION = Section(
    "",
    dict,
    "studio.about.calibration",
    (
        Field("format", "format", Kind.COUNT, "studio.about.format", least="1", example="1"),
        Field("quantity", "quantities", Kind.ROWS, QUANTITY.about, needed=False, rows=QUANTITY),
        Field("pair", "pairs", Kind.ROWS, PAIR.about, needed=False, rows=PAIR),
    ),
    many=False,
)

PART = Section(
    "part",
    PatternPart,
    "studio.about.part",
    (
        text("material", "studio.about.part-material", example='"casting-wax"'),
        number("mass", "mass_g", "studio.about.part-mass", above="0 g", most="10 kg", example='"6.20 g"'),
    ),
    needed=False,
)

PIECE = Section(
    "piece",
    PieceOrder,
    "studio.about.piece",
    (
        text("id", "studio.about.piece-id", example='"P01"'),
        text("title", "studio.about.piece-title", example='"Signet ring"'),
        text("owner", "studio.about.piece-owner", example='"Student A"'),
        text("material", "studio.about.piece-material", example='"castable-resin"'),
        text("file", "studio.about.piece-file", needed=False, example='"patterns/signet-ring.stl"'),
        choice("units", "studio.about.piece-units", FILE_UNITS),
        count("copies", "copies_count", "studio.about.piece-copies", default=1),
        Field("part", "parts", Kind.ROWS, PART.about, needed=False, rows=PART),
        number("weighed", "weighed_g", "studio.about.piece-weighed", above="0 g", most="10 kg", needed=False,
               example='"2.60 g"'),
        number("stone", "stone_g", "studio.about.piece-stone", above="0 g", most="1 kg", needed=False,
               example='"2 ct"'),
        number("thickest", "thickest_mm", "studio.about.piece-thickest", above="0 mm", most="200 mm", needed=False,
               example='"4 mm"'),
        number("longest", "longest_mm", "studio.about.piece-longest", above="0 mm", most="500 mm", needed=False,
               example='"35 mm"'),
        text("wish_flask", "studio.about.piece-wish", needed=False, example='"FL-02"'),
        number("displaced", "displaced_cm3", "studio.about.piece-displaced", above="0 cm3", most="500 cm3",
               needed=False, example='"2.1 cm3"'),
        text("together", "studio.about.piece-together", needed=False, example='"wedding set"'),
        texts("apart_from", "studio.about.piece-apart", needed=False, example='["P03"]'),
        number("flask_temperature", "flask_temperature_C", "studio.about.piece-flask-temperature", least="20 C",
               most="1100 C", needed=False, example='{ low = "500 C", high = "560 C" }'),
        Field("gate", "gate_mm", Kind.POINT, "studio.about.piece-gate", needed=False, example="[0.0, -2.1, 11.5]"),
        text("accepted_by", "studio.about.piece-accepted", needed=False, example='"Teacher"'),
    ),
)  # fmt: skip

PERSON = Section(
    "person",
    Person,
    "studio.about.person",
    (
        text("name", "studio.about.person-name", example='"Teacher"'),
        choice("role", "studio.about.person-role", ROLES, needed=True),
    ),
)

DAY = Section(
    "",
    Day,
    "studio.about.day",
    (
        Field("format", "format", Kind.COUNT, "studio.about.format", least="1", example="1"),
        Field("date", "date", Kind.DATE, "studio.about.day-date", example="2026-12-05"),
        Field("first_pour", "first_pour", Kind.CLOCK, "studio.about.day-first-pour", example='"10:00"'),
        Field("done_by", "done_by", Kind.CLOCK, "studio.about.day-done-by", needed=False, example='"13:00"'),
        text("alloy", "studio.about.day-alloy", example='"sterling-925"'),
        number("flask_temperature", "flask_temperature_C", "studio.about.day-flask-temperature", least="20 C",
               most="1100 C", needed=False),
        text("kiln", "studio.about.day-kiln", needed=False, example='"KILN-1"'),
        text("machine", "studio.about.day-machine", needed=False, example='"ARM-1"'),
        text("crucible", "studio.about.day-crucible", needed=False, example='"CR-1"'),
        text("scale", "studio.about.day-scale", needed=False, example='"SCALE-1"'),
        text("powder", "studio.about.day-powder", needed=False, example='"POWDER-A"'),
        texts("use_lots", "studio.about.day-lots", needed=False, example='["L-0001", "L-0002"]'),
        Field("invested_at", "invested_at", Kind.MOMENT, "studio.about.day-invested", needed=False,
              example='"2026-12-04 16:00"'),
        number("room", "room_C", "studio.about.day-room", least="-10 C", most="50 C", needed=False,
               example='"22 C"'),
        text("weighed_by", "studio.about.day-weighed", needed=False, example='"Student C"'),
        Field("piece", "pieces", Kind.ROWS, PIECE.about, rows=PIECE),
        Field("person", "people", Kind.ROWS, PERSON.about, rows=PERSON),
    ),
    many=False,
)  # fmt: skip

FILES = {"studio": STUDIO, "calibration": CALIBRATION, "day": DAY, "arm-measurements": MEASUREMENTS}
