"""The example for readers who want to see the arrays runs, with the real engine on a coarse grid."""

import runpy
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[3] / "examples/freeze_a_ring.py"


def test_the_example_freezes_its_ring(capsys):
    runpy.run_path(str(EXAMPLE))["main"](1.2)
    lines = capsys.readouterr().out.splitlines()
    said = "\n".join(lines)
    assert "last metal solid after" in said
    assert "same numbers True" in said
    books = next(line for line in lines if "books miss" in line)
    assert float(books.split(" miss ")[1].split(" of ")[0]) < 5e-4
    assert said.count("shrinkage only") + said.count("Shrinkage only") >= 1
