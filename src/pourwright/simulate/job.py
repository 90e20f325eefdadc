"""All that is needed to freeze one flask: its metal, its sizes, its materials."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright import __version__
from pourwright.matter.version import tables_sha256
from pourwright.shape.pattern.report import PatternReport
from pourwright.shape.tree.bodies import place_matrix
from pourwright.shape.tree.simple import Placed
from pourwright.simulate.conditions import Case, Conditions
from pourwright.simulate.tree_solid import TreeSolid

# A section lighter than this share of its piece's heaviest, or smaller, leaves a void too small to matter; as in the
# rules of castability. Common practice, no source.
_LIGHT_RATIO = 0.4
_SMALL_MM3 = 3.0


@dataclass(frozen=True, eq=False)
class PieceSkin:
    """Points on a piece where it stands, and the section that each belongs to.

    ``points_mm`` (n, 3) and ``section`` (n,) may be empty: the piece is one section then. ``modulus_mm`` and
    ``heavy`` have an entry for each section.
    """

    points_mm: NDArray[np.float64]
    section: NDArray[np.int64]
    modulus_mm: tuple[float, ...]
    heavy: tuple[bool, ...]


@dataclass(frozen=True, eq=False)
class StartField:
    """How warm the metal came to each place of a flask, to start its freezing from.

    ``place_mm`` (n, 3) are in the frame of the flask, ``temp_K`` (n,) belong to them; ``pour_K`` is what was poured at:
    a case that is poured hotter starts hotter by as much.
    """

    place_mm: NDArray[np.float64]
    temp_K: NDArray[np.float64]
    pour_K: float


@dataclass(frozen=True, eq=False)
class FlaskJob:
    """One flask to freeze.

    Parameters
    ----------
    id, flask : str
        The load of the day, and the steel flask.
    radius_mm, height_mm, wall_mm : float
        Inside of the flask, and its steel [mm].
    solid : TreeSolid
        The metal.
    skins : mapping of str to PieceSkin
        By piece.
    thinnest_mm : float
        Thinnest wall or bar of the metal [mm].
    conditions : Conditions
        Materials and temperatures.
    start : StartField or None
        How warm the metal came to each place; None starts all of it as it was poured.
    """

    id: str
    flask: str
    radius_mm: float
    height_mm: float
    wall_mm: float
    solid: TreeSolid
    skins: Mapping[str, PieceSkin]
    thinnest_mm: float
    conditions: Conditions
    start: StartField | None = None


def piece_skin(placed: Placed, report: PatternReport | None, volume_mm3: float, area_mm2: float) -> PieceSkin:
    """Return a piece's skin where it stands.

    Parameters
    ----------
    placed : Placed
        Where.
    report : PatternReport or None
        Its sections as measured; without them the piece counts as one.
    volume_mm3, area_mm2 : float
        Of the body that stands for it [mm3, mm2].
    """
    if report is None or report.mesh is None or report.skin is None or not report.sections:
        return PieceSkin(np.zeros((0, 3)), np.zeros(0, dtype=np.int64), (volume_mm3 / area_mm2,), (True,))
    corners_mm = report.mesh.vertices_mm
    middle_mm = (corners_mm.min(axis=0) + corners_mm.max(axis=0)) / 2
    matrix = place_matrix(placed)
    points_mm = (report.skin.points_mm - middle_mm) @ matrix[:, :3].T + matrix[:, 3]
    least_mm = _LIGHT_RATIO * max(one.modulus_mm for one in report.sections)
    heavy = tuple(one.modulus_mm >= least_mm and one.volume_mm3 >= _SMALL_MM3 for one in report.sections)
    return PieceSkin(points_mm, report.skin.section, tuple(one.modulus_mm for one in report.sections), heavy)


def job_key(job: FlaskJob, case: Case, side_mm: float, more: Sequence[object] = ()) -> str:
    """Return the hash of everything that a run's answer depends on: metal, flask, case, grid, program and tables."""
    digest = hashlib.sha256()
    digest.update(np.ascontiguousarray(np.round(job.solid.mesh.vertices_mm, 6)).tobytes())
    digest.update(np.ascontiguousarray(job.solid.mesh.faces).tobytes())
    if job.start is not None:
        digest.update(np.ascontiguousarray(np.round(job.start.place_mm, 4)).tobytes())
        digest.update(np.ascontiguousarray(np.round(job.start.temp_K, 2)).tobytes())
    said = {
        "flask_mm": [job.radius_mm, job.height_mm, job.wall_mm],
        "button_mm": [job.solid.button_radius_mm, job.solid.button_height_mm],
        "alloy": job.conditions.alloy,
        "mould": job.conditions.mould,
        "wall": job.conditions.wall,
        "room_K": job.conditions.room_K,
        "case": asdict(case),
        "side_mm": round(side_mm, 6),
        "program": __version__,
        "tables": tables_sha256(),
        "more": list(more),
    }
    digest.update(json.dumps(said, sort_keys=True).encode())
    return digest.hexdigest()
