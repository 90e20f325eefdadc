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
def printed(plan, tmp_path_factory):
    """Folder with the papers of the made-up plan."""
    folder = tmp_path_factory.mktemp("papers")
    write_run_sheet(plan, folder)
    return folder


@pytest.fixture(scope="session")
def pages(printed):
    """Text of each page of the run sheet, on one line."""
    document = pdfium.PdfDocument(printed / "run-sheet.pdf")
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]
