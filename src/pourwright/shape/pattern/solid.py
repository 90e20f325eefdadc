"""From welded triangles to one solid: what is mended silently, what is mended and said, what is refused.

Silently: a mesh that is inside out, triangles that turn the wrong way, copies of triangles, corners that nearly
meet. Said: small holes closed, overlapping shells united, scraps left out, voids and separate bodies. Refused or
asked: large holes, a shell inside another that faces the same way, crossing shells that face opposite ways.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pourwright.core.errors import MeshError
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.shape.pattern import holes as hole_work
from pourwright.shape.pattern import mass, shells
from pourwright.shape.pattern.report import Mesh, Point
from pourwright.shape.pattern.shells import Shell
from pourwright.shape.pattern.topology import edges_of, open_edges, turned_alike, used_only, without_doubles
from pourwright.shape.pattern.union import unite
from pourwright.shape.pattern.weld import weld_near

# Joining nearly equal corners may cost this share of the triangles.
_NEAR_WELD_LOSS_FRAC = 0.001
# A union that changes the volume by less than this share found nothing to unite.
_UNITED_FRAC = 1e-6
# A shell that fills less than this share of its box encloses nothing.
_NOTHING_FRAC = 1e-9
# Less volume than this for each square millimetre of surface [mm] is a foil of no thickness, not a solid.
_FOIL_MM = 1e-6
# Voids smaller than this altogether are shown, but stop nothing.
_HARMLESS_VOID_MM3 = 0.05


@dataclass(frozen=True)
class Solid:
    """A closed mesh facing outward, voids facing into themselves.

    ``watertight`` says whether the file was closed before any mending, ``shells_count`` how many shells it holds;
    ``doubt_mm3`` is how much another way of closing its holes would change the volume, either way.
    """

    mesh: Mesh
    watertight: bool
    shells_count: int
    voids_count: int
    doubt_mm3: float
    findings: tuple[Finding, ...]


def place_text(place_mm: Point) -> str:
    """Return a place in the file's axes as text, in mm."""
    return "(" + ", ".join(f"{one:z.1f}".replace("-", "\u2212") for one in place_mm) + ")"


def refuse(code: str, level: Level, file: str, **params: str) -> MeshError:
    """Return the error that carries a finding after which there is no solid."""
    finding = Finding(code, level, file, {"file": file, **params})
    return MeshError(finding.what, finding)


def make_solid(mesh: Mesh, file: str) -> Solid:
    """Mend what may be mended and tell the shells apart.

    Parameters
    ----------
    mesh : Mesh
        Welded triangles in mm.
    file : str
        For the findings.

    Raises
    ------
    MeshError
        There is no honest solid; its finding says why.
    """
    if not len(mesh.faces):
        raise refuse("shape.no-area", Level.STOP, file)
    tidy, sides_count = _tidied(mesh)
    if not len(tidy.faces):  # every triangle had its own back
        raise refuse("shape.no-volume", Level.STOP, file)
    closed, doubt_mm3, said = _closed(tidy, file)
    pieces, scraps = _without_scraps(shells.split(closed), file)
    bodies, turns = _arranged(pieces, file)
    whole, union = _united(bodies, file)
    voids_count, facts = _voids_and_bodies(whole, file)
    findings = (*said, *scraps, *turns, *union, *facts)
    return Solid(whole, sides_count == 0, len(pieces), voids_count, doubt_mm3, findings)


def _tidied(mesh: Mesh) -> tuple[Mesh, int]:
    """Drop copies, turn neighbours alike, join nearly equal corners if that closes the mesh; count open sides."""
    tidy, sides = _without_copies(mesh)
    if not len(sides):
        return tidy, 0
    joined = weld_near(tidy, np.unique(sides))
    if len(joined.faces) < (1 - _NEAR_WELD_LOSS_FRAC) * len(tidy.faces):
        return tidy, len(sides)
    joined, left = _without_copies(joined)
    if len(joined.faces) and not len(left):
        return used_only(joined), 0
    return tidy, len(sides)


def _without_copies(mesh: Mesh) -> tuple[Mesh, NDArray[np.int64]]:
    """Drop copies of triangles unless they belong to two bodies that share a face; return the open sides too."""
    single = without_doubles(mesh)
    if single is mesh:
        kept = turned_alike(mesh)
        return kept, open_edges(edges_of(kept))
    cleaned, kept = turned_alike(single), turned_alike(mesh)
    sides, sides_before = open_edges(edges_of(cleaned)), open_edges(edges_of(kept))
    return (cleaned, sides) if len(sides) <= len(sides_before) else (kept, sides_before)


def _closed(mesh: Mesh, file: str) -> tuple[Mesh, float, tuple[Finding, ...]]:
    sides = open_edges(edges_of(mesh))
    if not len(sides):
        return mesh, 0.0, ()
    if len(sides) > hole_work.MOST_TRACED_EDGES:
        raise refuse("shape.mesh-torn", Level.STOP, file, count=f"{len(sides):,}")
    found = hole_work.trace_holes(mesh, sides)
    patched = hole_work.close_holes(mesh, found)
    area_mm2, volume_mm3 = mass.area_mm2(mesh), abs(mass.volume_mm3(patched))
    patch_mm2, doubt_mm3 = sum(one.area_mm2 for one in found), sum(one.doubt_mm3 for one in found)
    params = {
        "count": str(len(found)),
        "area": show(patch_mm2, "mm2", 3),
        "largest": show(found[0].area_mm2, "mm2", 3),
        "place": place_text(found[0].place_mm),
        "share": show(100 * patch_mm2 / area_mm2, "percent", 2),
        "doubt": show(doubt_mm3, "mm3", 3),
    }
    if patch_mm2 >= hole_work.CLOSABLE_AREA_FRAC * area_mm2 or doubt_mm3 >= hole_work.CLOSABLE_VOLUME_FRAC * volume_mm3:
        raise refuse("shape.mesh-open", Level.STOP, file, **params)
    return patched, doubt_mm3, (Finding("shape.holes-closed", Level.LOOK, file, {"file": file, **params}),)


def _without_scraps(pieces: Sequence[Shell], file: str) -> tuple[list[Shell], tuple[Finding, ...]]:
    largest_mm3 = abs(pieces[0].volume_mm3)
    if largest_mm3 <= _NOTHING_FRAC * float(np.prod(np.maximum(pieces[0].high_mm - pieces[0].low_mm, 1e-9))):
        raise refuse("shape.no-volume", Level.STOP, file)
    limit_mm3 = min(shells.SCRAP_MM3, shells.SCRAP_FRAC * largest_mm3)
    kept = [one for one in pieces if abs(one.volume_mm3) >= limit_mm3]
    scraps = [one for one in pieces if abs(one.volume_mm3) < limit_mm3]
    if len(kept) > shells.MOST_SHELLS:
        limit = f"{shells.MOST_SHELLS:,}"
        raise refuse("shape.too-many-shells", Level.STOP, file, count=f"{len(kept):,}", limit=limit)
    if len(kept) > 1 and shells.nesting_steps(kept) > shells.MOST_STEPS:
        raise refuse("shape.shells-entangled", Level.STOP, file, count=f"{len(kept):,}")
    if not scraps:
        return kept, ()
    params = {
        "file": file,
        "count": str(len(scraps)),
        "limit": show(limit_mm3, "mm3", 4),
        "place": place_text(scraps[0].middle_mm),
    }
    return kept, (Finding("shape.scraps", Level.NOTE, file, params),)


def _arranged(pieces: list[Shell], file: str) -> tuple[list[list[Shell]], tuple[Finding, ...]]:
    """Group shells into bodies: an outer shell facing outward, with what lies inside it."""
    holder = shells.holders(pieces)
    root = _roots(holder)
    inside_out = [one.volume_mm3 < 0 for one in pieces]
    outer = [number for number, held_by in enumerate(holder) if held_by < 0]
    _ask_about_opposites([pieces[one] for one in outer], file)
    facing = [shells.turned(one) if inside_out[root[number]] else one for number, one in enumerate(pieces)]
    for number, held_by in enumerate(holder):
        if held_by >= 0 and (facing[number].volume_mm3 > 0) == (facing[held_by].volume_mm3 > 0):
            raise _nested(facing[number], facing[held_by], file)
    bodies = [[facing[number] for number in range(len(pieces)) if root[number] == one] for one in outer]
    turned = any(inside_out[one] for one in outer)
    return bodies, (Finding("shape.turned", Level.NOTE, file, {"file": file}),) if turned else ()


def _roots(holder: list[int]) -> list[int]:
    root: list[int] = []
    for number, held_by in enumerate(holder):  # a holder always comes before what it holds
        root.append(number if held_by < 0 else root[held_by])
    return root


def _nested(inner: Shell, outer: Shell, file: str) -> MeshError:
    as_void_mm3 = abs(outer.volume_mm3) - abs(inner.volume_mm3)
    return refuse(
        "shape.shell-nested",
        Level.ASK,
        file,
        inner=show(abs(inner.volume_mm3), "mm3"),
        place=place_text(inner.middle_mm),
        solid=show(abs(outer.volume_mm3), "mm3"),
        hollow=show(as_void_mm3, "mm3"),
    )


def _ask_about_opposites(outer: list[Shell], file: str) -> None:
    """A shell that is inside out while another it crosses is not may be meant as a cut: only the user knows."""
    backward = [one for one in outer if one.volume_mm3 < 0]
    forward = [one for one in outer if one.volume_mm3 > 0]
    if shells.cutting_steps(backward, forward) > shells.MOST_STEPS:
        raise refuse("shape.shells-entangled", Level.STOP, file, count=f"{len(outer):,}")
    for one in backward:
        for other in forward:
            if shells.boxes_meet(one, other) and _share(one, other):
                raise refuse("shape.shells-opposed", Level.ASK, file, place=place_text(one.middle_mm))


def _share(one: Shell, other: Shell) -> bool:
    try:
        return shells.overlap_mm3(one, other) > _UNITED_FRAC * abs(one.volume_mm3)
    except MeshError:
        return True


def _united(bodies: list[list[Shell]], file: str) -> tuple[Mesh, tuple[Finding, ...]]:
    meshes = [_beside([one.mesh for one in body]) for body in bodies]
    if not _any_boxes_meet([body[0] for body in bodies]):
        return _beside(meshes), ()
    apart_mm3 = sum(one.volume_mm3 for body in bodies for one in body)
    try:
        whole = unite(meshes)
    except MeshError:  # a shell touches itself: the voxel volume will judge the overlap
        return _beside(meshes), ()
    shared_mm3 = apart_mm3 - mass.volume_mm3(whole)
    if abs(shared_mm3) <= _UNITED_FRAC * apart_mm3:
        return _beside(meshes), ()
    params = {"file": file, "count": str(len(bodies)), "shared": show(shared_mm3, "mm3", 2)}
    return whole, (Finding("shape.shells-united", Level.NOTE, file, params),)


def _any_boxes_meet(outer: list[Shell]) -> bool:
    low, high = np.array([one.low_mm for one in outer]), np.array([one.high_mm for one in outer])
    for number in range(len(outer) - 1):
        rest = slice(number + 1, None)
        if np.all((low[rest] <= high[number]) & (high[rest] >= low[number]), axis=1).any():
            return True
    return False


def _beside(meshes: Sequence[Mesh]) -> Mesh:
    starts = np.concatenate([[0], np.cumsum([len(mesh.vertices_mm) for mesh in meshes])])
    faces = [mesh.faces + start for mesh, start in zip(meshes, starts, strict=False)]
    return Mesh(np.vstack([mesh.vertices_mm for mesh in meshes]), np.vstack(faces))


def _voids_and_bodies(mesh: Mesh, file: str) -> tuple[int, tuple[Finding, ...]]:
    """Count the voids of the finished solid and say what the user should know about voids and bodies."""
    pieces = shells.split(mesh)
    metal_mm3 = sum(one.volume_mm3 for one in pieces)
    if metal_mm3 <= _FOIL_MM * mass.area_mm2(mesh):
        raise refuse("shape.no-volume", Level.STOP, file)
    bodies = [one for one in pieces if one.volume_mm3 > 0]
    voids = [one for one in pieces if one.volume_mm3 < -_UNITED_FRAC]
    found = [_void_finding(voids, metal_mm3, file)] if voids else []
    if len(bodies) > 1:
        smallest = {"smallest": show(bodies[-1].volume_mm3, "mm3", 2), "place": place_text(bodies[-1].middle_mm)}
        params = {"file": file, "count": str(len(bodies)), **smallest}
        found.append(Finding("shape.several-bodies", Level.LOOK, file, params))
    return len(voids), tuple(found)


def _void_finding(voids: list[Shell], metal_mm3: float, file: str) -> Finding:
    void_mm3 = -sum(one.volume_mm3 for one in voids)
    params = {
        "file": file,
        "count": str(len(voids)),
        "volume": show(void_mm3, "mm3"),
        "place": place_text(voids[0].middle_mm),
        "body": show(metal_mm3, "mm3"),
        "full": show(metal_mm3 + void_mm3, "mm3"),
    }
    level = Level.STOP if void_mm3 > _HARMLESS_VOID_MM3 else Level.LOOK
    return Finding("shape.void-sealed", level, file, params)
