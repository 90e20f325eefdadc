"""Records filled for tests; our own invention."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

from pourwright.books.records.intake import NewPiece, consent, take_piece_in
from pourwright.books.records.pieces import move
from pourwright.books.records.seen import attach

LOAD = "2026-12-05-F1"
START = datetime(2026, 12, 4, 9, 0, tzinfo=UTC)
PNG = b"\x89PNG\r\n\x1a\n" + b"drawn by hand"
CAST_STEPS = ("sprued", "invested", "in-kiln", "cast", "quenched", "pickled", "weighed", "returned")


def taken_in(books, studio, *pieces, owner="Mira", **more):
    """Take pieces in, and return their ids."""
    ids = tuple(f"2026-12-05-{one}" for one in pieces)
    with books.writing() as connection:
        for one in ids:
            new = NewPiece(one, owner, **{"title": "Band", "material": "casting-wax", **more})
            take_piece_in(connection, studio, new, consent("none"), owner, "Teacher", START)
    return ids


def moved(books, piece, *states, load=LOAD, start_h=1):
    """Move a piece through states, an hour apart, and return the marks."""
    marks = []
    with books.writing() as connection:
        for number, state in enumerate(states, start_h):
            moment = START + timedelta(hours=number)
            marks.append(move(connection, piece, state, "Teacher", load=load, happened_at=moment, reason="as planned"))
    return marks


def _row(value, unit, low=None, high=None, **inputs):
    ends = {"low": value if low is None else low, "high": value if high is None else high}
    return {"value": value, **ends, "unit": unit, "how": "", "inputs": inputs, "sources": []}


def plan_document(*weights_g, day="2026-12-05"):
    """Return a small ``plan.json`` of our own invention: a flask for each steel weight, a piece in each."""
    weights_g = weights_g or (196.0, 262.0)
    flasks, pieces, figures = [], [], {"studio.powders.POWDER-A.water_ratio": _row(0.4, "ratio")}
    figures |= {
        "studio.powders.POWDER-A.water_low_ratio": _row(0.38, "ratio"),
        "studio.powders.POWDER-A.water_high_ratio": _row(0.42, "ratio"),
        "hemihydrate": _row(0.3, "frac", 0.25, 0.4),
        "burnout.top_true_C": _row(730.0, "C"),
    }
    for number, steel_g in enumerate(weights_g, 1):
        load, piece = f"{day}-F{number}", f"{day}-P{number:02d}"
        pieces.append({"id": piece, "order": number - 1, "material": "casting-wax", "owner": f"Owner {number}"})
        flasks.append({
            "id": load, "number": number, "pieces": [piece], "pour_at": f"{day}T{9 + number:02d}:00:00Z",
            "tree": {"sprue_volume_mm3": 1000.0, "gates_volume_mm3": 0.0},
            "freeze": {"last_solid_s": 21.0, "quench_from_min": 8.0},
        })  # fmt: skip
        dry_kg = (steel_g + 300 * (1 - 0.3 * 0.0621)) / 1000
        figures |= {
            f"steel-{number}": _row(steel_g, "g"),
            f"mix.flasks.{load}.powder_g": _row(300.0, "g", 294.0, 306.0),
            f"mix.flasks.{load}.water_g": _row(120.0, "g", 117.6, 122.4),
            f"mix.flasks.{load}.dry_kg": _row(
                dry_kg, "kg", dry_kg - 0.008, dry_kg + 0.008,
                steel_g=f"steel-{number}", powder_g=f"mix.flasks.{load}.powder_g", hemihydrate_frac="hemihydrate",
            ),
            f"flasks.{load}.need.charge_g": _row(60.0, "g"),
            f"flasks.{load}.need.floor_g": _row(55.0, "g"),
            f"flasks.{load}.need.ceiling_g": _row(80.0, "g"),
            f"flasks.{load}.need.cavity_g": _row(30.0, "g", 29.0, 31.0),
            f"flasks.{load}.flask_temperature_C": _row(580.0, "C", 570.0, 610.0),
            f"flasks.{load}.quench.earliest_min": _row(7.5, "min"),
            f"flasks.{load}.quench.latest_min": _row(12.5, "min"),
            f"pieces.{piece}.volume_cm3": _row(2.0, "cm3", 1.98, 2.02),
            f"pieces.{piece}.cast_g": _row(20.7, "g", 20.4, 20.9),
        }  # fmt: skip
    drawn = [{"id": one["id"][-3:], "copies_count": 1, "parts": []} for one in pieces]
    return {
        "day": {"date": day, "powder": "POWDER-A", "pieces": drawn},
        "burnout": {"light_at": "2026-12-04T18:00:00Z", "invest_by": "2026-12-04T16:00:00Z"},
        "pieces": pieces,
        "flasks": flasks,
        "figures": figures,
    }


def keep_plan(books, studio, document):
    """Keep a plan with its day."""
    with books.writing() as connection:
        day = document["day"]["date"]
        attach(connection, studio, day, "plan", json.dumps(document).encode(), "plan.json", "Teacher")
