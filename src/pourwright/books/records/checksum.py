"""The five weighings of a load as a checksum: a wrong flask, residue, a short pour, found before the mould is broken.

Base alone; pattern on its base; flask when invested, without the base; flask when burned out; flask after the throw.
Each is expected from the ones before it, and from the plan where they are lacking, with the range that follows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pourwright.books.records.plans import LoadSetup
from pourwright.core.figure import Figure, reckon
from pourwright.core.findings import Finding, Level
from pourwright.core.units import show
from pourwright.physics.spin.balance import dry_flask_kg
from pourwright.prepare.rule_figures import total_of

STAGES = ("base", "pattern", "invested", "burned-out", "cast")
Read = Mapping[str, Figure]


@dataclass(frozen=True)
class WeighedLoad:
    """A load with what was read so far, by stage."""

    setup: LoadSetup
    read: Read = field(default_factory=dict)


def expected_g(one: WeighedLoad) -> dict[str, Figure]:
    """Return what each weighing of a load should say, in g; a stage of which nothing can be said is left out."""
    found = {"invested": _invested(one), "burned-out": _burned_out(one)}
    if "base" in one.read:
        found["pattern"] = total_of(
            "g", "books.how-pattern-on-base", {"base": one.read["base"], "tree": one.setup.tree_g}
        )
    if one.setup.charge_g is not None:
        found["cast"] = _cast(one, one.setup.charge_g)
    return {stage: found[stage] for stage in STAGES if stage in found}


def tree_g(one: WeighedLoad) -> Figure:
    """Return the pattern on its sprue: the difference of two weighings, or as planned, in g."""
    if "base" not in one.read or "pattern" not in one.read:
        return one.setup.tree_g
    return _less("books.how-tree", whole=one.read["pattern"], less=one.read["base"])


def metal_g(one: WeighedLoad) -> Figure | None:
    """Return the metal in the mould: the flask after the throw less the burned-out one, in g; None if not weighed."""
    if "cast" not in one.read or "burned-out" not in one.read:
        return None
    return _less("books.how-metal", whole=one.read["cast"], less=one.read["burned-out"])


def _less(how: str, whole: Figure, less: Figure) -> Figure:
    return reckon("g", how, lambda whole, less: whole - less, {"whole": whole, "less": less})


def _invested(one: WeighedLoad) -> Figure:
    setup = one.setup
    return reckon(
        "g",
        "books.how-invested",
        lambda steel_g, tree_g, powder_g, water_ratio: steel_g + tree_g + powder_g * (1 + water_ratio),
        {
            "steel_g": setup.steel_g,
            "tree_g": tree_g(one),
            "powder_g": setup.powder_g,
            "water_ratio": setup.water_ratio,
        },
    )


def _burned_out(one: WeighedLoad) -> Figure:
    """From the weight when invested, because that is what is really in the flask; else as planned."""
    setup = one.setup
    if "invested" not in one.read:
        return setup.dry_g
    return reckon("g", "books.how-dry", _dry_g, {
        "invested_g": one.read["invested"], "steel_g": setup.steel_g, "tree_g": tree_g(one),
        "water_ratio": setup.water_ratio, "hemihydrate_frac": setup.hemihydrate_frac,
    })  # fmt: skip


def _dry_g(invested_g: float, steel_g: float, tree_g: float, water_ratio: float, hemihydrate_frac: float) -> float:
    powder_g = (invested_g - steel_g - tree_g) / (1 + water_ratio)
    return 1000 * dry_flask_kg(steel_g / 1000, powder_g / 1000, hemihydrate_frac)


def _cast(one: WeighedLoad, charge_g: Figure) -> Figure:
    dry = one.read.get("burned-out") or _burned_out(one)
    return reckon(
        "g",
        "books.how-cast",
        lambda dry_g, charge_g, loss_frac: dry_g + charge_g * (1 - loss_frac),
        {"dry_g": dry, "charge_g": charge_g, "loss_frac": one.setup.loss_frac},
    )


def judge(one: WeighedLoad, stage: str, others: Sequence[WeighedLoad] = ()) -> tuple[Finding, ...]:
    """Return what a weighing says: nothing if it is as expected.

    Parameters
    ----------
    one : WeighedLoad
        The load, with the weighing to be judged among what was read.
    stage : str
        One of :data:`STAGES`.
    others : sequence of WeighedLoad
        The other loads of the day, one of which may have been on the scale.
    """
    reading, should = one.read.get(stage), expected_g(one).get(stage)
    if reading is None:
        return ()
    if stage == "cast" and metal_g(one) is not None:
        return _cast_findings(one, others)
    if should is None or _meet(reading, should):
        return ()
    return _other_flask(one, stage, others) or _off(one, stage, reading, should)


def _meet(reading: Figure, should: Figure) -> bool:
    return reading.low <= should.high and should.low <= reading.high


def _other_flask(one: WeighedLoad, stage: str, others: Sequence[WeighedLoad]) -> tuple[Finding, ...]:
    """Ask whether another flask stood on the scale: one whose weight this is."""
    reading, should = one.read[stage], expected_g(one)[stage]
    like = [
        other
        for other in others
        if other.setup.load != one.setup.load and _meet(reading, expected_g(other).get(stage) or should)
    ]
    if not like:
        return ()
    numbers = ", ".join(str(other.setup.number) for other in like)
    params = _shown(one, reading, should) | {"like": numbers}
    return (Finding("books.weighing-other-flask", Level.ASK, one.setup.load, params),)


_CODES = {
    "pattern": ("books.weighing-pattern-light", "books.weighing-pattern-heavy"),
    "invested": ("books.weighing-invested-light", "books.weighing-invested-heavy"),
    "burned-out": ("books.weighing-dry-light", "books.weighing-dry-heavy"),
    "cast": ("books.weighing-cast-light", "books.weighing-cast-heavy"),
}
# Metal poured into a damp mould is thrown out by steam: that one stops.
_STOPS = "books.weighing-dry-heavy"


def _off(one: WeighedLoad, stage: str, reading: Figure, should: Figure) -> tuple[Finding, ...]:
    heavy = reading.low > should.high
    gap_g = reading.value - should.high if heavy else should.low - reading.value
    params = _shown(one, reading, should) | {"gap": show(gap_g, "g", 1), "tree": show(tree_g(one).value, "g", 1)}
    if heavy and stage == "invested" and "base" in one.read and _fits_with_base(one, reading, should):
        return (Finding("books.weighing-base-left-on", Level.ASK, one.setup.load, params),)
    code = _CODES[stage][heavy]
    if code == _STOPS and gap_g > tree_g(one).high:
        code = "books.weighing-dry-wet"
    level = Level.STOP if stage == "burned-out" and heavy else Level.LOOK
    return (Finding(code, level, one.setup.load, params),)


def _fits_with_base(one: WeighedLoad, reading: Figure, should: Figure) -> bool:
    return _meet(reading, total_of("g", "books.how-base-left-on", {"flask": should, "base": one.read["base"]}))


def _cast_findings(one: WeighedLoad, others: Sequence[WeighedLoad]) -> tuple[Finding, ...]:
    """Judge the metal in the mould: too much is another flask, too little for the cavity is a short pour."""
    metal, setup, should = metal_g(one), one.setup, expected_g(one).get("cast")
    if metal is None:
        return ()
    reading = one.read["cast"]
    if should is not None and reading.low > should.high:
        return _other_flask(one, "cast", others) or _off(one, "cast", reading, should)
    params = {"number": str(setup.number), "metal": _ranged(metal), "read": _ranged(reading)}
    if metal.high <= 0:
        return (Finding("books.weighing-no-metal", Level.ASK, setup.load, params),)
    if setup.cavity_g is not None and metal.low < setup.cavity_g.high:
        short = metal.high < setup.cavity_g.low
        code = "books.weighing-short" if short else "books.weighing-short-perhaps"
        found = Finding(code, Level.LOOK, setup.load, params | {"cavity": _ranged(setup.cavity_g)})
        return (found, *_missing(one, reading, should, metal))
    return _missing(one, reading, should, metal)


def _missing(one: WeighedLoad, reading: Figure, should: Figure | None, metal: Figure) -> tuple[Finding, ...]:
    """Say how much metal of the charge is not in the mould."""
    if should is None or one.setup.charge_g is None or reading.high >= should.low:
        return ()
    params = {
        "number": str(one.setup.number),
        "missing": show(should.low - reading.value, "g", 1),
        "charge": show(one.setup.charge_g.value, "g", 1),
        "metal": _ranged(metal),
    }
    return (Finding("books.weighing-metal-missing", Level.LOOK, one.setup.load, params),)


def _shown(one: WeighedLoad, reading: Figure, should: Figure) -> dict[str, str]:
    return {
        "number": str(one.setup.number),
        "read": show(reading.value, "g", 1),
        "expected": show(should.value, "g", 1),
        "low": show(should.low, "g", 1),
        "high": show(should.high, "g", 1),
    }


def _ranged(figure: Figure) -> str:
    if figure.low == figure.high:
        return show(figure.value, "g", 1)
    return f"{show(figure.value, 'g', 1)} ({show(figure.low, 'g', 1)}\u2013{show(figure.high, 'g', 1)})"
