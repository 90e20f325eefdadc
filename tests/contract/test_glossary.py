"""Trade words that our public names use are explained in the glossary."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TRADE_WORDS = {
    "burnout", "button", "ceiling", "charge", "fineness", "finding", "flask", "floor", "funnel", "gate", "head",
    "investment", "lot", "mark", "modulus", "pattern", "quench", "section", "sprue", "tree", "winding",
}  # fmt: skip


def _words_of_public_names() -> set[str]:
    names = set()
    for path in (ROOT / "src/pourwright").rglob("*.py"):
        for name in re.findall(r"^(?:class|def) ([A-Za-z]\w+)", path.read_text("utf-8"), re.M):
            names |= {part.lower() for part in re.findall(r"[A-Z]?[a-z]+", name)}
    return names


def test_trade_words_in_use_are_explained():
    glossary = (ROOT / "docs/glossary.md").read_text("utf-8").lower()
    used = TRADE_WORDS & _words_of_public_names()
    assert len(used) > 15
    assert not [word for word in sorted(used) if not re.search(rf"^\|[^|]*\b{word}\b", glossary, re.M)]
