"""The plan of a day: what ``plan.json`` holds and the run sheet prints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding
from pourwright.matter.assay import AssayQuestion
from pourwright.prepare.after.results import PieceCard, Step
from pourwright.prepare.charge.results import AlloyedCharge, ChargeNeed
from pourwright.prepare.differences import Difference
from pourwright.prepare.mould.results import Burnout, Mix
from pourwright.prepare.quench.results import QuenchWindow
from pourwright.prepare.store.results import Supplies
from pourwright.prepare.throw.results import ThrowSetup
from pourwright.shape.pattern.report import PatternReport
from pourwright.shape.tree.simple import Tree
from pourwright.simulate.summary import FreezeSummary
from pourwright.simulate.throw_summary import ThrowSummary
from pourwright.studio.day import Day
from pourwright.studio.profile import Studio

PLAN_FORMAT = 1


@dataclass(frozen=True)
class PlannedPiece:
    """A piece with its volume and casting mass. ``order`` is the index in the day's list of pieces.

    ``volume_cm3`` is one copy's metal; ``cast_g`` its sound mass; ``pattern_check_frac`` the gap between weighed
    and mesh volume where both are known.
    """

    id: str
    order: int
    copy: int
    title: str
    owner: str
    material: str
    volume_cm3: Figure
    cast_g: Figure
    pattern: PatternReport | None
    stones: bool
    family: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class PlannedFlask:
    """A flask load: pieces on their tree, metal, arm, quench. ``number`` is scratched into the investment.

    ``freeze`` is what a freezing run says of this tree, ``fill`` what a filling run says; None before there was one.
    """

    id: str
    number: int
    flask: str
    base: str
    pieces: tuple[str, ...]
    tree: Tree
    need: ChargeNeed
    alloyed: AlloyedCharge | None
    throw: ThrowSetup
    quench: QuenchWindow
    pour_at: datetime
    flask_temperature_C: Figure
    findings: tuple[Finding, ...]
    freeze: FreezeSummary | None = None
    fill: ThrowSummary | None = None


@dataclass(frozen=True)
class TimelineEntry:
    """Something that happens at a time; ``role`` says who; ``what`` is a catalogue key, ``params`` its blanks.

    ``prompts`` are ids of safety prompts shown at that time; ``extraction`` says the fume or dust window is open.
    """

    start: datetime
    end: datetime
    what: str
    params: Mapping[str, str]
    role: str
    prompts: tuple[str, ...] = ()
    extraction: bool = False


@dataclass(frozen=True)
class Pouring:
    """How long the pours of the day take, and whether that fits.

    ``total_min`` is from the first pour until the last is done; ``apart_min`` what it would take with a set-point for
    each flask temperature wished; ``proven`` says that no order is sooner. ``spare_min`` is what is left until
    ``done_by``, negative where it does not fit; both are None where the day file names no end.
    """

    total_min: Figure
    apart_min: Figure
    done_at: datetime
    proven: bool
    done_by: datetime | None = None
    spare_min: Figure | None = None


@dataclass(frozen=True)
class StockUse:
    """What the day takes from one lot."""

    lot: str
    have_g: Figure
    take_g: Figure
    left_g: Figure


@dataclass(frozen=True)
class Aftercare:
    """Steps before investing and after the quench, a card for each piece, and what to ask before one is sold."""

    before: tuple[Step, ...]
    after: tuple[Step, ...]
    cards: tuple[PieceCard, ...]
    assay: AssayQuestion


@dataclass(frozen=True)
class DayPlan:
    """Everything decided for the day. ``findings`` holds those of all parts, each once.

    ``repeats`` is the date of the earlier day most like this one, ``differences`` what is not as it was then.
    """

    studio: Studio
    day: Day
    pieces: tuple[PlannedPiece, ...]
    flasks: tuple[PlannedFlask, ...]
    mix: Mix
    burnout: Burnout
    stock: tuple[StockUse, ...]
    timeline: tuple[TimelineEntry, ...]
    findings: tuple[Finding, ...]
    supplies: Supplies | None = None
    aftercare: Aftercare | None = None
    repeats: str = ""
    differences: tuple[Difference, ...] = ()
    pouring: Pouring | None = None
