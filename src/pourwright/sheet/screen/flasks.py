"""A flask's sections for the screen, the tub, and the cards to take home."""

from __future__ import annotations

from collections.abc import Mapping

from pourwright.core.text import say
from pourwright.sheet.screen.freeze import freeze
from pourwright.sheet.screen.markup import Markup, element, joined
from pourwright.sheet.screen.parts import (
    Content,
    box,
    cautions,
    figure,
    key_figures,
    marks,
    picture,
    scratched,
    section,
    steps,
    table,
    write_in,
)
from pourwright.sheet.screen.throw import fill

Pictures = Mapping[str, bytes]


def flask(content: Content, f: Content, pictures: Pictures, drawings: tuple[bytes, bytes, bytes]) -> Markup:
    """Return one flask: build and weigh, set the machine cold, pour.

    Parameters
    ----------
    content : mapping
        Of the whole day.
    f : mapping
        Of this flask.
    pictures : mapping
        PNG of each picture by its file name.
    drawings : tuple of bytes
        SVG of the tree from above and from the side, and of the arm.
    """
    w = content["words"]
    above, side, arm = drawings
    return section(
        f"flask-{f['number']}",
        f"{w['flask']} {f['number']}",
        element("p", scratched(f["number"], "plate"), f" {f['flask']} · {f['id']}"),
        *_build(f, w, pictures, above, side),
        *(fill(f["fill"], pictures) if f["fill"] else ()),
        *(freeze(f["freeze"], pictures) if f["freeze"] else ()),
        *_machine(f, w, arm),
        *_pour(f, w),
        element("h3", say("sheet.screen.reasons")),
        *(_reason(one) for one in f["why"]),
        kind="flask",
    )


def _build(f: Content, w: Content, pictures: Pictures, above: bytes, side: bytes) -> list[Markup | None]:
    labels = ", ".join(one["short"] for one in f["pieces"])
    room = f["tree"]["clearances"]
    mould = f["mould"]
    return [
        element("h3", w["build.running"]),
        element("ul", *(_piece(one, w, pictures) for one in f["pieces"]), class_="pieces"),
        element(
            "div",
            element("div", element("h4", w["build.top"]),
                    picture("svg+xml", above, say("sheet.screen.from-above", pieces=labels), "drawing")),
            element("div", element("h4", w["build.side"]),
                    picture("svg+xml", side, say("sheet.screen.from-side", pieces=labels), "drawing")),
            class_="halves",
        ),
        element("p", f"{w['build.scale']} {f['tree']['scale']}. {w['build.tree']} {w['build.sprue']} {room['sprue']}. "
                f"{w['build.clear']} {room['wall']} {w['build.wall']}, {room['end']} {w['build.end']}."),
        element("h4", w["build.scratch"]),
        element("p", scratched(f["number"]), " ", element("strong", f["label"])),
        *(_mould(mould, w) if mould else ()),
        element("h4", w["build.metal"]),
        _pan(f["metal"], w),
    ]  # fmt: skip


def _piece(one: Content, w: Content, pictures: Pictures) -> Markup:
    drawn = one["picture"]
    seen = (
        picture("png", pictures[drawn["file"]], say("sheet.screen.piece", title=one["title"],
                width=f"{drawn['width_mm']:.0f}"))
        if drawn
        else element("p", w["build.no-picture"], class_="no-picture")
    )  # fmt: skip
    return element(
        "li",
        seen,
        element("p", element("b", one["short"]), " ", figure(one["mass"])),
        element("p", one["title"]),
        element("p", f"{w['build.owner']} {one['owner']}; {w['build.gate']} {one['gate']}"),
        element("p", element("b", f"{one['warned']}: {w['build.warned']}")) if one["warned"] else None,
        element("p", element("b", w["build.stones"])) if one["stones"] else None,
    )


def _mould(mould: Content, w: Content) -> tuple[Markup, Markup]:
    return (
        element("h4", w["build.mould"]),
        key_figures(
            (w["mixing.powder"], mould["powder"]),
            (w["mixing.water"], mould["water"]),
            (w["build.dry"], figure(mould["dry"])),
        ),
    )


def _pan(metal: Content, w: Content) -> Markup:
    rows = [
        element("li", box(), element("span", element("b", one["lot"]), f" {one['title']}"), element("b", one["mass"]))
        for one in metal["pans"]
    ]
    whole = element("li", element("span"), element("span", w["build.charge"]), element("strong", metal["charge"]))
    fine = metal["fineness"]
    return joined((
        None if rows else element("p", element("b", w["build.not-alloyed"])),
        element("ul", *rows, whole, class_="ready"),
        _fineness(fine, w) if fine else None,
        element("p", f"{w['build.charge']} {w['build.floor']} ", figure(metal["floor"]), f", {w['build.ceiling']} ",
                figure(metal["ceiling"]), f". {w['build.crucible']} {metal['crucible_id']} {w['build.holds']} ",
                figure(metal["crucible"]), "."),
    ))  # fmt: skip


def _fineness(fine: Content, w: Content) -> Markup:
    return element(
        "p", f"{w['weighing.fineness']} ", element("b", fine["aim"]), f" {w['weighing.aim']}, ",
        element("b", fine["worst"]), f" {w['weighing.worst']}. {w['weighing.scrap']} {fine['scrap']}.",
    )  # fmt: skip


def _machine(f: Content, w: Content, arm: bytes) -> list[Markup]:
    a, wind = f["arm"], f["winding"]
    speed = f" {w['machine.at-speed']} {a['stated_speed']}" if a["stated_speed"] else ""
    return [
        element("h3", w["machine.running"]),
        key_figures(
            (w["machine.mark"], joined((figure(f["mark"]), element("small", f" {w['machine.from-shaft']}")))),
            (w["machine.wind"], joined((figure(wind), element("small",
             f" {w['machine.turns']}, {w['machine.range']} {wind['range']}, {w['machine.limit']} {wind['most']}")))),
        ),
        picture("svg+xml", arm, say("sheet.screen.arm", mark=f["mark"]["text"]), "drawing wide"),
        element("p", w["machine.balance"], " ", figure(a["start_force"]), f"{speed}; {w['machine.start-wants']} ",
                figure(a["start_mark"]), ".", f" {a['pulls']}" if a["pulls"] else ""),
        _windings(a, w),
        element("h4", w["machine.title"]),
        steps(f["cold"][:-2]),
        element("div", element("p", w["machine.why-now"]), steps(f["cold"][-2:]), class_="panel"),
    ]  # fmt: skip


def _windings(a: Content, w: Content) -> Markup:
    heads = [w[key] for key in ("cover.turns", "machine.speed", "machine.pull", "machine.head")]
    sign = [] if a["calibrated"] else ["uncalibrated"]
    rows = [
        (
            element("b", f"{one['turns']} {say('sheet.screen.chosen')}") if one["chosen"] else one["turns"],
            joined((one["speed"], marks(sign))),
            one["pull"],
            one["head"],
        )
        for one in a["windings"]
    ]
    return table(heads, rows, w["machine.wind"])


def _pour(f: Content, w: Content) -> list[Markup]:
    back = f["way_back"]
    calls = [element("li", box(), element("strong", words)) for words in f["release"]["calls"]]
    return [
        element("h3", w["pour.running"]),
        key_figures(
            (w["pour.at"], f["pour"]),
            (w["pour.temperature"], figure(f["flask_temperature"])),
            (w["build.charge"], f["metal"]["charge"]),
        ),
        element("h4", w["pour.melt"]),
        element("p", w["pour.first"]),
        steps(f["melt"]),
        element("h4", w["pour.cradle"]),
        steps(f["to_cradle"]),
        element(
            "div",
            element("div", element("h4", w["pour.release"]), element("p", w["pour.release-how"]),
                    element("ol", *calls, class_="calls"), steps(f["release"]["steps"]), class_="panel"),
            element("div", element("h4", w["pour.way-back"]), element("p", back["head"]),
                    element("ol", *(element("li", words) for words in back["steps"]), class_="way"),
                    element("p", element("small", back["note"]), marks(back["marks"])),
                    write_in(w["pour.aborted"]), class_="panel grey"),
            class_="halves",
        ),
        write_in(*(w[key] for key in ("pour.released", "pour.weight-out", "pour.happened"))),
        quench_line(f["quench"], w),
    ]  # fmt: skip


def _reason(one: Content) -> Markup:
    """Return a number that opens to how it is made; the browser opens it, no script does."""
    rows = (
        (say("sheet.why.range"), one["range"]),
        (say("sheet.why.made-from"), "; ".join(one["from"])),
        (say("sheet.why.mover"), one["mover"]),
        (say("sheet.why.read"), "; ".join(one["read"])),
        (say("sheet.why.sources"), "; ".join(one["sources"])),
    )
    facts = [element("div", element("dt", name), element("dd", words)) for name, words in rows if words]
    return element(
        "details",
        element("summary", element("span", one["name"]), " ", element("strong", one["value"])),
        element("p", one["how"]),
        element("dl", *facts, class_="pairs plain") if facts else None,
    )


def quench_line(q: Content, w: Content) -> Markup:
    """Return when the flask goes into the water, or that it does not."""
    if not q["wet"]:
        return element("p", element("strong", q["basis"][:1].upper() + q["basis"][1:] + "."))
    return joined((
        element("p", f"{w['pour.quench']} ", figure(q, "large"), f" {w['pour.quench-how']} ({q['basis']})."),
        element("p", element("b", w["pour.black"])),
    ))  # fmt: skip


def tub(content: Content) -> Markup:
    """Return what follows the throw, flask by flask."""
    t, w = content["tub"], content["words"]
    wet = any(f["quench"]["wet"] for f in content["flasks"])
    dry = any(not f["quench"]["wet"] for f in content["flasks"])
    return section(
        "tub",
        w["tub.title"],
        steps(t["steps"]),
        element("p", element("strong", w["pour.quench-words"]), class_="notice") if wet else None,
        cautions(t["cautions"]) if wet else None,
        element("p", element("b", w["tub.stay"])) if dry else None,
        *(_tub_flask(f, w) for f in content["flasks"]),
    )


def _tub_flask(f: Content, w: Content) -> Markup:
    q = f["quench"]
    wet = ("pour.released", "pour.quench-from", "pour.quench-until", "tub.wet", "pour.weight-out")
    keys = wet if q["wet"] else ("pour.released", "tub.hand-warm", "pour.weight-out")
    planned = element("p", f"{w['tub.planned']} ", element("b", q["clock"]), ".") if q["wet"] else None
    return element(
        "div",
        element("h3", f"{w['flask']} {f['number']}"),
        quench_line(q, w),
        planned,
        write_in(*(w[key] for key in keys)),
        class_="panel",
    )


def cards(content: Content, pictures: Pictures) -> Markup | None:
    """Return the card of every piece; None where there are none."""
    rows, w = content["cards"], content["words"]
    if not rows:
        return None
    return section("cards", say("sheet.screen.cards"), *(_card(one, w, pictures) for one in rows))


def _card(one: Content, w: Content, pictures: Pictures) -> Markup:
    drawn = one["picture"]
    facts = [element("div", element("dt", part["name"]), element("dd", part["words"])) for part in one["cast"]]
    if one["weighed_by"]:
        facts.append(element("div", element("dt", w["card.weighed-by"]), element("dd", one["weighed_by"])))
    lots = [element("li", element("b", lot["lot"]), element("span", lot["title"]), element("b", lot["mass"]))
            for lot in one["lots"]]  # fmt: skip
    return element(
        "article",
        element("h3", one["title"]),
        element("p", f"{w['build.owner']} {one['owner']} · {one['id']}"),
        picture("png", pictures[drawn["file"]], say("sheet.screen.piece", title=one["title"],
                width=f"{drawn['width_mm']:.0f}"), "small") if drawn else None,
        key_figures((w["card.planned"], one["mass"])),
        element("p", element("b", f"{one['alloy']}."), f" {one['fineness']} {w['card.computed']}"),
        element("p", one["remark"], class_="notice") if one["remark"] else None,
        element("p", one["assay"]) if one["assay"] else None,
        element("ul", *lots, class_="ready"),
        element("dl", *facts, class_="pairs"),
        element("p", element("b", w["card.next"]), " ", " ".join(one["next"])) if one["next"] else None,
        write_in(w["card.weight"], w["card.weigher"], w["card.came-out"], w["card.try"]),
        class_="panel",
    )  # fmt: skip
