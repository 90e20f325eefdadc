"""Chooses which pieces share which flask: the fewest flasks, proven, and the smallest that do."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from pourwright.core.findings import Finding, Level, stops
from pourwright.core.units import show
from pourwright.prepare.flasking.fitting import Fit, Fitter, Place, Room, fitter, verified
from pourwright.prepare.flasking.packing import Packed, Task, first_fit, pack
from pourwright.prepare.flasking.results import FlaskGroup, Flasking, PieceToPlace
from pourwright.prepare.flasking.wishes import Bundle, common_window_C, find_clashes, gather_bundles, why_apart
from pourwright.shape.pattern.report import Pose
from pourwright.shape.tree.clearances import check_clearances
from pourwright.shape.tree.rules import TreeRules
from pourwright.shape.tree.simple import Point
from pourwright.studio.profile import Flask, SprueBase

_NEVER = 1e15


@dataclass(frozen=True)
class _Case:
    """Everything the choice is made from."""

    pieces: Sequence[PieceToPlace]
    places: Sequence[Place]
    rules: TreeRules
    tree_metal_g_cm3: float
    fit: Fitter


def choose_flasks(
    pieces: Sequence[PieceToPlace],
    flasks: Sequence[Flask],
    bases: Sequence[SprueBase],
    usable_g: Mapping[str, float],
    rules: TreeRules,
    tree_metal_g_cm3: float,
) -> Flasking:
    """Group the pieces of a day into flasks.

    The number of flasks is the smallest possible for trees as :func:`pourwright.shape.tree.placing.build_tree` builds
    them; among those each group goes into the smallest flask that takes it. Each steel flask is used once.

    Parameters
    ----------
    pieces : sequence of PieceToPlace
        Each one to be placed once.
    flasks : sequence of Flask
        Steel flasks that are free that day.
    bases : sequence of SprueBase
        A flask stands on the base with the largest funnel that fits it.
    usable_g : mapping of str to float
        By flask: metal for pieces, sprue and gates that funnel and crucible allow.
    rules : TreeRules
        Clearances, gates and sprue.
    tree_metal_g_cm3 : float
        Metal for each volume of sprue and gates [g/cm**3]; 0 if the pieces' masses include their share of the tree.

    Returns
    -------
    Flasking
        Groups in the order of their first piece; none, with findings, if a piece or a wish cannot be served.
    """
    places, findings = _places(flasks, bases, usable_g)
    case = _Case(pieces, places, rules, tree_metal_g_cm3, fitter(pieces, rules, tree_metal_g_cm3))
    bundles = gather_bundles(pieces)
    findings += [finding for bundle in bundles for finding in find_clashes(pieces, bundle)]
    if not places:
        findings.append(Finding("prepare.flasking-no-flask", Level.STOP, "flasks"))
    if not pieces or stops(findings):
        return Flasking((), 0, not pieces, tuple(findings))
    allowed = [_homes(case, bundle) for bundle in bundles]
    findings += [_homeless(case, bundle) for bundle, homes in zip(bundles, allowed, strict=True) if not homes]
    if stops(findings):
        return Flasking((), 0, False, tuple(findings))
    return _pack(case, bundles, allowed, findings)


def base_for(flask: Flask, bases: Sequence[SprueBase]) -> SprueBase | None:
    """Return the base with the largest funnel among those that fit a flask, or None."""
    fitting = [one for one in bases if flask.id in one.fits]
    return max(fitting, key=lambda one: one.funnel_cm3.value, default=None)


def _places(
    flasks: Sequence[Flask], bases: Sequence[SprueBase], usable_g: Mapping[str, float]
) -> tuple[list[Place], list[Finding]]:
    places, findings = [], []
    for flask in flasks:
        base = base_for(flask, bases)
        if base is None:
            findings.append(Finding("prepare.flasking-no-base", Level.LOOK, flask.id))
            continue
        inside = flask.diameter_mm.value, flask.height_mm.value
        places.append(Place(flask.id, base.id, *inside, base.button_height_mm.value, usable_g[flask.id]))
    return places, findings


def _homes(case: _Case, bundle: Bundle) -> frozenset[int]:
    """Return the places that take a bundle alone: those with full clearances, or else those with thin ones."""
    rooms = {
        number: case.fit(bundle.pieces, place).room
        for number, place in enumerate(case.places)
        if bundle.wish_flask in ("", place.flask)
    }
    best = max(rooms.values(), default=Room.NONE)
    return frozenset(number for number, room in rooms.items() if room is best and room is not Room.NONE)


def _homeless(case: _Case, bundle: Bundle) -> Finding:
    """Say what a bundle lacks in the place that comes nearest to taking it."""
    names = ", ".join(case.pieces[number].id for number in sorted(bundle.pieces))
    wished = [place for place in case.places if bundle.wish_flask in ("", place.flask)]
    if not wished:
        params = {"flask": bundle.wish_flask, "pieces": names}
        return Finding("prepare.flasking-wish-unknown", Level.STOP, names, params)
    fits = [(case.fit(bundle.pieces, place), place) for place in wished]
    fit, place = min(fits, key=lambda pair: (_lacking(pair[0]), pair[1].volume_mm3))
    params = {
        "pieces": names,
        "flask": place.flask,
        "end": show(fit.end_lacking_mm, "mm"),
        "wall": show(fit.wall_lacking_mm, "mm"),
        "over": show(fit.over_g, "g"),
        "metal": show(fit.metal_g, "g"),
        "usable": show(place.usable_g, "g"),
    }
    if _lacking(fit)[0] > 0:
        turned = _fits_turned(case, bundle, wished)
        if turned:
            return turned
        return Finding("prepare.flasking-too-big", Level.STOP, names, params, ("memory",))
    return Finding("prepare.flasking-too-heavy", Level.STOP, names, params)


def _fits_turned(case: _Case, bundle: Bundle, wished: Sequence[Place]) -> Finding | None:
    """Say how a lone piece that goes into no place as drawn is to be turned for the smallest that then takes it."""
    piece = case.pieces[min(bundle.pieces)]
    if len(bundle.pieces) > 1 or piece.poses is None:
        return None
    ways = (piece.poses.lowest, piece.poses.slimmest)
    fitting = [(place, way) for place in wished for way in ways if _takes(case, piece, way, place)]
    if not fitting:
        return None
    place, way = min(fitting, key=lambda pair: pair[0].volume_mm3)
    params = {
        "pieces": piece.id,
        "flask": place.flask,
        "drawn": _sides(piece.box_mm),
        "box": _sides((*way.footprint_mm, way.height_mm)),
        "down": ", ".join(f"{round(one, 3) + 0.0:.3f}" for one in way.down_ratio),
    }
    return Finding("prepare.flasking-fits-turned", Level.STOP, piece.id, params)


def _takes(case: _Case, piece: PieceToPlace, way: Pose, place: Place) -> bool:
    """Return whether a place takes a piece that was turned, by its box alone."""
    turned = replace(piece, box_mm=(*way.footprint_mm, way.height_mm), mesh=None, heavy_mm=(0.0, 0.0, 0.0))
    return fitter([turned], case.rules, case.tree_metal_g_cm3)(frozenset({0}), place).room is not Room.NONE


def _sides(box_mm: Point) -> str:
    return " × ".join(f"{one:.1f}" for one in box_mm)


def _lacking(fit: Fit) -> tuple[float, float]:
    """Return what a group lacks: length [mm] where clearances are refused, and metal [g]."""
    lacking_mm = fit.end_lacking_mm + fit.wall_lacking_mm if fit.refused else 0.0
    return round(lacking_mm, 6), round(fit.over_g, 6)


def _pack(
    case: _Case, bundles: Sequence[Bundle], allowed: Sequence[frozenset[int]], findings: list[Finding]
) -> Flasking:
    task = _task(case, bundles, allowed)
    packing = pack(task)
    if packing.bins is None:
        findings.append(_too_few(case, bundles, allowed, packing.proven))
        return Flasking((), packing.fewest_count, False, tuple(findings))
    if not packing.proven:
        params = {"found": len(packing.bins), "fewest": packing.fewest_count}
        findings.append(Finding("prepare.flasking-not-proven", Level.NOTE, "day.toml", params))
    groups = _groups(case, bundles, allowed, packing.bins)
    return Flasking(groups, packing.fewest_count, packing.proven, tuple(findings))


def _task(case: _Case, bundles: Sequence[Bundle], allowed: Sequence[frozenset[int]]) -> Task:
    def together(items: frozenset[int]) -> frozenset[int]:
        return frozenset[int]().union(*(bundles[item].pieces for item in items))

    def fits(items: frozenset[int], number: int) -> bool:
        room = case.fit(together(items), case.places[number]).room
        return room is Room.FULL or (len(items) == 1 and room is Room.THIN)

    conflicts = [_conflicts(case, bundles, item) for item in range(len(bundles))]
    wanted_by = [
        frozenset(item for item, homes in enumerate(allowed) if one in homes) for one in range(len(case.places))
    ]
    return Task(
        weights_g=[sum(case.pieces[number].cast_g for number in sorted(one.pieces)) for one in bundles],
        limits_g=[place.usable_g for place in case.places],
        allowed=allowed,
        conflicts=conflicts,
        fits=fits,
        item_kinds=[(_kind(case.pieces, one), *rest) for one, *rest in zip(bundles, allowed, conflicts, strict=True)],
        bin_kinds=[(place.size, wanted) for place, wanted in zip(case.places, wanted_by, strict=True)],
        roomy_first=sorted(range(len(case.places)), key=lambda one: (-case.places[one].volume_mm3, one)),
    )


def _conflicts(case: _Case, bundles: Sequence[Bundle], item: int) -> frozenset[int]:
    return frozenset(
        other
        for other in range(len(bundles))
        if other != item
        and any(
            why_apart(case.pieces[one], case.pieces[two])
            for one in bundles[item].pieces
            for two in bundles[other].pieces
        )
    )


def _kind(pieces: Sequence[PieceToPlace], bundle: Bundle) -> object:
    """Return what the packing sees of a bundle; bundles of several pieces are each of their own kind."""
    if len(bundle.pieces) > 1:
        return bundle
    piece = pieces[min(bundle.pieces)]
    return piece.cast_g, piece.box_mm, piece.gate_section_mm, id(piece.mesh)


def _too_few(case: _Case, bundles: Sequence[Bundle], allowed: Sequence[frozenset[int]], proven: bool) -> Finding:
    """Say how many flasks would do, found by lending each flask as often as there are bundles."""
    count = len(case.places)
    lent = replace(case, places=[*case.places] * len(bundles))
    free = [frozenset(one + count * turn for turn in range(len(bundles)) for one in homes) for homes in allowed]
    found = first_fit(_task(lent, bundles, free))
    params = {"have": count, "enough": len(found) if found is not None else len(bundles)}
    code = "prepare.flasking-too-few" if proven else "prepare.flasking-none-found"
    return Finding(code, Level.STOP, "day.toml", params)


def _groups(
    case: _Case, bundles: Sequence[Bundle], allowed: Sequence[frozenset[int]], bins: Packed
) -> tuple[FlaskGroup, ...]:
    held = sorted(
        ((frozenset[int]().union(*(bundles[item].pieces for item in items)), items) for items in bins.values()),
        key=lambda pair: min(pair[0]),
    )
    costs = [
        [_cost(case, numbers, items, allowed, place) for place in range(len(case.places))] for numbers, items in held
    ]
    return tuple(
        _group(case, numbers, case.places[place]) for (numbers, _), place in zip(held, _cheapest(costs), strict=True)
    )


def _cost(
    case: _Case, numbers: frozenset[int], items: frozenset[int], allowed: Sequence[frozenset[int]], place: int
) -> float:
    """Return the size of a place that takes a group, or a number too large to be chosen."""
    if not all(place in allowed[item] for item in items):
        return _NEVER
    least = Room.FULL if len(items) > 1 else Room.THIN
    fits = case.fit(numbers, case.places[place]).room >= least
    return case.places[place].volume_mm3 if fits else _NEVER


def _cheapest(costs: Sequence[Sequence[float]]) -> list[int]:
    from scipy.optimize import linear_sum_assignment

    _, columns = linear_sum_assignment(costs)
    return [int(column) for column in columns]


def _group(case: _Case, numbers: frozenset[int], place: Place) -> FlaskGroup:
    fit = case.fit(numbers, place)
    chosen = [case.pieces[number] for number in sorted(numbers)]
    tree = verified(fit.tree, chosen)
    return FlaskGroup(
        flask=place.flask,
        base=place.base,
        pieces=tuple(one.id for one in chosen),
        tree=tree,
        metal_g=fit.metal_g,
        window_C=common_window_C([one.window_C for one in chosen]),
        findings=check_clearances(tree, case.rules, place.flask),
    )
