"""Volume and mass in metal of one piece, from its pattern file, from weighing its pattern, or both held together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pourwright.core.errors import DataError
from pourwright.core.figure import Figure, given, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.matter.alloys import Alloy
from pourwright.matter.practice import rule
from pourwright.prepare.densities import DensityLookup, PatternDensity, solid_g_cm3
from pourwright.shape.pattern.report import PatternReport
from pourwright.studio.day import PatternPart, PieceOrder

# Weighed and measured volume may differ by this much before it is asked about. Common practice, no source.
GAP_MOST_FRAC = 0.03
# Parts weighed singly may miss the whole by two usual scale marks or this share.
_PARTS_MISS_G = 0.02
_PARTS_MISS_FRAC = 0.01
_MM3_PER_CM3 = 1000.0


@dataclass(frozen=True)
class PieceMass:
    """What one copy of a piece takes in metal.

    Parameters
    ----------
    volume_cm3, cast_g : Figure or None
        Volume and sound mass [cm**3, g]; None when a finding says why there is none.
    pattern_g : Figure or None
        What the pattern should weigh by its file [g], to check it against the scale.
    gap_frac : float or None
        Weighed volume over measured volume, less one; None unless both are known.
    stones : bool
        Whether something in the pattern does not melt out.
    family : str
        Of the pattern's material; empty if it is not known.
    findings : tuple of Finding
        For this piece.
    """

    volume_cm3: Figure | None
    cast_g: Figure | None
    pattern_g: Figure | None
    gap_frac: float | None
    stones: bool
    family: str
    findings: tuple[Finding, ...]


def piece_mass(order: PieceOrder, report: PatternReport | None, lookup: DensityLookup, alloy: Alloy) -> PieceMass:
    """Work out volume and mass of one copy of a piece.

    Parameters
    ----------
    order : PieceOrder
        What the day file says; masses are those of one copy.
    report : PatternReport or None
        Its pattern file, measured.
    lookup : callable
        Finds the density of a pattern material, see :func:`pourwright.prepare.densities.density_lookup`.
    alloy : Alloy
        The metal.

    Returns
    -------
    PieceMass
        With the mesh's volume where it is known, else the weighed one. Where both are known and more than 3 % apart,
        a finding asks: the mesh says nothing of how the pattern came out.
    """
    stones = order.stone_g is not None and order.stone_g.value > 0
    materials, unknown = _materials(order, lookup)
    measured = _measured_cm3(report)
    weighed, problems = (None, ()) if unknown else _by_hand_cm3(order, materials, measured is None)
    volume = measured or weighed
    found = (*unknown, *problems, *_nothing_known(order, report, volume, unknown or problems))
    if measured and weighed:
        found += _gap(order, measured, weighed)
    if stones:
        found += _stones(order)
    material = materials.get(order.material)
    return PieceMass(
        volume,
        cast_mass(volume, alloy) if volume else None,
        _pattern_mass(measured, material) if measured and material else None,
        weighed.value / measured.value - 1.0 if measured and weighed else None,
        stones,
        material.family if material else "",
        found,
    )


def cast_mass(volume_cm3: Figure, alloy: Alloy) -> Figure:
    """Return the mass of sound solid metal [g] that fills a volume [cm**3]."""
    inputs = {"volume": volume_cm3, "solid": solid_g_cm3(alloy)}
    return reckon("g", "prepare.charge-solid-mass", lambda volume, solid: volume * solid, inputs, ("derived",))


def weighed_volume(parts: Sequence[tuple[Figure, Figure]]) -> Figure:
    """Return the volume of a weighed pattern [cm**3] from mass [g] and density [g/cm**3] of each of its parts."""
    masses = {f"mass_{number}": mass for number, (mass, _) in enumerate(parts, 1)}
    densities = {f"density_{number}": density for number, (_, density) in enumerate(parts, 1)}

    def volume(**numbers: float) -> float:
        return sum(numbers[f"mass_{one}"] / numbers[f"density_{one}"] for one in range(1, len(parts) + 1))

    return reckon("cm3", "prepare.piece-weighed", volume, {**masses, **densities}, ("derived",))


def _materials(order: PieceOrder, lookup: DensityLookup) -> tuple[dict[str, PatternDensity], tuple[Finding, ...]]:
    materials, found = {}, []
    wanted = [one.material for one in order.parts] or [order.material]
    for name in dict.fromkeys([*wanted, order.material] if order.material else wanted):
        try:
            materials[name] = lookup(name)
        except DataError as unknown:
            params = {"piece": order.id, "material": name, "reason": str(unknown)}
            found.append(Finding("prepare.piece-material", Level.STOP, order.id, params))
    return materials, tuple(found)


def _measured_cm3(report: PatternReport | None) -> Figure | None:
    if report is None or report.volume_mm3 <= 0:
        return None
    volume = given(report.volume_mm3, "mm3", report.file, report.volume_low_mm3, report.volume_high_mm3)
    return reckon("cm3", "prepare.piece-measured", lambda volume: volume / _MM3_PER_CM3, {"volume": volume})


def _by_hand_cm3(
    order: PieceOrder, materials: Mapping[str, PatternDensity], alone: bool
) -> tuple[Figure | None, tuple[Finding, ...]]:
    """Return the volume measured without a file [cm**3]: the water displaced, else by weight and density."""
    if order.displaced_cm3 is None:
        return _weighed_cm3(order, materials, alone)
    return reckon("cm3", "prepare.piece-displaced", lambda water: water, {"water": order.displaced_cm3}), ()


def _weighed_cm3(
    order: PieceOrder, materials: Mapping[str, PatternDensity], alone: bool
) -> tuple[Figure | None, tuple[Finding, ...]]:
    parts, problems = _parts(order)
    if problems or not parts:
        return None, problems
    guessed = [one.material for one in parts if _is_guess(materials[one.material])]
    if guessed and alone:
        params = {"piece": order.id, "material": guessed[0]}
        return None, (Finding("prepare.piece-organic", Level.ASK, order.id, params),)
    if guessed:
        return None, ()
    return weighed_volume([(one.mass_g, materials[one.material].density_g_cm3) for one in parts]), ()


def _is_guess(material: PatternDensity) -> bool:
    return material.family == "organic" and not material.own


def _parts(order: PieceOrder) -> tuple[tuple[PatternPart, ...], tuple[Finding, ...]]:
    """Return what melts out, by material: the parts if they were weighed singly, else the whole less its stones."""
    stone_g = order.stone_g.value if order.stone_g else 0.0
    if order.parts:
        return order.parts, _parts_miss(order, stone_g)
    if order.weighed_g is None:
        return (), ()
    if stone_g >= order.weighed_g.value:
        params = {"piece": order.id, "stone": show(stone_g, "g"), "weighed": show(order.weighed_g.value, "g")}
        return (), (Finding("prepare.piece-all-stone", Level.STOP, order.id, params),)
    return (PatternPart(order.material, _less_stone(order.weighed_g, order.stone_g)),), ()


def _less_stone(weighed_g: Figure, stone_g: Figure | None) -> Figure:
    if stone_g is None:
        return weighed_g
    inputs = {"weighed": weighed_g, "stone": stone_g}
    return reckon("g", "prepare.piece-less-stone", lambda weighed, stone: weighed - stone, inputs, ("derived",))


def _parts_miss(order: PieceOrder, stone_g: float) -> tuple[Finding, ...]:
    if order.weighed_g is None:
        return ()
    whole_g, sum_g = order.weighed_g.value, sum(one.mass_g.value for one in order.parts) + stone_g
    if abs(sum_g - whole_g) <= max(_PARTS_MISS_G, _PARTS_MISS_FRAC * whole_g):
        return ()
    params = {"piece": order.id, "sum": show(sum_g, "g"), "weighed": show(whole_g, "g")}
    return (Finding("prepare.piece-parts-miss", Level.ASK, order.id, params),)


def _nothing_known(
    order: PieceOrder, report: PatternReport | None, volume: Figure | None, said: tuple[Finding, ...]
) -> tuple[Finding, ...]:
    if volume is not None or said or (report is not None and report.findings):
        return ()
    return (Finding("prepare.piece-no-amount", Level.ASK, order.id, {"piece": order.id}),)


def _gap(order: PieceOrder, measured: Figure, weighed: Figure) -> tuple[Finding, ...]:
    """Ask about a gap that the density cannot explain; look at one that it can."""
    gap_frac = weighed.value / measured.value - 1.0
    if abs(gap_frac) <= GAP_MOST_FRAC:
        return ()
    params = {
        "piece": order.id,
        "weighed": show(weighed.value, "cm3", 3),
        "measured": show(measured.value, "cm3", 3),
        "gap": show(100.0 * abs(gap_frac), "percent"),
        "most": show(100.0 * GAP_MOST_FRAC, "percent", 0),
    }
    explained = weighed.low <= measured.high and measured.low <= weighed.high
    code, level = ("prepare.piece-gap-density", Level.LOOK) if explained else ("prepare.piece-gap", Level.ASK)
    return (Finding(code, level, order.id, params, ("none",)),)


def _pattern_mass(measured: Figure, material: PatternDensity) -> Figure:
    inputs = {"volume": measured, "density": material.density_g_cm3}
    return reckon("g", "prepare.piece-pattern-mass", lambda volume, density: volume * density, inputs, ("derived",))


def _stones(order: PieceOrder) -> tuple[Finding, ...]:
    ceiling = rule("burn.stoneplace")
    if ceiling.value is None or order.stone_g is None:
        raise ValueError("stones without a mass, or rule burn.stoneplace without a value")
    params = {"piece": order.id, "stone": show(order.stone_g.value, "g"), "ceiling": show(ceiling.value, "C")}
    return (Finding("prepare.piece-stones", Level.LOOK, order.id, params, ceiling.sources),)


@dataclass(frozen=True)
class FactorRow:
    """What a fixed factor gives for a weighed part, what its density gives, and how far the factor is off."""

    material: str
    by_factor_g: float
    by_density_g: Figure
    error_frac: float


def compare_factor(
    parts: Sequence[PatternPart], factor_ratio: float, lookup: DensityLookup, alloy: Alloy
) -> tuple[FactorRow, ...]:
    """Hold "pattern weight times ten" against the sum by density, part by part.

    Parameters
    ----------
    parts : sequence of PatternPart
        Weighed parts.
    factor_ratio : float
        The factor, such as 10.
    lookup : callable
        Finds the density of a pattern material.
    alloy : Alloy
        The metal.
    """
    rows = []
    for one in parts:
        truth = cast_mass(weighed_volume([(one.mass_g, lookup(one.material).density_g_cm3)]), alloy)
        by_factor_g = factor_ratio * one.mass_g.value
        rows.append(FactorRow(one.material, by_factor_g, truth, by_factor_g / truth.value - 1.0))
    return tuple(rows)
