"""The pieces of the day: measured, weighed in metal, and made ready for a place on a tree."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level, stops
from pourwright.core.ids import piece_id
from pourwright.matter.alloys import Alloy
from pourwright.prepare.castability.body import Body, body_of
from pourwright.prepare.castability.filling import thin_patches
from pourwright.prepare.castability.intake import intake_findings
from pourwright.prepare.castability.judge import castability, gate_off, without_repeats
from pourwright.prepare.castability.shrinkage import fit_findings, practice_shrinkage
from pourwright.prepare.casting_temperature import Window, asked_window, below_stones, practice_window
from pourwright.prepare.charge.pieces import PieceMass, piece_mass
from pourwright.prepare.day_plan import PlannedPiece
from pourwright.prepare.densities import density_lookup
from pourwright.prepare.flasking.results import PieceToPlace
from pourwright.shape.pattern.report import PatternReport, Point
from pourwright.studio.calibration_reading import calibrated_figure
from pourwright.studio.day import Day, PieceOrder
from pourwright.studio.profile import Studio

Measure = Callable[[PieceOrder], PatternReport | None]

# A round gate has modulus diameter/4, the gate rule takes 1.5 times the section's thickness as diameter, and the
# feeder's modulus is to be 1.2 times the section's (rules gate.dia and gate.modulus): thickness = 4 x 1.2 / 1.5.
_GATE_THICKNESS_PER_MODULUS = 3.2
# Of a piece that was only weighed: the modulus of a cube is a sixth of its side.
_CUBE_MODULUS_PER_SIDE = 1.0 / 6.0
_MM_PER_CM = 10.0


@dataclass(frozen=True)
class PiecesOfDay:
    """Planned pieces, the same ready for placing, and their flask temperature windows by piece."""

    planned: tuple[PlannedPiece, ...]
    to_place: tuple[PieceToPlace, ...]
    windows: Mapping[str, Window]
    findings: tuple[Finding, ...]


def plan_pieces(studio: Studio, day: Day, alloy: Alloy, measure: Measure) -> PiecesOfDay:
    """Measure and weigh every piece ordered for the day, one entry for each copy.

    Parameters
    ----------
    studio : Studio
        Its own pattern materials come before the tables.
    day : Day
        Pieces ordered.
    alloy : Alloy
        What is cast.
    measure : callable
        Returns the report of an order's pattern file, or None if it has none.
    """
    lookup = density_lookup(studio.materials)
    planned: list[PlannedPiece] = []
    to_place: list[PieceToPlace] = []
    windows: dict[str, Window] = {}
    findings: list[Finding] = []
    read = _once_for_each_file(measure)
    accepted = calibrated_figure(studio, "shrink.part")
    shrink = accepted or practice_shrinkage(alloy.family)
    for row, order in enumerate(day.pieces):
        report = read(order)
        mass = piece_mass(order, report, lookup, alloy)
        body = body_of(report, order.id, order.gate_mm) if report else None
        found = (*_judged(order, report, body, alloy, shrink), *mass.findings, *_size_unknown(order, report))
        findings += found
        if mass.volume_cm3 is None or mass.cast_g is None or stops(found):
            continue
        thinnest = thinnest_mm(report, body)
        for copy in range(1, order.copies_count + 1):
            piece = _planned(day, row, copy, len(planned) + 1, report, mass, found)
            planned.append(piece)
            window, cooled = _window(piece, order, alloy, thinnest)
            findings += cooled
            if window:
                windows[piece.id] = window
            to_place.append(_to_place(piece, order, report))
    findings += [*fit_findings(studio.shrink_pairs, accepted), *_over_intake(studio, planned)]
    return PiecesOfDay(tuple(planned), _kept_apart(day, planned, to_place), windows, tuple(findings))


def _judged(
    order: PieceOrder, report: PatternReport | None, body: Body | None, alloy: Alloy, shrink_frac: Figure | None
) -> tuple[Finding, ...]:
    """Return what was found on measuring, and what the rules of castability say with the gate the order asks for."""
    if report is None or body is None:
        return report.findings if report else ()
    off = gate_off(body, order.gate_mm)
    judged = off or castability(body, alloy.family, shrink_frac, order.accepted_by)
    return (*without_repeats(report.findings), *judged)


def _over_intake(studio: Studio, planned: Sequence[PlannedPiece]) -> tuple[Finding, ...]:
    by_owner: dict[str, list[Figure]] = {}
    for one in planned:
        by_owner.setdefault(one.owner, []).append(one.cast_g)
    return intake_findings(studio.habits.intake_limit_g, by_owner, studio.units.mass)


def _window(
    piece: PlannedPiece, order: PieceOrder, alloy: Alloy, thinnest_mm: float | None
) -> tuple[Window | None, tuple[Finding, ...]]:
    """Return the flask temperatures that the day asks for, else those of practice, which only advise."""
    if order.flask_temperature_C is not None:
        return asked_window(piece.id, order.flask_temperature_C), ()
    window = practice_window(piece.id, alloy, thinnest_mm)
    return below_stones(window) if window and piece.stones else (window, ())


def _kept_apart(
    day: Day, planned: Sequence[PlannedPiece], to_place: Sequence[PieceToPlace]
) -> tuple[PieceToPlace, ...]:
    """Turn the orders that each order is to be kept apart from into their pieces, copy by copy."""
    copies: dict[str, list[str]] = {}
    for one in planned:
        copies.setdefault(day.pieces[one.order].id, []).append(one.id)
    apart = []
    for one, place in zip(planned, to_place, strict=True):
        named = (piece for order in day.pieces[one.order].apart_from for piece in copies.get(order, ()))
        apart.append(replace(place, apart_from=tuple(piece for piece in named if piece != place.id)))
    return tuple(apart)


def _once_for_each_file(measure: Measure) -> Measure:
    """Measure a file once, however many orders name it in the same units."""
    known: dict[tuple[str, str], PatternReport | None] = {}

    def read(order: PieceOrder) -> PatternReport | None:
        key = (order.file, order.units)
        if not order.file or key not in known:
            known[key] = measure(order)
        return known[key]

    return read


def _planned(
    day: Day,
    row: int,
    copy: int,
    number: int,
    report: PatternReport | None,
    mass: PieceMass,
    found: tuple[Finding, ...],
) -> PlannedPiece:
    order = day.pieces[row]
    assert mass.volume_cm3 is not None and mass.cast_g is not None
    return PlannedPiece(
        id=piece_id(day.date, number),
        order=row,
        copy=copy,
        title=order.title,
        owner=order.owner,
        material=order.material,
        volume_cm3=mass.volume_cm3,
        cast_g=mass.cast_g,
        pattern=report,
        stones=mass.stones,
        family=mass.family,
        findings=found if copy == 1 else (),
    )


def thinnest_mm(report: PatternReport | None, body: Body | None = None) -> float | None:
    """Return the thinnest section known of a piece [mm], or None where nothing was measured.

    Parameters
    ----------
    report : PatternReport or None
        Its thinnest wall is a share of the whole skin, which a small fin may be below.
    body : Body or None
        The same with its gate: what castability calls too thin to fill counts too, however small it is.
    """
    walls_mm = [report.wall.thickness_mm] if report and report.wall else []
    patches_mm = [one.thickness_mm for one in thin_patches(body)] if body else []
    return min((*walls_mm, *patches_mm), default=None)


def _to_place(piece: PlannedPiece, order: PieceOrder, report: PatternReport | None) -> PieceToPlace:
    asked = order.flask_temperature_C
    return PieceToPlace(
        id=piece.id,
        cast_g=piece.cast_g.value,
        box_mm=report.box_mm if report else _box_of_weighed(order, piece.volume_cm3),
        gate_section_mm=gate_section_mm(order, report, piece.volume_cm3),
        stones=piece.stones,
        wish_flask=order.wish_flask,
        together=order.together,
        window_C=(asked.low, asked.high) if asked else None,
        mesh=report.mesh if report else None,
        heavy_mm=_heavy_mm(report),
        poses=report.poses if report else None,
    )


def _heavy_mm(report: PatternReport | None) -> Point:
    """Return where the heaviest section lies from the middle of the pattern's box [mm]."""
    if report is None or report.mesh is None or report.heaviest is None:
        return (0.0, 0.0, 0.0)
    corners = report.mesh.vertices_mm
    x, y, z = report.heaviest.place_mm - (corners.min(axis=0) + corners.max(axis=0)) / 2
    return (float(x), float(y), float(z))


def gate_section_mm(order: PieceOrder, report: PatternReport | None, volume_cm3: Figure) -> float:
    """Return the thickness that the gate is sized by [mm]: from the heaviest section's modulus, else as told.

    Parameters
    ----------
    order : PieceOrder
        May say the thickest section.
    report : PatternReport or None
        Has the sections of a measured pattern.
    volume_cm3 : Figure
        Of one copy [cm3].
    """
    if report and report.heaviest:
        return _GATE_THICKNESS_PER_MODULUS * report.heaviest.modulus_mm
    if order.thickest_mm:
        return order.thickest_mm.value
    side_mm = _MM_PER_CM * float(volume_cm3.value ** (1 / 3))
    return _GATE_THICKNESS_PER_MODULUS * _CUBE_MODULUS_PER_SIDE * side_mm


def _box_of_weighed(order: PieceOrder, volume_cm3: Figure) -> tuple[float, float, float]:
    """Return the box of a piece without a mesh: as long and as wide as its longest side, so never too small."""
    assert order.longest_mm is not None  # a finding asks for it
    longest = order.longest_mm.value
    least = _MM_PER_CM**3 * volume_cm3.value / longest**2
    return longest, longest, max(least, order.thickest_mm.value if order.thickest_mm else longest)


def _size_unknown(order: PieceOrder, report: PatternReport | None) -> tuple[Finding, ...]:
    if report is not None or order.longest_mm is not None:
        return ()
    return (Finding("prepare.piece-size-unknown", Level.ASK, order.id, {"piece": order.id}),)
