"""The example for readers who want to see a throw's arrays runs, with the real engines on coarse cubes."""

import runpy
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[3] / "examples/throw_a_ring.py"


def test_the_example_throws_its_ring(capsys):
    runpy.run_path(str(EXAMPLE))["main"](0.9, 2)
    said = capsys.readouterr().out
    books = next(line for line in said.splitlines() if "books miss" in line)
    assert float(books.split(" miss ")[1].split(" of ")[0]) < 1e-9
    assert "of 2 runs" in said
    assert "handed to the freezing" in said
