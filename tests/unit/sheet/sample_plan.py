"""A plan made up for the tests of the printed sheet: two flasks, five pieces, awkward names. Nobody's real day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from pourwright.core.figure import Figure
from pourwright.core.findings import Finding, Level
from pourwright.matter.assay import assay_question
from pourwright.prepare.after.results import FlaskWork, LotShare, PieceCard
from pourwright.prepare.after.steps import finishing_steps, preparation_steps
from pourwright.prepare.charge.results import AlloyedCharge, ChargeNeed, Weighing
from pourwright.prepare.day_plan import Aftercare, DayPlan, PlannedFlask, PlannedPiece, StockUse
from pourwright.prepare.differences import Difference
from pourwright.prepare.mould.mix_clock import bowl_clock
from pourwright.prepare.mould.results import AshClear, Batch, Burnout, BurnStep, CoreLag, Dewax, FlaskMix, Mix
from pourwright.prepare.quench.results import QuenchWindow
from pourwright.prepare.store.results import EquipmentDue, Supplies, SupplyUse
from pourwright.prepare.throw.results import Balance, ThrowSetup, Winding
from pourwright.prepare.timeline import build_timeline
from pourwright.shape.pattern.report import Mesh, PatternReport
from pourwright.shape.tree.placing import build_tree
from pourwright.shape.tree.rules import tree_rules
from pourwright.shape.tree.simple import Tree, TreePiece
from pourwright.studio import profile
from pourwright.studio.day import Day, Person, PieceOrder

ZONE = ZoneInfo("Europe/Dublin")
DAY = date(2026, 12, 5)
MARKUP_TITLE = 'Band #strong[x] *bold* _slanted_ $sum$ <note> @ref `code` "quoted" = head \\ #image("x")'
HOSTILE_TITLE = '"><script>document.title="taken"</script><img src=x onerror=alert(1)>&amp;'
LONG_TITLE = (
    "Seed pod from the lane behind the school, the second and better one, keep its stalk, "
    "Sternschnuppenbeobachtungsstundenverzeichnisblatt"
)


def fig(value: float, unit: str, low: float | None = None, high: float | None = None, sources=()) -> Figure:
    low = value if low is None else low
    high = value if high is None else high
    return Figure(value, low, high, unit, "core.given", sources=tuple(sources), origin="sample")


def at(hour: int, minute: int = 0, day: date = DAY) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZONE)


EVE = DAY - timedelta(days=1)


def torus(radius_mm: float, wire_mm: float, rounds: int = 72, sides: int = 24) -> Mesh:
    around, section = np.meshgrid(
        np.linspace(0, 2 * np.pi, rounds, endpoint=False), np.linspace(0, 2 * np.pi, sides, endpoint=False),
        indexing="ij",
    )  # fmt: skip
    out = radius_mm + wire_mm * np.cos(section)
    vertices = np.column_stack(
        ((out * np.cos(around)).ravel(), (out * np.sin(around)).ravel(), wire_mm * np.sin(section).ravel())
    )
    i, j = (index.ravel() for index in np.meshgrid(np.arange(rounds), np.arange(sides), indexing="ij"))
    i2, j2 = (i + 1) % rounds, (j + 1) % sides
    a, b, c, d = i * sides + j, i2 * sides + j, i2 * sides + j2, i * sides + j2
    return Mesh(vertices, np.vstack((np.column_stack((a, b, c)), np.column_stack((a, c, d)))).astype(np.int64))


def block(x_mm: float, y_mm: float, z_mm: float) -> Mesh:
    corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    quads = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    faces = [face for a, b, c, d in quads for face in ((a, b, c), (a, c, d))]
    return Mesh(corners * np.array([x_mm, y_mm, z_mm]), np.array(faces, dtype=np.int64))


def pattern(file: str, mesh: Mesh) -> PatternReport:
    box = tuple(float(side) for side in np.ptp(mesh.vertices_mm, axis=0))
    return PatternReport(
        file, "0" * 64, "mm", len(mesh.faces), True, 1, 0, 300.0, 299.0, 301.0, 500.0, (0.0, 0.0, 0.0), box, None, (),
        mesh, (),
    )  # fmt: skip


def studio() -> profile.Studio:
    return profile.Studio(
        name="Hollow Lane Casting Room (made up)",
        zone="Europe/Dublin",
        units=profile.PrintUnits(),
        kilns=(profile.Kiln("kiln-1", 8, fig(167, "C_h"), fig(120, "C_h"), fig(6, "C", 2, 10)),),
        flasks=(
            profile.Flask("FL-03", fig(63.5, "mm"), fig(101.6, "mm"), fig(1.5, "mm"), fig(262, "g")),
            profile.Flask("FL-07", fig(76.2, "mm"), fig(101.6, "mm"), fig(1.5, "mm"), fig(318, "g")),
        ),
        bases=(profile.SprueBase("B-64", ("FL-03", "FL-07"), fig(8, "cm3"), fig(20, "mm"), fig(8, "mm")),),
        machines=(
            profile.Machine(
                id="arm-1", turns_usual_turns=fig(3, "turns"), turns_limit_turns=fig(4, "turns"),
                torque_start_Nm=fig(0, "Nm"), torque_rate_Nm_turn=fig(1.5, "Nm_turn"), friction_frac=fig(0.05, "frac"),
                inertia_kg_m2=fig(0.164, "kg_m2"), bare_arm_moment_kgm=fig(0.0, "kgm"), cradle_kg=fig(0.30, "kg"),
                flask_radius_mm=fig(230, "mm"), metal_in_flask_radius_mm=fig(225, "mm"),
                crucible_radius_mm=fig(150, "mm"), crucible_kg=fig(0.42, "kg"), weight_kg=fig(1.2, "kg"),
                weight_low_mm=fig(140, "mm"), weight_high_mm=fig(290, "mm"), calibrated=False,
            ),
        ),
        crucibles=(profile.Crucible("C-2", fig(30, "cm3"), fig(0.6, "frac"), ("silver",)),),
        scales=(profile.Scale("S-01", fig(0.01, "g"), fig(500, "g"), fig(0.005, "g")),),
        powders=(
            profile.Powder(
                "plain", "gypsum-bonded", fig(0.4, "ratio"), fig(0.38, "ratio"), fig(0.42, "ratio"), fig(9, "min"),
                fig(5000, "g"),
            ),
        ),
        lots=(
            profile.StockLot("L-0042", "fine-silver-999", fig(300.0, "g"), fig(999, "permille"), "Ag"),
            profile.StockLot("L-0043", "copper", fig(50.0, "g"), fig(0, "permille"), "Ag"),
            profile.StockLot("L-0051", "scrap", fig(120.0, "g"), fig(925, "permille", 922, 926), "Ag"),
        ),
        materials=(),
        habits=profile.Habits(
            loss_frac=fig(0.01, "frac"), spill_frac=fig(0.1, "frac"), pour_temperature_C=fig(970, "C"),
            scrap_most_frac=fig(0.5, "frac"), wall_clearance_mm=fig(6, "mm"),
            end_clearance_per_diameter_ratio=fig(0.25, "ratio"), piece_clearance_mm=fig(3, "mm"),
            mix_min=fig(3, "min"), bowl_vacuum_min=fig(1, "min"), fill_each_min=fig(0.5, "min"),
            flask_vacuum_min=fig(1.5, "min"), flasks_per_vacuum_count=2, minutes_per_pour_min=fig(12, "min"),
            soak_at_casting_min=fig(45, "min"),
        ),
    )  # fmt: skip


def day() -> Day:
    titles = ((MARKUP_TITLE, "Željka Ó Bruadair"), ("Signet blank", "Søren Łęcki"), (LONG_TITLE, "Ελένη"),
              ("Bar pendant", "Søren Łęcki"), (HOSTILE_TITLE, "Željka Ó Bruadair"))  # fmt: skip
    orders = tuple(PieceOrder(f"{DAY}-P{n:02d}", title, owner, "wax") for n, (title, owner) in enumerate(titles, 1))
    people = (Person("Ingrid Vale", "teacher"), Person("Tomás Ferrow", "pourer"), Person("Ασπασία Quill", "caller"))
    return Day(
        DAY, at(14), "sterling-925", orders, people, fig(540, "C"), "kiln-1", "arm-1", "C-2", "S-01", "plain",
        ("L-0042", "L-0043", "L-0051"),
    )  # fmt: skip


def pieces(orders) -> tuple[PlannedPiece, ...]:
    meshes = (torus(9.5, 1.25), block(14, 11, 5), None, block(28, 6, 2.2), torus(9.0, 0.9))
    masses = (3.04, 8.72, 24.6, 3.83, 1.49)
    return tuple(
        PlannedPiece(
            order.id, index, 0, order.title, order.owner, "wax", fig(mass / 10.36, "cm3"),
            fig(mass, "g", mass * 0.985, mass * 1.015),
            None if mesh is None else pattern(f"piece{index}.stl", mesh), False, "wax", (),
        )
        for index, (order, mesh, mass) in enumerate(zip(orders, meshes, masses, strict=True))
    )  # fmt: skip


def tree(flask: str, names, boxes, diameter_mm: float) -> Tree:
    wanted = [TreePiece(name, box, min(*box, 4.0)) for name, box in zip(names, boxes, strict=True)]
    return build_tree(wanted, flask, diameter_mm, 101.6, 12.0, tree_rules(3.0, 0.2, 2.0))


def need(charge_g: float, cavity_g: float) -> ChargeNeed:
    return ChargeNeed(
        fig(cavity_g / 10.36, "cm3"), fig(2.513, "cm3"), fig(cavity_g, "g"), fig(26.04, "g"),
        fig(charge_g - 2.1, "g"), fig(charge_g + 9.4, "g"), fig(167.4, "g"), fig(charge_g, "g"), fig(3.1, "cm3"), (),
    )  # fmt: skip


def alloyed(fine_g: float, copper_g: float, scrap_g: float) -> AlloyedCharge:
    weights = (Weighing("L-0042", fine_g), Weighing("L-0043", copper_g), Weighing("L-0051", scrap_g))
    total = fine_g + copper_g + scrap_g
    return AlloyedCharge(
        "sterling-925", weights, total, fig(925.0, "permille"), fig(924.2, "permille"), fig(925.7, "permille"),
        fig(925.1, "permille"), weights, scrap_g / total, (),
    )  # fmt: skip


def throw(mark_mm: float) -> ThrowSetup:
    balance = Balance(
        fig(mark_mm, "mm"), fig(mark_mm - 8.8, "mm"), fig(mark_mm - 4.4, "mm"), fig(0.263, "kgm"), fig(10.4, "N"),
        fig(0.3, "N", 0.0, 1.1), (),
    )  # fmt: skip
    rows = (
        (2.0, 18.8, 145, 5.4, 32),
        (2.5, 29.4, 181, 8.4, 51),
        (3.0, 42.4, 217, 12.1, 73),
        (3.5, 57.7, 254, 16.5, 99),
    )
    windings = tuple(
        Winding(turns, fig(energy, "J"), fig(rpm, "rpm", rpm * 0.92, rpm * 1.05), fig(gee, "gee"), fig(head, "kPa"))
        for turns, energy, rpm, gee, head in rows
    )
    return ThrowSetup(
        balance, windings, fig(2.5, "turns"), fig(3.0, "turns"), fig(4.0, "turns"), False, (),
    )  # fmt: skip


def flasks(planned) -> tuple[PlannedFlask, ...]:
    ids = [one.id for one in planned]
    boxes = ((21.5, 21.5, 2.5), (14.0, 11.0, 5.0), (19.0, 22.0, 30.0), (28.0, 6.0, 2.2), (19.8, 19.8, 1.8))
    window = QuenchWindow(fig(15.4, "min"), fig(31.8, "min"), "prepare.quench-basis-practice", ())
    one = PlannedFlask(
        f"{DAY}-F1", 1, "FL-03", "B-64", (ids[0], ids[1], ids[4]),
        tree("FL-03", (ids[0], ids[1], ids[4]), (boxes[0], boxes[1], boxes[4]), 63.5), need(63.41, 36.3),
        alloyed(34.07, 2.76, 26.58), throw(214.6), window, at(14), fig(540, "C"), (),
    )  # fmt: skip
    two = PlannedFlask(
        f"{DAY}-F2", 2, "FL-07", "B-64", (ids[2], ids[3]),
        tree("FL-07", (ids[2], ids[3]), (boxes[2], boxes[3]), 76.2), need(138.73, 110.1),
        alloyed(77.35, 6.26, 55.12), throw(228.3), replace(window, earliest_min=fig(18.2, "min"),
        latest_min=fig(37.0, "min")), at(14, 12), fig(540, "C"), (),
    )  # fmt: skip
    return one, two


def mix() -> Mix:
    names = (f"{DAY}-F1", f"{DAY}-F2")
    clock = bowl_clock(names, studio().habits)
    loads = (
        FlaskMix(f"{DAY}-F1", fig(301, "cm3"), fig(420, "g"), fig(168, "g"), fig(0.705, "kg")),
        FlaskMix(f"{DAY}-F2", fig(436, "cm3"), fig(610, "g"), fig(244, "g"), fig(0.961, "kg")),
    )
    batch = Batch(names, fig(1133, "g"), fig(453, "g"), clock, fig(6.5, "min"), fig(9, "min"))
    return Mix(loads, (batch,), fig(3867, "g"), ())


def burnout() -> Burnout:
    rows = (
        ("ramp", at(22, 45, EVE), at(23, 45, EVE), 20, 150), ("hold", at(23, 45, EVE), at(1, 45), 150, 150),
        ("ramp", at(1, 45), at(3, 10), 150, 371), ("hold", at(3, 10), at(5, 10), 371, 371),
        ("ramp", at(5, 10), at(7, 30), 371, 726), ("hold", at(7, 30), at(10, 30), 726, 726),
        ("cool", at(10, 30), at(12, 5), 726, 534), ("soak", at(12, 5), at(14, 0), 534, 534),
    )  # fmt: skip
    steps = tuple(
        BurnStep(kind, start, end, low, high, "No faster, so that steam does not crack the moulds.")
        for kind, start, end, low, high in rows
    )
    lags = (CoreLag(f"{DAY}-F1", fig(41, "min")), CoreLag(f"{DAY}-F2", fig(58, "min")))
    return Burnout(
        "kiln-1", steps, at(22, 45, EVE), at(14), fig(915, "min"), fig(732, "C", 728, 736), fig(540, "C"), lags,
        at(20, 45, EVE), (),
    )  # fmt: skip


def supplies() -> Supplies:
    uses = (
        SupplyUse("G-1", "propane", fig(3400, "g"), fig(180, "g"), fig(3220, "g")),
        SupplyUse("F-1", "Borax", fig(4, "g"), fig(6, "g"), fig(-2, "g", -3, -1)),
        SupplyUse("F-2", "Charcoal", fig(20, "g"), fig(18, "g"), fig(2, "g", -1, 4)),
    )
    checks = (
        EquipmentDue("eyewash", "", None, None, True, "", ""),
        EquipmentDue("scale", "S-01", date(2026, 10, 1), date(2026, 10, 31), True, "Ingrid Vale", "100 g test mass"),
        EquipmentDue("pin-and-spring", "arm-1", date(2026, 11, 30), date(2026, 12, 30), False, "Tomás Ferrow", ""),
    )
    return Supplies(uses, fig(13.4, "kWh"), checks, ())


def card(piece: PlannedPiece, load: PlannedFlask, remark: str = "", heavy: bool = False) -> PieceCard:
    half_g = round(piece.cast_g.value * 0.5, 2)
    rest_g = round(piece.cast_g.value - half_g, 2)
    lots = LotShare("L-0042", half_g, certain=True), LotShare("L-0051", rest_g, certain=not remark)
    return PieceCard(
        piece.id, piece.title, piece.owner, load.id, "sterling-925", piece.cast_g, fig(925.1, "permille"),
        fig(924.2 if remark else 925.0, "permille"), lots, "Ingrid Vale", "925", remark, heavy,
    )  # fmt: skip


def aftercare(planned, loads) -> Aftercare:
    work = [FlaskWork(one.number, one.base, one.pieces, stones=False) for one in loads]
    by_id = {one.id: one for one in planned}
    cards = tuple(
        card(by_id[piece], one, "prepare.card-not-sold" if number else "", heavy=bool(number))
        for number, one in enumerate(loads)
        for piece in one.pieces
    )
    before = preparation_steps(("castable-resin",), (), ("castable-resin",), work)
    return Aftercare(before, finishing_steps(work), cards, assay_question("united-kingdom"))


def with_shape_findings(planned) -> tuple[PlannedPiece, ...]:
    thin = {"piece": planned[0].id, "thickness": "0.40 mm", "area": "22 mm²", "place": "(1.0, 2.0, 0.5) mm",
            "distance": "14 mm", "wanted": "0.8 mm"}  # fmt: skip
    found = Finding("prepare.fill-thin", Level.LOOK, "P01", thin, ("none",))
    return (replace(planned[0], findings=(found,)), *planned[1:])


def full_plan() -> DayPlan:
    """Return the plan with supplies, steps, cards, wax and ash, a thin wall, and an earlier day like it."""
    thin = plan()
    pieces_seen = with_shape_findings(thin.pieces)
    dewax = Dewax("steam", (f"{DAY}-F1",), at(22, 15, EVE), at(22, 45, EVE), at(23, 0, EVE))
    ash = (AshClear(f"{DAY}-F2", "seed pod", at(13, 35), fig(20, "min", 15, 20)),)
    changes = (Difference("prepare.differs-powder-opened", "2026-09-01", "2026-11-20"),
               Difference("prepare.differs-spring", "1.4 N·m/turn", "1.5 N·m/turn"))  # fmt: skip
    return replace(
        thin,
        pieces=pieces_seen,
        burnout=replace(thin.burnout, dewax=dewax, ash=ash),
        findings=(*thin.findings, *pieces_seen[0].findings),
        supplies=supplies(),
        aftercare=aftercare(pieces_seen, thin.flasks),
        repeats="2026-11-14",
        differences=changes,
    )


def findings() -> tuple[Finding, ...]:
    params = {"change": "13.7 mm", "flask": "F2", "before": "F1", "old": "214.6 mm", "new": "228.3 mm"}
    return (Finding("prepare.throw-mark-moves-out", Level.LOOK, f"{DAY}-F2", params, ("none",)),)


def plan() -> DayPlan:
    the_day = day()
    planned = pieces(the_day.pieces)
    stock = tuple(
        StockUse(lot, fig(have, "g"), fig(take, "g"), fig(have - take, "g"))
        for lot, have, take in (("L-0042", 300.0, 111.42), ("L-0043", 50.0, 9.02), ("L-0051", 120.0, 81.70))
    )
    loads = flasks(planned)
    timeline = build_timeline(mix(), burnout(), loads, studio().habits, studio().units)
    return DayPlan(studio(), the_day, planned, loads, mix(), burnout(), stock, timeline, findings())


__all__ = ["Finding", "Level", "full_plan", "plan"]
