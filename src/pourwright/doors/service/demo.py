"""Write the demo studio: a profile, its calibration, a casting day with patterns and an earlier one, all invented."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from pourwright.core.errors import StudioError
from pourwright.core.files import write_whole
from pourwright.core.text import say
from pourwright.studio.profile_reading import CALIBRATION_FILE, STUDIO_FILE

_DAY_FOLDER = "days/2026-12-05"
_EARLIER_FOLDER = "days/2026-11-21"
# file of the package -> where it goes in the studio's folder
_TEXTS = {
    "README.txt": "README.txt",
    STUDIO_FILE: STUDIO_FILE,
    CALIBRATION_FILE: CALIBRATION_FILE,
    "day.toml": f"{_DAY_FOLDER}/day.toml",
    "earlier-day.toml": f"{_EARLIER_FOLDER}/day.toml",
}


def make_demo(folder: Path) -> tuple[Path, ...]:
    """Write the demo studio into a folder that is new or empty.

    Parameters
    ----------
    folder : Path
        Made if it does not exist.

    Returns
    -------
    tuple of Path
        The files written.

    Raises
    ------
    StudioError
        The folder has something in it, or is a file; nothing is written then.
    """
    if folder.is_dir() and any(folder.iterdir()):
        raise StudioError(say("studio.demo-folder-full", folder=folder))
    if folder.exists() and not folder.is_dir():
        raise StudioError(say("studio.demo-is-file", folder=folder))
    return (*_write_texts(folder), *_write_patterns(folder / _DAY_FOLDER / "patterns"))


def _write_texts(folder: Path) -> list[Path]:
    source = files("pourwright.studio").joinpath("demo_files")
    written = []
    for name, place in _TEXTS.items():
        write_whole(folder / place, source.joinpath(name).read_bytes())
        written.append(folder / place)
    return written


def _write_patterns(folder: Path) -> list[Path]:
    from pourwright.doors.service.demo_patterns import PATTERNS
    from pourwright.shape.pattern.solids import write_stl

    written = []
    for name, draw in PATTERNS.items():
        write_stl(draw(), folder / f"{name}.stl")
        written.append(folder / f"{name}.stl")
    return written
