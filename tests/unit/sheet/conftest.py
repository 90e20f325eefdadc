"""The made-up plan, planned and printed once for all tests of the sheet."""

from __future__ import annotations

import pypdfium2 as pdfium
import pytest
from tests.unit.sheet import sample_plan

from pourwright.sheet.run_sheet import write_run_sheet


@pytest.fixture(scope="session")
def plan():
    return sample_plan.plan()


@pytest.fixture(scope="session")
def full_plan():
    """The same plan with supplies, steps, cards, wax and ash, and an earlier day like it."""
    return sample_plan.full_plan()


@pytest.fixture(scope="session")
def full_papers(full_plan, tmp_path_factory):
    """Folder with the papers of the full plan."""
    folder = tmp_path_factory.mktemp("full-papers")
    write_run_sheet(full_plan, folder)
    return folder


@pytest.fixture(scope="session")
def full_pages(full_papers):
    """Text of each page of the full plan's run sheet, on one line."""
    return texts(full_papers / "run-sheet.pdf")


def texts(path):
    """Return the text of each page, on one line."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdfium.PdfDocument(path)]


@pytest.fixture(scope="session")
def printed(plan, tmp_path_factory):
    """Folder with the papers of the made-up plan."""
    folder = tmp_path_factory.mktemp("papers")
    (folder / "cards.pdf").write_bytes(b"of an older plan, which had cards")
    write_run_sheet(plan, folder)
    return folder


@pytest.fixture(scope="session")
def pages(printed):
    """Text of each page of the run sheet, on one line."""
    return texts(printed / "run-sheet.pdf")
