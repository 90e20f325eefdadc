"""The import contract of pyproject.toml holds."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_import_contract():
    command = [str(Path(sys.executable).with_name("lint-imports")), "--config", "pyproject.toml", "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
