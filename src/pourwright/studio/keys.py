"""Every key of ``studio.toml``, ``calibration.toml`` and ``day.toml``.

The limits marked with ``most`` and ``least`` are ours and wide: beyond them a unit or a decimal point has slipped.
"""

from __future__ import annotations

from pourwright.studio.day import Day, PatternPart, Person, PieceOrder
from pourwright.studio.fields import Field, Kind, Section, Take, choice, count, flag, number, text, texts
from pourwright.studio.profile import (
    Crucible,
    Flask,
    Habits,
    Kiln,
    Machine,
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
    ),
)  # fmt: skip

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
    ),
    needed=False,
)

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

CALIBRATION = Section(
    "",
    dict,
    "studio.about.calibration",
    (
        Field("format", "format", Kind.COUNT, "studio.about.format", least="1", example="1"),
        Field("quantity", "quantities", Kind.ROWS, QUANTITY.about, needed=False, rows=QUANTITY),
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
        Field("piece", "pieces", Kind.ROWS, PIECE.about, rows=PIECE),
        Field("person", "people", Kind.ROWS, PERSON.about, rows=PERSON),
    ),
    many=False,
)  # fmt: skip

FILES = {"studio": STUDIO, "calibration": CALIBRATION, "day": DAY}
