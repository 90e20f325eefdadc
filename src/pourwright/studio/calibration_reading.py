"""Reads ``calibration.toml``: what the studio measured, and which of it a person accepted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from pourwright.core.figure import Figure, given
from pourwright.core.findings import Level
from pourwright.studio.fields import Field, Section, number
from pourwright.studio.format import newer_format
from pourwright.studio.keys import CALIBRATION, HABITS, QUANTITY, ROWS_OF_STUDIO
from pourwright.studio.place import Place, near
from pourwright.studio.profile import Calibrated, Kiln, Machine, Studio
from pourwright.studio.tables import Values, ids_of, read_table, row_label, rows_of
from pourwright.studio.values import read_value


@dataclass(frozen=True)
class Measurable:
    """A quantity that may be calibrated: how it is read, and the rows of the profile it may be about."""

    field: Field
    subjects: str = ""


def _field(section: Section, key: str) -> Field:
    return next(one for one in section.fields if one.key == key)


# Of the arm itself: its two bodies, what slows it, and how the crucible lets go of the metal.
_ARM = (
    "hinge_radius", "outer_mass", "outer_radius", "outer_inertia", "folded", "friction_dry", "friction_speed",
    "friction_air", "rebound", "lip", "mouth",
)  # fmt: skip
MEASURABLE: Mapping[str, Measurable] = {
    "kiln.offset": Measurable(_field(ROWS_OF_STUDIO["kilns"], "offset"), "kiln"),
    "melt.loss": Measurable(_field(HABITS, "loss")),
    "spring.torque_start": Measurable(_field(ROWS_OF_STUDIO["machines"], "torque_start"), "machine"),
    "spring.torque_rate": Measurable(_field(ROWS_OF_STUDIO["machines"], "torque_rate"), "machine"),
    "spring.friction": Measurable(_field(ROWS_OF_STUDIO["machines"], "friction"), "machine"),
    "spring.inertia": Measurable(_field(ROWS_OF_STUDIO["machines"], "inertia"), "machine"),
    **{f"arm.{key}": Measurable(_field(ROWS_OF_STUDIO["machines"], key), "machine") for key in _ARM},
    "quench.tau": Measurable(
        number("tau", "tau_min", "studio.about.quench-tau", above="0 min", most="24 h", example='"25 min"'), "flask"
    ),
    "quench.start": Measurable(
        number("start", "start_C", "studio.about.quench-start", least="50 C", most="1200 C", example='"620 C"'), "flask"
    ),
    "shrink.part": Measurable(
        number("shrinkage", "shrinkage_frac", "studio.about.shrink-part", least="-5 %", most="10 %", example='"1.39 %"')
    ),
}
# The spring counts as measured once both its numbers are: without either the energy of a throw is a guess.
_SPRING = ("spring.torque_start", "spring.torque_rate")


def read_calibration(studio_content: Mapping[str, Any], place: Place) -> dict[str, Calibrated]:
    """Return the accepted quantities by ``quantity`` or ``quantity:subject``, adding findings to the place.

    Parameters
    ----------
    studio_content : mapping
        Of ``studio.toml``, for the ids that a quantity may be about.
    place : Place
        The top of ``calibration.toml``.
    """
    if newer_format(place):
        return {}
    read_table(CALIBRATION, place.source.content, place)
    rows = [
        (raw, place.inside(("quantity", index), row_label("quantity", raw, index)))
        for index, raw in enumerate(rows_of(QUANTITY, place.source.content, place))
    ]
    entries = [(values, row) for raw, row in rows if (values := _entry(raw, row))]
    _name_lost_replacements(entries)
    replaced = {values["replaces"] for values, _ in entries if values["accepted_by"] and values["replaces"]}
    accepted: dict[str, Calibrated] = {}
    for values, row in entries:
        if not (values["id"] and values["id"] in replaced):
            _accept(values, row, studio_content, accepted)
    return accepted


def _entry(raw: object, place: Place) -> Values | None:
    if isinstance(raw, Mapping) and isinstance(raw.get("unit"), str):
        bare = {key: raw[key] for key in ("value", "low", "high") if isinstance(raw.get(key), int | float)}
        raw = {**raw, **{key: f"{number} {raw['unit']}" for key, number in bare.items()}}
    return read_table(QUANTITY, raw, place)


def _name_lost_replacements(entries: Sequence[tuple[Values, Place]]) -> None:
    known = [values["id"] for values, _ in entries if values["id"]]
    for values, row in entries:
        if values["replaces"] and values["replaces"] not in known:
            row.note("studio.id-unknown", "replaces", got=values["replaces"], known=near(values["replaces"], known))


def _accept(values: Values, place: Place, content: Mapping[str, Any], accepted: dict[str, Calibrated]) -> None:
    name, subject = values["quantity"], values["subject"]
    if name not in MEASURABLE:
        place.note("studio.id-unknown", "quantity", got=name, known=near(name, tuple(MEASURABLE)))
        return
    if not _subject_known(values, place, content):
        return
    if not values["accepted_by"]:
        place.note("studio.calibration-waiting", "accepted_by", Level.NOTE, quantity=name)
        return
    if not isinstance(values["accepted_on"], date):
        place.note_field("studio.key-missing", _field(QUANTITY, "accepted_on"))
        return
    figure = _figure(values, place)
    key = f"{name}:{subject}" if subject else name
    if key in accepted:
        place.note("studio.calibration-twice", "quantity", quantity=key)
        return
    if figure is not None:
        accepted[key] = _calibrated(values, figure)


def _subject_known(values: Values, place: Place, content: Mapping[str, Any]) -> bool:
    subjects, subject = MEASURABLE[values["quantity"]].subjects, values["subject"]
    known = ids_of(content, subjects) if subjects else ()
    if (subject in known) if subjects else not subject:
        return True
    if subjects and not subject:
        place.note("studio.subject-missing", "subject", subjects=subjects, known=near("", known))
    else:
        place.note("studio.id-unknown", "subject", got=subject, known=near(subject, known))
    return False


def _figure(values: Values, place: Place) -> Figure | None:
    one = replace(MEASURABLE[values["quantity"]].field, key="value")
    raw = {"best": values["value"], "low": values["low"], "high": values["high"]}
    figure: Figure | None = read_value(one, raw, place)
    return figure


def _calibrated(values: Values, figure: Figure) -> Calibrated:
    return Calibrated(
        values["quantity"],
        values["subject"],
        replace(figure.as_interval(), kind="derived"),
        figure.unit,
        values["method"],
        values["evidence"],
        values["accepted_by"],
        values["accepted_on"].isoformat(),
    )


def calibrated_figure(studio: Studio, quantity: str, subject: str = "") -> Figure | None:
    """Return an accepted quantity of the studio as a figure, or None if there is none.

    Parameters
    ----------
    studio : Studio
        As read.
    quantity, subject : str
        For example ``quench.tau`` and ``FL-03``.
    """
    found = studio.calibration.get(f"{quantity}:{subject}" if subject else quantity)
    if found is None:
        return None
    interval = found.interval
    origin = f"calibration.toml: {quantity} {subject}".strip()
    return given(interval.best, found.unit, origin, interval.low, interval.high, how="studio.measured")


def apply_calibration(studio: Studio) -> Studio:
    """Return the studio with every accepted quantity in the place of what the profile says."""
    loss = calibrated_figure(studio, "melt.loss") or studio.habits.loss_frac
    return replace(
        studio,
        kilns=tuple(_calibrated_kiln(studio, one) for one in studio.kilns),
        machines=tuple(_calibrated_machine(studio, one) for one in studio.machines),
        habits=replace(studio.habits, loss_frac=loss),
    )


def _calibrated_kiln(studio: Studio, kiln: Kiln) -> Kiln:
    offset = calibrated_figure(studio, "kiln.offset", kiln.id)
    return replace(kiln, offset_C=offset) if offset else kiln


def _calibrated_machine(studio: Studio, machine: Machine) -> Machine:
    measured = {
        name: figure
        for name in MEASURABLE
        if name.startswith(("spring.", "arm.")) and (figure := calibrated_figure(studio, name, machine.id))
    }
    changes: dict[str, Any] = {MEASURABLE[name].field.attr: figure for name, figure in measured.items()}
    if not all(name in measured for name in _SPRING):
        return replace(machine, **changes)
    start, rate = machine.torque_start_Nm, machine.torque_rate_Nm_turn
    return replace(machine, **changes, stated_start_Nm=start, stated_rate_Nm_turn=rate, calibrated=True)
