"""Renders the README's picture: the cover and a flask's page of the demo day, side by side."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image

from pourwright.doors.service.demo import make_demo
from pourwright.doors.service.plan import plan_day_file

TARGET = Path(__file__).resolve().parent / "pictures/run-sheet.png"
WIDTH_PX = 1400
COVER, MACHINE_TITLE = 0, "Set the machine"


def demo_sheet(folder: Path) -> Path:
    """Write the demo studio, plan its day and return the run sheet."""
    make_demo(folder)
    day = max(folder.glob("days/*/day.toml"))
    plan_day_file(day, None, None, "a4")
    return day.parent / "run-sheet.pdf"


def main() -> None:
    """Write the picture."""
    with tempfile.TemporaryDirectory() as home:
        sheet = pypdfium2.PdfDocument(demo_sheet(Path(home) / "studio"))
        texts = [page.get_textpage().get_text_bounded() for page in sheet]
        machine = next(number for number, one in enumerate(texts) if MACHINE_TITLE in one)
        pages = [sheet[number].render(scale=2.0).to_pil().convert("L") for number in (COVER, machine)]
        width = sum(one.width for one in pages)
        both = Image.new("L", (width, pages[0].height), 255)
        both.paste(pages[0], (0, 0))
        both.paste(pages[1], (pages[0].width, 0))
        both = both.resize((WIDTH_PX, round(WIDTH_PX * both.height / width)), Image.Resampling.LANCZOS)
        TARGET.parent.mkdir(exist_ok=True)
        both.quantize(16).save(TARGET, optimize=True)


if __name__ == "__main__":
    main()
