"""A day of twelve patterns of 20 000 triangles over four flasks: the whole plan against measuring alone."""

from __future__ import annotations

import tempfile
import time
from dataclasses import replace
from pathlib import Path

from pourwright.doors.service.demo import make_demo
from pourwright.prepare.plan import plan_day
from pourwright.shape.pattern import solids
from pourwright.shape.pattern.measure import measure_pattern
from pourwright.shape.pattern.report import PatternReport
from pourwright.studio.day import Day, PieceOrder
from pourwright.studio.profile import Studio
from pourwright.studio.reading import read_day, read_studio

PIECES_COUNT = 12
FLASKS_COUNT = 4
ROUND_COUNT, WIRE_COUNT = 200, 50  # 20 000 triangles


def _day(folder: Path) -> tuple[Studio, Day]:
    make_demo(folder)
    studio, _ = read_studio(folder)
    assert studio is not None
    day, _ = read_day(next(folder.glob("days/*/day.toml")), studio)
    assert day is not None
    return studio, replace(day, pieces=tuple(_order(number, folder) for number in range(PIECES_COUNT)))


def _order(number: int, folder: Path) -> PieceOrder:
    """Return a ring of its own size; three rings each must share a flask, and no other may join them."""
    path = folder / f"ring-{number:02d}.stl"
    solids.write_stl(solids.torus(8.0 + 0.2 * number, 1.2 + 0.02 * number, ROUND_COUNT, WIRE_COUNT), path)
    set_number = number % FLASKS_COUNT
    apart = tuple(f"P{other:02d}" for other in range(PIECES_COUNT) if other % FLASKS_COUNT != set_number)
    return PieceOrder(
        f"P{number:02d}", "ring", "bench", "casting-wax", str(path), "mm", together=str(set_number), apart_from=apart
    )


def _measure(order: PieceOrder) -> PatternReport | None:
    return measure_pattern(Path(order.file), order.units)


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        studio, day = _day(Path(name) / "studio")
        four = (studio.flasks * FLASKS_COUNT)[:FLASKS_COUNT]
        flasks = tuple(replace(one, id=f"BENCH-{number}") for number, one in enumerate(four))
        bases = tuple(replace(one, fits=tuple(flask.id for flask in flasks)) for one in studio.bases)
        studio = replace(studio, flasks=flasks, bases=bases)
        _measure(day.pieces[0])  # compiles
        start = time.perf_counter()
        for one in day.pieces:
            _measure(one)
        measuring = time.perf_counter() - start
        start = time.perf_counter()
        outcome = plan_day(studio, day, _measure)
        planning = time.perf_counter() - start
        used = len(outcome.plan.flasks) if outcome.plan else 0
        print(f"  {PIECES_COUNT} patterns measured alone                  {measuring:8.3f} s")
        ratio = planning / measuring
        print(f"  the whole plan, {used} flasks                     {planning:8.3f} s: {ratio:.2f} times that")
        for found in outcome.findings if outcome.plan is None else ():
            print(f"  {found.level.value}: {found.what}")


if __name__ == "__main__":
    main()
