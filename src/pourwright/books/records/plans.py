"""What a kept plan says of its loads and pieces, read from the file as it was stored."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pourwright.core.errors import DataError
from pourwright.core.figure import Figure, from_interval, given, reckon
from pourwright.matter.pattern_materials import pattern_material
from pourwright.matter.practice import rule
from pourwright.prepare.rule_figures import total_of

# Sprues are built of this unless somebody says otherwise.
_SPRUE_WAX = "casting-wax"
_MM3_CM3 = 1e-3
_LOSS_RULE = "melt.loss"


@dataclass(frozen=True)
class LoadSetup:
    """What a load is made of, with its ranges; ``number`` is what is scratched into its mould.

    ``tree_g`` is the pattern on its sprue, ``dry_g`` the burned-out flask as planned, ``cavity_g`` the metal that
    pieces and sprue hold, ``loss_frac`` what a melt of it commonly loses.
    """

    load: str
    number: int
    steel_g: Figure
    tree_g: Figure
    powder_g: Figure
    water_ratio: Figure
    hemihydrate_frac: Figure
    dry_g: Figure
    charge_g: Figure | None
    cavity_g: Figure | None
    loss_frac: Figure


class KeptPlan:
    """A stored ``plan.json`` and its figures."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document
        self._figures: Mapping[str, Any] = document.get("figures", {})

    @property
    def day(self) -> str:
        """The day that was planned."""
        return str(self.document.get("day", {}).get("date", ""))

    @property
    def loads(self) -> tuple[str, ...]:
        """Flask loads in the order of the pours."""
        return tuple(str(one["id"]) for one in self.document.get("flasks", ()))

    @property
    def pieces(self) -> tuple[str, ...]:
        """Pieces in the order of the day file."""
        return tuple(str(one["id"]) for one in self.document.get("pieces", ()))

    def flask(self, load: str) -> Mapping[str, Any]:
        """Return what the plan says of a load, empty if it has none of that id."""
        return next((one for one in self.document.get("flasks", ()) if one["id"] == load), {})

    def piece(self, piece: str) -> Mapping[str, Any]:
        """Return what the plan says of a piece, empty if it has none of that id."""
        return next((one for one in self.document.get("pieces", ()) if one["id"] == piece), {})

    def figure(self, path: str) -> Figure | None:
        """Return a figure of the plan with its range, or None if it has none there."""
        row = self._figures.get(path)
        if row is None:
            return None
        return given(
            float(row["value"]),
            str(row["unit"]),
            f"plan.json: {path}",
            float(row["low"]),
            float(row["high"]),
            tuple(row["sources"]),
            how="books.how-planned",
        )

    def input_of(self, path: str, name: str) -> Figure | None:
        """Return a figure that another was made from."""
        inputs = self._figures.get(path, {}).get("inputs", {})
        return self.figure(str(inputs[name])) if name in inputs else None

    def moment(self, *keys: str) -> datetime | None:
        """Return a moment that stands in the plan under keys, or None."""
        value: Any = self.document
        for key in keys:
            value = value.get(key) if isinstance(value, Mapping) else None
        return datetime.fromisoformat(value) if isinstance(value, str) else None

    def setup(self, load: str) -> LoadSetup | None:
        """Return what a load is made of, or None if the plan cannot say."""
        flask, day = self.flask(load), self.document.get("day", {})
        dry = f"mix.flasks.{load}.dry_kg"
        steel, powder = (self.input_of(dry, name) for name in ("steel_g", "powder_g"))
        ratio = self._ratio(str(day.get("powder", "")))
        hemihydrate, planned_dry = self.input_of(dry, "hemihydrate_frac"), self.figure(dry)
        if not flask or steel is None or powder is None or ratio is None or hemihydrate is None or planned_dry is None:
            return None
        dry_g = reckon("g", "books.how-dry-planned", lambda dry_kg: 1000 * dry_kg, {"dry_kg": planned_dry})
        charge, cavity = (self.figure(f"flasks.{load}.need.{name}_g") for name in ("charge", "cavity"))
        number = int(flask["number"])
        return LoadSetup(
            load, number, steel, self._tree(load), powder, ratio, hemihydrate, dry_g, charge, cavity, loss_figure()
        )

    def _ratio(self, powder: str) -> Figure | None:
        """Return the water ratio with the range of the powder's data sheet."""
        best, low, high = (self.figure(f"studio.powders.{powder}.water_{end}ratio") for end in ("", "low_", "high_"))
        if best is None:
            return None
        ends = [one.value for one in (low, best, high) if one is not None]
        return given(best.value, "ratio", best.origin, min(ends), max(ends), how="books.how-planned")

    def _tree(self, load: str) -> Figure:
        parts = {piece: pattern_figure(self, piece) for piece in self.flask(load)["pieces"]}
        known = {name: one for name, one in parts.items() if one is not None} | {"sprue": self._sprue(load)}
        return total_of("g", "books.how-tree-planned", known)

    def _sprue(self, load: str) -> Figure:
        tree = self.flask(load).get("tree") or {}
        volume_mm3 = float(tree.get("sprue_volume_mm3", 0.0)) + float(tree.get("gates_volume_mm3", 0.0))
        volume = given(volume_mm3 * _MM3_CM3, "cm3", f"plan.json: flasks.{load}.tree", how="books.how-planned")
        wax = from_interval(
            pattern_material(_SPRUE_WAX).density_kg_m3.scaled(_MM3_CM3, "g_cm3"), "g_cm3", "pattern_materials.toml"
        )
        return reckon(
            "g",
            "books.how-sprue",
            lambda volume_cm3, wax_g_cm3: volume_cm3 * wax_g_cm3,
            {"volume_cm3": volume, "wax_g_cm3": wax},
        )


def loss_figure() -> Figure:
    """Return the share that a melt commonly loses, from nothing up to the rule's high end."""
    loss = rule(_LOSS_RULE)
    high = 0.01 * (loss.high if loss.high is not None else loss.value or 0.0)
    return given(high / 2, "frac", f"practice.toml {_LOSS_RULE}", 0.0, high, loss.sources, how="books.how-loss")


def pattern_figure(plan: KeptPlan, piece: str) -> Figure | None:
    """Return what a piece's pattern should weigh, in g: as weighed for the day, else by its volume and material."""
    row = plan.piece(piece)
    if not row:
        return None
    drawn = plan.document["day"]["pieces"][int(row["order"])]
    weighed = plan.figure(f"day.pieces.{drawn['id']}.weighed_g")
    if weighed is not None and int(drawn.get("copies_count", 1)) == 1:
        return weighed
    if drawn.get("parts"):
        return given(sum(float(one["mass_g"]) for one in drawn["parts"]), "g", "day.toml", how="books.how-planned")
    density = plan.figure(f"studio.materials.{row['material']}.density_g_cm3") or _table_density(str(row["material"]))
    volume = plan.figure(f"pieces.{piece}.volume_cm3")
    if density is None or volume is None:
        return None
    return reckon(
        "g",
        "books.how-pattern",
        lambda volume_cm3, density_g_cm3: volume_cm3 * density_g_cm3,
        {"volume_cm3": volume, "density_g_cm3": density},
    )


def _table_density(material: str) -> Figure | None:
    try:
        found = pattern_material(material)
    except DataError:
        return None
    return from_interval(found.density_kg_m3.scaled(_MM3_CM3, "g_cm3"), "g_cm3", "pattern_materials.toml")
