"""The files of the plain studio as text, with lines changed, written to a folder and read."""

from __future__ import annotations

from pathlib import Path

from tests.demo_day import PLAIN

from pourwright.studio.reading import read_day, read_studio

PATTERNS = ("signet-ring", "twisted-band", "leaf-pendant", "ear-drop")


def demo_text(name: str, *changes: tuple[str, str]) -> str:
    text = (PLAIN / name).read_text("utf-8")
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def studio_of(folder: Path, *changes: tuple[str, str], calibration: str = ""):
    (folder / "studio.toml").write_text(demo_text("studio.toml", *changes), "utf-8")
    if calibration:
        (folder / "calibration.toml").write_text(calibration, "utf-8")
    return read_studio(folder)


def day_of(folder: Path, *changes: tuple[str, str], studio_changes: tuple[tuple[str, str], ...] = ()):
    studio, found = studio_of(folder, *studio_changes)
    assert studio is not None, [one.what for one in found]
    place = folder / "days/2026-12-05"
    (place / "patterns").mkdir(parents=True)
    for name in PATTERNS:
        (place / f"patterns/{name}.stl").touch()
    (place / "day.toml").write_text(demo_text("day.toml", *changes), "utf-8")
    return read_day(place / "day.toml", studio)


def one_with(findings, code: str):
    matching = [one for one in findings if one.code == code]
    assert len(matching) == 1, [(one.code, one.where, one.what) for one in findings]
    return matching[0]


def spoken(finding) -> str:
    return " ".join((finding.where, finding.what, finding.why, finding.do_next))
