from pathlib import Path

from tests.unit.studio.test_keys import _sections

from pourwright.studio.keys import FILES
from pourwright.studio.manual import with_keys

_PAGE = Path(__file__).resolve().parents[3] / "docs/how-to/describe-your-studio.md"


def test_every_key_stands_in_the_manual():
    page = _PAGE.read_text("utf-8")
    keys = {one.key for top in FILES.values() for section in _sections(top) for one in section.fields}
    missing = sorted(key for key in keys if f"`{key}`" not in page and f"{key}]" not in page)
    assert not missing


def test_the_tables_of_the_manual_are_fresh():
    page = _PAGE.read_text("utf-8")
    assert page == with_keys(page), "write it anew with pourwright.studio.manual.with_keys"
