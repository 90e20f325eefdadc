"""The scale a charge is weighed on: one mark as typed, or a scale of the studio by its id."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path

from pourwright.core.findings import Finding, Level
from pourwright.doors.service.books.typed import typed
from pourwright.studio.reading import read_studio


@dataclass(frozen=True)
class ScaleUsed:
    """One mark of a scale, the largest error of a weighing, and the most it carries (0 if nobody said) [g]."""

    division_g: float
    error_g: float
    capacity_g: float = 0.0
    id: str = ""


def scale_as_typed(text: str, folder: Path) -> tuple[ScaleUsed, tuple[Finding, ...]]:
    """Return the scale, and what is wrong with the text.

    Parameters
    ----------
    text : str
        A mass with its unit, of which half may be the error; or the id of a scale in the studio file.
    folder : Path
        The studio's folder.
    """
    if text[:1].isdigit() or text[:1] in ".-+" or not (folder / "studio.toml").exists():
        division_g, wrong = typed(text, "g", "--scale")
        return ScaleUsed(division_g, division_g / 2), wrong
    studio, _ = read_studio(folder)
    scales = {one.id: one for one in studio.scales} if studio else {}
    found = scales.get(text)
    if found is None:
        close = difflib.get_close_matches(text, scales, n=3, cutoff=0.3) or sorted(scales)
        params = {"scale": text, "known": ", ".join(close)}
        return ScaleUsed(0.0, 0.0), (Finding("doors.charge-scale-unknown", Level.STOP, "--scale", params),)
    return ScaleUsed(found.division_g.value, found.error_g.value, found.capacity_g.value, found.id), ()


def over_capacity(scale: ScaleUsed, heaviest_g: float, where: str) -> tuple[Finding, ...]:
    """Return that a single weighing is more than the scale carries, if it is."""
    if not scale.capacity_g or heaviest_g <= scale.capacity_g:
        return ()
    params = {"charge": f"{heaviest_g:g}", "scale": scale.id, "capacity": f"{scale.capacity_g:g}"}
    return (Finding("doors.charge-scale-small", Level.STOP, where, params),)
