"""What the mould part of the plan says: mix and burnout."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding


@dataclass(frozen=True)
class FlaskMix:
    """Investment for one flask."""

    flask: str
    fill_cm3: Figure
    powder_g: Figure
    water_g: Figure
    dry_kg: Figure


@dataclass(frozen=True)
class ClockStep:
    """One step of the mix clock: minutes after powder meets water.

    ``step`` is a catalogue key without blanks; ``flasks`` are those it is done to, empty for work on the bowl.
    """

    step: str
    start_min: float
    end_min: float
    flasks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Batch:
    """One bowl: flasks, amounts with spill, and its clock."""

    flasks: tuple[str, ...]
    powder_g: Figure
    water_g: Figure
    clock: tuple[ClockStep, ...]
    ends_min: Figure
    limit_min: Figure


@dataclass(frozen=True)
class Mix:
    """All investment work of the day."""

    flasks: tuple[FlaskMix, ...]
    batches: tuple[Batch, ...]
    powder_left_g: Figure
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class BurnStep:
    """A straight piece of the burnout curve, in true temperatures.

    ``kind``: ramp, hold, cool, soak. ``because`` is a whole sentence from the catalogue, ready to print: for a hold it
    names the flask and pattern that ask for it. ``start`` and ``end`` are exact moments (see :class:`Burnout`).
    ``reading_C`` is what the controller shows, or is set to, at the end of the step.
    """

    kind: str
    start: datetime
    end: datetime
    from_C: float
    to_C: float
    because: str
    reading_C: Figure | None = None


@dataclass(frozen=True)
class CoreLag:
    """How long a flask's core needs to follow the kiln down to casting temperature."""

    flask: str
    lag_min: Figure


@dataclass(frozen=True)
class Dewax:
    """Wax taken out before the kiln: by ``kind`` (steam or oven), and by when the flasks stand in the kiln."""

    kind: str
    flasks: tuple[str, ...]
    start: datetime
    end: datetime
    into_kiln_by: datetime


@dataclass(frozen=True)
class AshClear:
    """A flask turned and tapped out at ``at``, back in the kiln for at least ``reheat_min`` before its pour."""

    flask: str
    pattern: str
    at: datetime
    reheat_min: Figure


@dataclass(frozen=True)
class CastingHold:
    """A temperature at which the kiln stands while ``flasks`` are poured, in that order.

    The kiln is there from ``reached`` on, the first of them leaves at ``first_pour``, the last is cast by ``done``.
    ``lags`` say how long their cores need to follow the kiln from where it stood before; ``reading_C`` is what the
    controller shows.
    """

    temperature_C: Figure
    reading_C: Figure
    flasks: tuple[str, ...]
    reached: datetime
    first_pour: datetime
    done: datetime
    lags: tuple[CoreLag, ...]


@dataclass(frozen=True)
class Burnout:
    """One kiln's programme, worked backwards from the first pour.

    Every datetime carries the studio's fixed offset from UTC at that moment: it prints as the wall clock shows it, and
    differences are true minutes, across a change of the clocks too. ``steps`` is empty when the load is refused; then
    ``findings`` holds the reason, and ``light_at`` is the time of the pour.

    Where flasks are poured at falling temperatures the steps go on to the last set-point's first pour, and ``casting``
    has a row for each; ``total_min`` and ``casting_C`` are those of the first pour.
    """

    kiln: str
    steps: tuple[BurnStep, ...]
    light_at: datetime
    first_pour: datetime
    total_min: Figure
    top_true_C: Figure
    casting_C: Figure
    lags: tuple[CoreLag, ...]
    invest_by: datetime
    findings: tuple[Finding, ...]
    dewax: Dewax | None = None
    ash: tuple[AshClear, ...] = ()
    casting: tuple[CastingHold, ...] = ()
