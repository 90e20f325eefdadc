"""The keys of ``arm-measurements.toml``."""

from __future__ import annotations

from pourwright.studio.fields import Field, Kind, Section, count, flag, number, text
from pourwright.studio.measurements import ArmMeasurements, MeasuredPart, MeasuredPull, MeasuredSpeed, MeasuredSpin

_TURNS = number("turns", "turns_turns", "studio.about.measured-turns", above="0 turns", most="20 turns",
                example='"3 turns"')  # fmt: skip
_FRAMES = Field("frames", "frames_count", Kind.COUNT, "studio.about.measured-frames", needed=False, least="1",
                example="267")  # fmt: skip
_OVER = count("over_turns", "over_turns_count", "studio.about.measured-over-turns", default=1)

PULL = Section(
    "pull",
    MeasuredPull,
    "studio.about.measured-pull",
    (
        number("turns", "turns_turns", "studio.about.measured-pull-turns", least="0 turns", most="20 turns",
               example='"1.5 turns"'),
        number("winding", "winding_N", "studio.about.measured-winding", above="0 N", most="2000 N", needed=False,
               example='"19.0 N"'),
        number("easing", "easing_N", "studio.about.measured-easing", above="0 N", most="2000 N", needed=False,
               example='"15.1 N"'),
    ),
    needed=False,
)  # fmt: skip

PART_OF_ARM = Section(
    "part",
    MeasuredPart,
    "studio.about.measured-part",
    (
        text("name", "studio.about.measured-part-name", example='"flask"'),
        number("mass", "mass_kg", "studio.about.measured-part-mass", above="0 g", most="50 kg", example='"900 g"'),
        number("radius", "radius_mm", "studio.about.measured-part-radius", least="0 mm", most="1 m",
               example='"220 mm"'),
        number("inertia", "inertia_kg_m2", "studio.about.measured-part-inertia", least="0 kg.m2", most="50 kg.m2",
               needed=False, example='"0.012 kg.m2"'),
        flag("beyond_hinge", "studio.about.measured-part-beyond", default=False),
        flag("bare_outer", "studio.about.measured-part-bare", default=False),
    ),
    needed=False,
)  # fmt: skip

COAST = Section(
    "coast",
    MeasuredSpeed,
    "studio.about.measured-coast",
    (
        number("time", "time_s", "studio.about.measured-coast-time", least="0 s", most="1 h", example='"10 s"'),
        number("speed", "speed_rpm", "studio.about.measured-coast-speed", above="0 rpm", most="3000 rpm",
               needed=False, example='"190 rpm"'),
        _FRAMES,
        _OVER,
    ),
    needed=False,
)  # fmt: skip

SPIN = Section(
    "spin",
    MeasuredSpin,
    "studio.about.measured-spin",
    (
        _TURNS,
        number("peak", "peak_rpm", "studio.about.measured-peak", above="0 rpm", most="3000 rpm", needed=False,
               example='"265 rpm"'),
        _FRAMES,
        _OVER,
        number("opens", "opens_deg", "studio.about.measured-opens", above="0 deg", most="360 deg", needed=False,
               example='"35 deg"'),
        Field("coast", "coast", Kind.ROWS, COAST.about, needed=False, rows=COAST),
    ),
    needed=False,
)  # fmt: skip

MEASUREMENTS = Section(
    "",
    ArmMeasurements,
    "studio.about.measurements",
    (
        Field("format", "format", Kind.COUNT, "studio.about.format", least="1", example="1"),
        text("machine", "studio.about.measured-machine", example='"ARM-1"'),
        text("measured_by", "studio.about.measured-by", example='"Student A"'),
        text("evidence", "studio.about.measured-evidence", example='"workshop book, page 31"'),
        number("frame_rate", "frame_rate_per_s", "studio.about.measured-frame-rate", least="10 Hz", most="10000 Hz",
               needed=False, example='"240 Hz"'),
        number("pull_radius", "pull_radius_mm", "studio.about.measured-pull-radius", least="20 mm", most="1 m",
               needed=False, example='"200 mm"'),
        number("hinge_radius", "hinge_radius_mm", "studio.about.machine-hinge", above="0 mm", most="1 m",
               needed=False, example='"100 mm"'),
        number("folded", "folded_deg", "studio.about.machine-folded", least="10 deg", most="150 deg", needed=False,
               example='"90 deg"'),
        number("pull_error", "pull_error_N", "studio.about.measured-pull-error", above="0 N", most="50 N",
               needed=False, example='"0.15 N"'),
        number("length_error", "length_error_mm", "studio.about.measured-length-error", above="0 mm", most="50 mm",
               needed=False, example='"1 mm"'),
        number("weight_error", "weight_error_frac", "studio.about.measured-weight-error", above="0 %", most="50 %",
               needed=False, example='"0.5 %"'),
        Field("pull", "pulls", Kind.ROWS, PULL.about, needed=False, rows=PULL),
        Field("part", "parts", Kind.ROWS, PART_OF_ARM.about, needed=False, rows=PART_OF_ARM),
        Field("spin", "spins", Kind.ROWS, SPIN.about, needed=False, rows=SPIN),
    ),
    many=False,
)  # fmt: skip
