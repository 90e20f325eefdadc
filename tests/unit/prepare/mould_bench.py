"""An invented bench for the tests of mould and quench: powder, habits, kiln, flasks."""

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from pourwright.core.figure import given
from pourwright.prepare.mould.loads import BurnWish, KilnLoad, MouldLoad, PatternBurn
from pourwright.studio.profile import Habits, Kiln, Powder

ZONE = "Europe/Athens"
WAX = PatternBurn("casting wax", "wax", "prog.wax.nine")
SHORT_WAX = PatternBurn("casting wax", "wax", "prog.wax.text")
RESIN = PatternBurn("castable resin", "resin", "prog.resin.castable")
WAXLIKE = PatternBurn("wax-like resin", "wax-resin", "prog.resin.waxlike")


def fig(value, unit, low=None, high=None):
    """Return a given figure."""
    return given(value, unit, "test", low, high)


def powder(**changes):
    """Return a powder with a measured slurry density of 1.78 g/cm3 at 40 parts of water."""
    plain = Powder(
        id="powder-a",
        mould="gypsum-bonded",
        water_ratio=fig(0.40, "ratio"),
        water_low_ratio=fig(0.38, "ratio"),
        water_high_ratio=fig(0.42, "ratio"),
        working_min=fig(10.5, "min"),
        stock_g=fig(20000.0, "g"),
        slurry_g_cm3=fig(1.78, "g_cm3"),
    )
    return replace(plain, **changes)


def habits(**changes):
    """Return habits with the mixing times of NEEDS D3 and no spill."""
    plain = Habits(
        loss_frac=fig(0.01, "frac"),
        spill_frac=fig(0.0, "frac"),
        pour_temperature_C=fig(970, "C"),
        scrap_most_frac=fig(0.5, "frac"),
        wall_clearance_mm=fig(10, "mm"),
        end_clearance_per_diameter_ratio=fig(0.25, "ratio"),
        piece_clearance_mm=fig(4, "mm"),
        mix_min=fig(3.0, "min"),
        bowl_vacuum_min=fig(1.5, "min"),
        fill_each_min=fig(0.5, "min"),
        flask_vacuum_min=fig(1.5, "min"),
        flasks_per_vacuum_count=4,
        minutes_per_pour_min=fig(6, "min"),
        soak_at_casting_min=fig(60, "min"),
    )
    return replace(plain, **changes)


def to_invest(name="F1", diameter_mm=76.0, height_mm=100.0, displaced_cm3=12.0, steel_g=300.0):
    """Return a flask to invest: by default the large one of NEEDS D1."""
    return MouldLoad(
        name,
        fig(diameter_mm, "mm"),
        fig(height_mm, "mm"),
        fig(displaced_cm3, "cm3"),
        fig(steel_g, "g"),
    )


def small_flasks(count):
    """Return so many of the small flasks of NEEDS D1."""
    return [to_invest(f"F{number}", 63.5, 76.2, 8.0) for number in range(1, count + 1)]


def kiln(**changes):
    """Return a quick kiln that reads true and falls 2 C/min."""
    plain = Kiln("kiln-a", 6, fig(400, "C_h"), fig(120, "C_h"), fig(0, "C"))
    return replace(plain, **changes)


def to_burn(name="F1", diameter_mm=64.0, patterns=(WAX,), stones=False):
    """Return a flask to burn out: by default wax, of the diameter that charts are written for."""
    return KilnLoad(name, fig(diameter_mm, "mm"), tuple(patterns), stones)


def wish(**changes):
    """Return the wish of NEEDS E1: cast at 540 C after an hour's soak."""
    return replace(BurnWish(fig(540, "C"), fig(60, "min")), **changes)


def at(text, zone=ZONE):
    """Return a moment of the studio's wall clock."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))


def codes(findings):
    """Return the codes of findings without their room."""
    return [one.code.removeprefix("prepare.") for one in findings]
