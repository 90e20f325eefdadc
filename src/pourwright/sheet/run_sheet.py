"""Writes the papers of a day: the run sheet and the labels."""

from __future__ import annotations

import json
import tempfile
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

from pourwright.core.text import language_in_use
from pourwright.prepare.day_plan import DayPlan
from pourwright.sheet import closing, cover, flask, kiln, labels, lots, mixing, show, steps, tree
from pourwright.sheet.cautions import notice
from pourwright.sheet.picture import Picture, bar_mm, piece_picture
from pourwright.sheet.words import words

# Our name of a paper, and the page templates' name for it.
PAPERS = {"a4": "a4", "letter": "us-letter"}
RUN_SHEET, LABELS = "run-sheet", "labels"
_DATA = "data.json"


def write_run_sheet(plan: DayPlan, folder: Path, paper: str = "a4") -> tuple[Path, ...]:
    """Write ``run-sheet.pdf`` and ``labels.pdf`` of a day's plan.

    Parameters
    ----------
    plan : DayPlan
        The plan; its findings are printed, whatever their level.
    folder : Path
        Where the two files go; it exists.
    paper : str
        One of :data:`PAPERS`.

    Returns
    -------
    tuple of Path
        The files written. The same plan gives the same bytes.

    Raises
    ------
    ValueError
        The paper size is not one of ours.
    """
    if paper not in PAPERS:
        raise ValueError(f"paper size {paper!r} is none of {', '.join(PAPERS)}")
    written = []
    with tempfile.TemporaryDirectory(prefix="pourwright-") as scratch:
        desk = Path(scratch)
        _lay_out(plan, desk, paper)
        for name in (RUN_SHEET, LABELS):
            target = folder / f"{name}.pdf"
            target.write_bytes(_print(desk / f"{name}.typ", plan))
            written.append(target)
    return tuple(written)


def _lay_out(plan: DayPlan, desk: Path, paper: str) -> None:
    """Put templates, pictures and data side by side; users' words travel as data only."""
    for template in files("pourwright.sheet").joinpath("templates").iterdir():
        if template.name.endswith(".typ"):
            (desk / template.name).write_bytes(template.read_bytes())
    for one in plan.flasks:
        (desk / labels.code_file(one)).write_bytes(labels.code_picture(one))
    content = _content(plan, _pictures(plan, desk), paper)
    (desk / _DATA).write_text(json.dumps(content, ensure_ascii=False), "utf-8")


def _pictures(plan: DayPlan, desk: Path) -> dict[str, dict[str, object]]:
    drawn = {key: piece_picture(mesh) for key, mesh in tree.pictures_by_piece(plan).items()}
    drawn |= {one.id: tree.tree_picture(plan, one) for one in plan.flasks}
    return {key: _put(picture, desk / f"picture-{number}.png") for number, (key, picture) in enumerate(drawn.items())}


def _put(picture: Picture, target: Path) -> dict[str, object]:
    target.write_bytes(picture.png)
    return {"file": target.name, "width_mm": picture.width_mm, "bar_mm": bar_mm(picture.width_mm)}


def _content(plan: DayPlan, pictures: dict[str, dict[str, object]], paper: str) -> dict[str, object]:
    return {
        "paper": PAPERS[paper],
        "language": language_in_use(),
        "day": [plan.day.date.year, plan.day.date.month, plan.day.date.day],
        "words": words(),
        "notice": notice(),
        "cover": cover.cover(plan),
        "clock": cover.by_the_clock(plan),
        "findings": cover.findings(plan),
        "kiln": kiln.kiln(plan),
        "mixing": mixing.mixing(plan),
        "weighing": lots.weighing(plan),
        "flasks": [flask.flask_pages(plan, one, pictures) for one in plan.flasks],
        "tub": steps.tub(plan),
        "closing": closing.closing(plan),
        "labels": labels.labels(plan),
        "title": f"{show.long_date(plan.day.date)} – {show.user_text(plan.studio.name)}",
    }


def _print(template: Path, plan: DayPlan) -> bytes:
    import font_roboto
    import typst

    midnight = datetime(plan.day.date.year, plan.day.date.month, plan.day.date.day, tzinfo=UTC)
    pdf = typst.compile(
        str(template),
        root=str(template.parent),
        font_paths=[str(Path(font_roboto.__file__).parent / "files")],
        ignore_system_fonts=True,
        format="pdf",
        timestamp=int(midnight.timestamp()),
    )
    return bytes(pdf)
