"""Run every ``*_speed.py`` of this folder and print what each measures: ``python -m bench``."""

from __future__ import annotations

import importlib
from pathlib import Path


def main() -> None:
    for path in sorted(Path(__file__).parent.glob("*_speed.py")):
        print(f"\n{path.stem}")
        importlib.import_module(f"bench.{path.stem}").main()


if __name__ == "__main__":
    main()
