"""Writes the papers of a day: the run sheet, its labels and cards, and the same sheet for a screen."""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

from pourwright.core.files import write_whole
from pourwright.prepare.day_plan import DayPlan
from pourwright.sheet import labels, tree
from pourwright.sheet.content import Pictures, day_content
from pourwright.sheet.cut_parts import StoredCut, section_png
from pourwright.sheet.flask import chart_key, cut_key, throw_key
from pourwright.sheet.freeze import cut_of
from pourwright.sheet.pictograms import pictograms
from pourwright.sheet.picture import Picture, bar_mm, piece_picture
from pourwright.sheet.screen.page import Drawings, screen_page
from pourwright.sheet.throw import throw_chart_of, throw_cut_of

# Our name of a paper, and the page templates' name for it.
PAPERS = {"a4": "a4", "letter": "us-letter"}
RUN_SHEET, LABELS, CARDS, SCREEN = "run-sheet.pdf", "labels.pdf", "cards.pdf", "run-sheet.html"
# All that may be written.
FILES = (RUN_SHEET, LABELS, CARDS, SCREEN)
_DATA = "data.json"
_DRAWINGS = "screen.typ"
# Pixels to the millimetre of a cut on the screen: twice what a laptop shows at true size.
_SCREEN_PX_MM = 8


def write_run_sheet(plan: DayPlan, folder: Path, paper: str = "a4", day_folder: Path | None = None) -> tuple[Path, ...]:
    """Write the papers of a day's plan: ``run-sheet.pdf``, ``labels.pdf``, ``cards.pdf`` and ``run-sheet.html``.

    Parameters
    ----------
    plan : DayPlan
        The plan; its findings are printed, whatever their level. Without its aftercare there are no cards.
    folder : Path
        Where the files go; it exists.
    paper : str
        One of :data:`PAPERS`.
    day_folder : Path or None
        Where the cuts of frozen flasks lie; ``folder`` unless given.

    Returns
    -------
    tuple of Path
        The files written. The same plan gives the same bytes. Cards of an older plan that this one has none of go.

    Raises
    ------
    ValueError
        The paper size is not one of ours.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper size {paper!r} is none of {', '.join(PAPERS)}")
    with tempfile.TemporaryDirectory(prefix="pourwright-") as scratch:
        desk = Path(scratch)
        content = _lay_out(plan, desk, PAPERS[paper], day_folder or folder)
        papers = {name: _print(desk, name, plan) for name in (RUN_SHEET, LABELS)}
        if content["cards"]:
            papers[CARDS] = _print(desk, CARDS, plan)
        pictures = {one.name: one.read_bytes() for one in sorted(desk.glob("picture-*.png"))}
        papers[SCREEN] = screen_page(content, pictures, _drawings(desk, len(plan.flasks))).encode()
    for name, whole in papers.items():
        write_whole(folder / name, whole)
    for name in set(FILES) - set(papers):
        (folder / name).unlink(missing_ok=True)
    return tuple(folder / name for name in papers)


def _lay_out(plan: DayPlan, desk: Path, paper: str, day_folder: Path) -> dict[str, object]:
    """Put templates, pictures and data side by side; users' words travel as data only."""
    for template in files("pourwright.sheet").joinpath("templates").iterdir():
        if template.name.endswith(".typ"):
            (desk / template.name).write_bytes(template.read_bytes())
    for name, drawing in pictograms().items():
        (desk / name).write_bytes(drawing)
    for one in plan.flasks:
        (desk / labels.code_file(one)).write_bytes(labels.code_picture(one))
    pictures = _pictures(plan, desk) | _cuts(plan, desk, day_folder)
    content = day_content(plan, pictures, paper)
    (desk / _DATA).write_text(json.dumps(content, ensure_ascii=False), "utf-8")
    return content


def _pictures(plan: DayPlan, desk: Path) -> Pictures:
    drawn = {key: piece_picture(mesh) for key, mesh in tree.pictures_by_piece(plan).items()}
    drawn |= {one.id: tree.tree_picture(plan, one) for one in plan.flasks}
    return {key: _put(picture, desk / f"picture-{number}.png") for number, (key, picture) in enumerate(drawn.items())}


def _cuts(plan: DayPlan, desk: Path, day_folder: Path) -> Pictures:
    """Put the cuts of reckoned flasks and their charts beside the templates: lines for paper, points for the screen."""
    found = {cut_key(one): cut_of(one, day_folder) for one in plan.flasks}
    found |= {throw_key(one): throw_cut_of(one, day_folder) for one in plan.flasks}
    found |= {chart_key(one): throw_chart_of(one) for one in plan.flasks}
    return {key: _put_cut(cut, desk, number) for number, (key, cut) in enumerate(found.items()) if cut is not None}


def _put_cut(cut: StoredCut, desk: Path, number: int) -> dict[str, object]:
    lines, points = desk / f"cut-{number}.svg", desk / f"picture-cut-{number}.png"
    lines.write_text(cut.svg, "utf-8")
    points.write_bytes(section_png(cut, _SCREEN_PX_MM))
    sides = {"width_mm": cut.width_mm, "height_mm": cut.height_mm}
    return {"file": lines.name, "screen_file": points.name, **sides}


def _put(picture: Picture, target: Path) -> dict[str, object]:
    target.write_bytes(picture.png)
    return {"file": target.name, "width_mm": picture.width_mm, "bar_mm": bar_mm(picture.width_mm)}


def _print(desk: Path, name: str, plan: DayPlan) -> bytes:
    import typst

    midnight = datetime(plan.day.date.year, plan.day.date.month, plan.day.date.day, tzinfo=UTC)
    pdf = typst.compile(
        str((desk / name).with_suffix(".typ")),
        root=str(desk),
        font_paths=[str(fonts_folder())],
        ignore_system_fonts=True,
        format="pdf",
        timestamp=int(midnight.timestamp()),
    )
    return bytes(pdf)


def _drawings(desk: Path, flasks_count: int) -> Drawings:
    """Return the sheet's drawings as SVG: the kiln's two, and three to a flask, as the template orders them."""
    import typst

    pages: Any = typst.compile(
        str(desk / _DRAWINGS), root=str(desk), font_paths=[str(fonts_folder())], ignore_system_fonts=True, format="svg"
    )
    curve, stand, *rest = [bytes(one) for one in pages]
    return Drawings(curve, stand, tuple((rest[at], rest[at + 1], rest[at + 2]) for at in range(0, 3 * flasks_count, 3)))


def fonts_folder() -> Path:
    """Return where the sheet's type lies."""
    import font_roboto

    return Path(font_roboto.__file__).parent / "files"
