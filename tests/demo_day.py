"""A plain day planned with made-up pattern reports, so that tests of the plan need not measure meshes.

Studio, calibration and day are those of tests/plain_studio: a studio with no more than it needs, so that a test adds
what it is about. The demo studio that a user is given has more in it and tests of its own.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from tempfile import mkdtemp

from pourwright.doors.service.demo import make_demo
from pourwright.prepare.plan import PlanOutcome, plan_day
from pourwright.shape.pattern.report import PatternReport, Section, Wall
from pourwright.studio.day import Day, PieceOrder
from pourwright.studio.profile import Studio
from pourwright.studio.reading import read_day, read_studio

PLAIN = Path(__file__).parent / "plain_studio"


@lru_cache(maxsize=1)
def demo_files() -> Path:
    """Return the folder of a plain studio with the demo's patterns, written once for the whole test run."""
    folder = Path(mkdtemp(prefix="pourwright-plain-")) / "studio"
    make_demo(folder)
    for name in ("studio.toml", "calibration.toml"):
        shutil.copyfile(PLAIN / name, folder / name)
    shutil.copyfile(PLAIN / "day.toml", max(folder.glob("days/*/day.toml")))
    return folder


@lru_cache(maxsize=1)
def demo_studio_and_day() -> tuple[Studio, Day]:
    studio, _ = read_studio(demo_files())
    assert studio is not None
    day, _ = read_day(max(demo_files().glob("days/*/day.toml")), studio)
    assert day is not None
    return studio, day


def made_up_report(order: PieceOrder, volume_mm3: float = 900.0, wall_mm: float = 1.2) -> PatternReport | None:
    """Return a sound report of an invented body for an order with a file."""
    if not order.file:
        return None
    area = 6.0 * volume_mm3 ** (2 / 3) * 1.6
    place = (0.0, 0.0, 0.0)
    return PatternReport(
        file=order.file,
        sha256="0" * 64,
        units=order.units,
        triangles_count=5000,
        watertight=True,
        shells_count=1,
        voids_count=0,
        volume_mm3=volume_mm3,
        volume_low_mm3=volume_mm3 * 0.999,
        volume_high_mm3=volume_mm3 * 1.001,
        area_mm2=area,
        centre_mm=place,
        box_mm=(22.0, 22.0, 8.0),
        wall=Wall(wall_mm, 0.02, place, 9.0),
        sections=(Section(volume_mm3, area, volume_mm3 / area, place),),
        mesh=None,
        findings=(),
    )


def planned(volume_mm3: float = 900.0, wall_mm: float = 1.2, **changes: object) -> PlanOutcome:
    """Plan the demo day with invented bodies; ``changes`` replace fields of the day."""
    studio, day = demo_studio_and_day()
    return plan_day(studio, replace(day, **changes), lambda order: made_up_report(order, volume_mm3, wall_mm))
