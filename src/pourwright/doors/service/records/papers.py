"""Papers of a piece: the receipt when it comes in, the card when it goes home."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

from pourwright.books.masses import split_mg, to_ppm
from pourwright.books.passport import Passport, passport
from pourwright.books.records.actuals import TIME, Actual, actuals
from pourwright.books.records.files import kept_file_of, read_file
from pourwright.books.records.intake import Intake, intake_of
from pourwright.books.records.metal import PieceMetal, metal_of
from pourwright.books.records.seen import attachments, defects, outcomes
from pourwright.core.figure import given
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.opening import BookAnswer
from pourwright.doors.service.books.typed import grams
from pourwright.doors.service.records.opening import Room, reading
from pourwright.doors.service.records.pieces import mass_text
from pourwright.doors.service.records.seen import fault_json
from pourwright.matter.alloys import alloy
from pourwright.matter.defects import defect
from pourwright.prepare.after.cards import remark_for
from pourwright.prepare.after.results import LotShare
from pourwright.sheet.piece_papers import Keepsake, Receipt, receipt_text, write_keepsake, write_receipt

_PERMILLE_DIGITS = 1
# What a card tells of the cast, in this order, where somebody wrote it down.
_TOLD = ("pour-at", "flask-temperature", "pour-temperature", "turns", "quench-after")
_CARD_DIGITS = {"C": 0, "min": 1}
_SHA_SHOWN = 12
_MG_HUNDREDTH = 10
# Charges are weighed on a scale of hundredths of a gram; each weighing may be off by half of one.
_SCALE_ERROR_MG = 5.0


def receipt(told: str, piece: str, out: Path | None) -> BookAnswer:
    """Return the receipt of a piece as text, and write it as PDF if a file is named."""

    def work(room: Room) -> BookAnswer:
        one = _receipt(room, intake_of(room.connection, piece))
        if out:
            write_receipt(one, date.fromisoformat(piece[:10]), out)
        document = {
            "piece": one.piece,
            "owner": one.owner,
            "facts": dict(one.facts),
            "consent": list(one.consent),
            "agreed_by": one.agreed_by,
            "written": str(out) if out else None,
        }
        return BookAnswer(document, _with_file(receipt_text(one), out))

    return reading(told, work)


def _with_file(text: str, out: Path | None) -> str:
    return f"{text}\n\n{say('doors.record-written', file=out)}" if out else text


def _receipt(room: Room, one: Intake) -> Receipt:
    words = read_file(room.studio, kept_file_of(room.connection, one.consent_sha256)).decode()
    facts = [("taken-in", room.shown(one.happened_at)), ("material", one.material)]
    facts += [("pattern-mass", mass_text(one.pattern_mg))] if one.pattern_mg is not None else []
    facts += [("pattern-file", one.pattern_sha256[:_SHA_SHOWN])] if one.pattern_sha256 else []
    facts += [("consent", one.consent_version)]
    return Receipt(
        one.piece,
        one.title,
        one.owner,
        _studio_name(room),
        tuple((say(f"doors.record-fact.{name}"), value) for name, value in facts if value),
        tuple(words.splitlines()),
        one.agreed_by,
        one.made_by,
    )


def _studio_name(room: Room) -> str:
    try:
        return str(tomllib.loads((room.studio / "studio.toml").read_text("utf-8")).get("name", ""))
    except (OSError, ValueError):
        return ""


def card(told: str, piece: str, out: Path | None) -> BookAnswer:
    """Return what goes home with a cast piece, by the ledger, and write it as PDF if a file is named."""

    def work(room: Room) -> BookAnswer:
        taken, metal = intake_of(room.connection, piece), metal_of(room.connection, piece)
        if metal is None:
            return BookAnswer({}, "", (Finding("doors.record-not-cast", Level.STOP, piece, {"piece": piece}),))
        one = _keepsake(room, taken, metal)
        says = _write_card(room, one, out) if out else ()
        return BookAnswer(_card_json(room, metal, one, out), _with_file(_card_text(one), out), says)

    return reading(told, work)


def _keepsake(room: Room, taken: Intake, metal: PieceMetal) -> Keepsake:
    known, parts = _passport(room, metal), [LotShare(one.lot, one.mass_mg, one.certain) for one in metal.parts]
    remark = ""
    if known is not None:
        worst = given(known.low_permille, "permille", metal.piece)
        key = "" if known.assayed and known.meets_frac == 1 else remark_for(parts, worst, known.standard_permille)
        remark = say(key, standard=f"{known.standard_permille:.0f}") if key else ""
    return Keepsake(
        taken.piece,
        taken.title,
        taken.owner,
        _studio_name(room),
        alloy(metal.alloy).title,
        show(metal.mass_mg / 1000, "g", 2),
        _fineness(known),
        remark,
        _printed_parts(metal),
        _told(room, taken, metal),
        _came_out(room, taken.piece),
    )


def _passport(room: Room, metal: PieceMetal) -> Passport | None:
    """Return what is known of a piece's fineness, None for a metal without a standard."""
    kind = alloy(metal.alloy)
    if not kind.element or not kind.fineness_permille:
        return None
    return passport(room.connection, metal.piece, kind.fineness_permille, kind.element, _SCALE_ERROR_MG)


def _fineness(known: Passport | None) -> str:
    """Return fineness and its worst case with what they rest on; empty where a lot is not known at all."""
    if known is None or known.meets_frac is None:
        return ""
    reckoned, worst = (show(one, "permille", _PERMILLE_DIGITS) for one in (known.best_permille, known.low_permille))
    ground = say("sheet.keepsake.assayed") if known.assayed else say("sheet.card.computed")
    return f"{say('sheet.card.fineness', reckoned=reckoned, worst=worst)} {ground}"


def _printed_parts(metal: PieceMetal) -> tuple[tuple[str, str, str], ...]:
    """Return lots with their shares in hundredths of a gram, which add up to the mass as it is printed."""
    hundredths = split_mg(round(metal.mass_mg / _MG_HUNDREDTH), to_ppm({one.lot: one.mass_mg for one in metal.parts}))
    names = {one.lot: one.metal if one.certain else say("sheet.card.unsure", title=one.metal) for one in metal.parts}
    return tuple((lot, names[lot], show(mass / 100, "g", 2)) for lot, mass in hundredths.items())


def _told(room: Room, taken: Intake, metal: PieceMetal) -> tuple[tuple[str, str], ...]:
    known = actuals(room.connection, (metal.pour,))
    found = [known[metal.pour, name] for name in _TOLD if (metal.pour, name) in known]
    rows = [(say(f"doors.record-fact.{one.quantity}"), _value(room, one)) for one in found]
    first = [] if "pour-at" in {one.quantity for one in found} else [
        (say("doors.record-fact.pour-at"), room.shown(metal.cast_at))
    ]  # fmt: skip
    pattern = [(say("doors.record-fact.material"), taken.material)] if taken.material else []
    return (*first, *rows, *pattern, (say("doors.record-fact.weighed-by"), metal.weighed_by))


def _value(room: Room, one: Actual) -> str:
    if one.unit == TIME and one.at is not None:
        return room.shown(one.at)
    return show(float(one.value or 0), one.unit, _CARD_DIGITS.get(one.unit))


def _came_out(room: Room, piece: str) -> tuple[str, ...]:
    result, lines = outcomes(room.connection, (piece,)).get(piece), []
    if result:
        lines.append(say(f"doors.record-result.{result.result}", note=f" ({result.note})" if result.note else ""))
    for one in defects(room.connection, (piece,)):
        region = one.region or ", ".join(f"{part:.1f}" for part in fault_json(one)["place_mm"]) + " mm"
        lines.append(say("doors.record-fault-line", title=defect(one.defect).title, region=region))
    return tuple(lines)


def _write_card(room: Room, one: Keepsake, out: Path) -> tuple[Finding, ...]:
    photos = attachments(room.connection, (one.piece,), "photo")
    day = date.fromisoformat(one.piece[:10])
    if not photos:
        write_keepsake(one, day, out)
        return ()
    kept = kept_file_of(room.connection, photos[0].sha256)
    if write_keepsake(one, day, out, read_file(room.studio, kept), kept.ending):
        return ()
    return (Finding("doors.record-photo-not-drawn", Level.LOOK, photos[0].name or one.piece),)


def _card_json(room: Room, metal: PieceMetal, one: Keepsake, out: Path | None) -> dict[str, object]:
    known = _passport(room, metal)
    return {
        "piece": one.piece,
        "owner": one.owner,
        "title": one.title,
        "pour": metal.pour,
        "alloy": metal.alloy,
        "mass_g": grams(metal.mass_mg),
        "elements_g": {name: grams(mass) for name, mass in sorted(metal.elements_mg.items())},
        "fineness_permille": None if known is None else round(known.best_permille, 3),
        "worst_permille": None if known is None else round(known.low_permille, 3),
        "meets_frac": None if known is None or known.meets_frac is None else round(known.meets_frac, 6),
        "assayed": known is not None and known.assayed,
        "remark": one.remark,
        "lots": [{"lot": part.lot, "metal": part.metal, "mass_g": grams(part.mass_mg), "certain": part.certain}
                 for part in metal.parts],
        "told": dict(one.facts),
        "defects": [fault_json(fault) for fault in defects(room.connection, (one.piece,))],
        "outcome": list(one.outcome),
        "written": str(out) if out else None,
    }  # fmt: skip


def _card_text(one: Keepsake) -> str:
    lines = [f"{one.piece}  {one.title}  ({one.owner})", f"  {one.mass}  {one.alloy}. {one.fineness}"]
    lines += [f"  {one.remark}"] if one.remark else []
    lines += [f"    {lot}  {metal}  {mass}" for lot, metal, mass in one.lots]
    lines += [f"  {name}: {value}" for name, value in one.facts]
    return "\n".join([*lines, *(f"  {line}" for line in one.outcome)])
