"""The day's sections for the screen, from what is to be known first to the fire watch."""

from __future__ import annotations

from pourwright.core.text import say
from pourwright.sheet.screen.markup import Markup, element, joined
from pourwright.sheet.screen.parts import (
    Content,
    box,
    caution,
    cautions,
    figure,
    key_figures,
    marks,
    picture,
    scratched,
    section,
    state,
    steps,
    table,
    write_in,
)


def glance(content: Content) -> Markup:
    """Return what the paper's cover says."""
    c, w = content["cover"], content["words"]
    return section(
        "glance",
        say("sheet.screen.glance"),
        element("p", c["unlike"], class_="notice") if c["unlike"] else None,
        element("p", c["stops"], class_="notice bad") if c["stops"] else None,
        key_figures(
            (w["cover.invest-by"], c["invest_by"]),
            (w["cover.light"], c["light"]),
            (w["cover.first-pour"], c["first_pour"]),
            (w["cover.metal"], c["alloy"]),
        ),
        element("h3", " – ".join(one for one in (w["cover.flasks"], c["done"]) if one)),
        _flask_table(c["flasks"], w),
        element(
            "div",
            element("div", element("h3", w["cover.hazards"]), cautions(c["hazards"]), write_in(w["cover.ring"])),
            element("div", *_people_and_things(c, w)),
            class_="halves",
        ),
    )


def _flask_table(rows: list[Content], w: Content) -> Markup:
    heads = [w[f"cover.{key}"] for key in ("number", "pieces", "charge", "at", "turns", "mark", "pour", "quench")]
    cells = [
        (
            scratched(one["number"]),
            joined((element("b", one["flask"]), " ", one["pieces"])),
            element("strong", one["charge"]),
            figure(one["flask_temperature"]),
            joined((figure(one["winding"]), " ", element("small", one["winding"]["range"]))),
            figure(one["mark"]),
            element("strong", one["pour"]),
            figure(one["quench"]),
        )
        for one in rows
    ]
    return table(heads, cells, w["cover.flasks"])


def _people_and_things(c: Content, w: Content) -> list[Markup]:
    people = [(row["role"], row["names"] or say("sheet.screen.nobody")) for row in c["people"]]
    windows = [(f"{row['from']} – {row['to']}", row["why"]) for row in c["extraction"]]
    ready = [element("li", box(), element("span", row["what"]), element("b", row["much"])) for row in c["put_out"]]
    return [
        element("h3", w["cover.people"]),
        _pairs(people),
        element("h3", w["cover.extraction"]),
        _pairs(windows),
        element("h3", w["cover.put-out"]),
        element("ul", *ready, class_="ready"),
    ]


def _pairs(rows: list[tuple[str, str]]) -> Markup:
    return element(
        "dl", *(element("div", element("dt", name), element("dd", what)) for name, what in rows), class_="pairs"
    )


def warnings(content: Content) -> Markup:
    """Return what is not as last time, the warnings of the day and those of each piece."""
    found, unlike, w = content["warnings"], content["unlike"], content["words"]
    return section(
        "warnings",
        w["findings.title"],
        *(_unlike(unlike, w) if unlike else ()),
        element("h3", w["findings.day"]),
        *(_warning(one, w) for one in found["day"]),
        None if found["day"] else element("p", w["findings.none"]),
        element("h3", w["findings.pieces"]),
        element("p", w["findings.pieces-how"]),
        *(_of_piece(one, w) for one in found["pieces"]),
        _names(w["findings.nothing"], found["nothing"]),
        _names(w["findings.unseen"], found["unseen"]),
    )


def _unlike(unlike: Content, w: Content) -> list[Markup]:
    title = f"{w['unlike.title']} {unlike['day']}"
    heads = [w[f"unlike.{key}"] for key in ("thing", "then", "now")]
    rows = [(one["what"], one["then"], element("b", one["now"])) for one in unlike["rows"]]
    told = [element("p", w["unlike.how"]), table(heads, rows, title)] if rows else [element("p", w["unlike.same"])]
    return [element("h3", title), *told]


def _warning(one: Content, w: Content, with_place: bool = True) -> Markup:
    return element(
        "div",
        state(one["name"], one["level"] == "stop"),
        element(
            "div",
            element("p", element("b", one["what"]), element("small", " ", one["where"]) if with_place else None),
            element("p", one["why"]) if one["why"] else None,
            element("p", element("b", w["findings.do"]), " ", one["do_next"]),
        ),
        class_="warning",
    )


def _of_piece(piece: Content, w: Content) -> Markup:
    title = element("h4", f"{piece['short']} {piece['title']}, {w['build.owner']} {piece['owner']}")
    return joined((title, *(_warning(one, w, with_place=False) for one in piece["rows"])))


def _names(label: str, names: str) -> Markup | None:
    return element("p", element("b", label), f" {names}.") if names else None


def by_the_clock(content: Content) -> Markup:
    """Return the day's entries under their dates."""
    w = content["words"]
    return section(
        "clock",
        w["clock.title"],
        element("p", w["clock.mind-key"]),
        *(
            joined((
                element("h3", day["date"]),
                element("ol", *(_clock_row(row, w) for row in day["rows"]), class_="clock"),
            ))
            for day in content["clock"]
        ),
    )  # fmt: skip


def _clock_row(row: Content, w: Content) -> Markup:
    mind = joined((element("b", w["clock.mind"]), " ", " · ".join(row["cautions"])))
    return element(
        "li",
        element("span", element("b", row["from"]), f" – {row['to']}", class_="time"),
        element(
            "div",
            row["what"],
            element("em", w["clock.on"]) if row["extraction"] else None,
            element("small", mind) if row["cautions"] else None,
        ),
        element("b", row["role"], class_="role"),
        class_="fan" if row["extraction"] else "",
    )


def before(content: Content) -> Markup | None:
    """Return supplies, checks and the work on the patterns; None where the plan holds none of them."""
    b, w = content["before"], content["words"]
    if not any(b.values()):
        return None
    return section(
        "before",
        w["before.title"],
        *(_supplies(b["supplies"], w) if b["supplies"] else ()),
        *(_checks(b["checks"], w) if b["checks"] else ()),
        *((element("h3", w["before.steps"]), steps(b["steps"])) if b["steps"] else ()),
    )


def _supplies(rows: list[Content], w: Content) -> list[Markup]:
    heads = [w[f"before.{key}"] for key in ("supply", "have", "out", "left", "state")]
    cells = [
        (joined((element("b", one["id"]), " ", one["title"])), one["have"], element("b", one["out"]), one["left"],
         state(one["state"], one["short"]))
        for one in rows
    ]  # fmt: skip
    return [element("h3", w["before.supplies"]), table(heads, cells, w["before.supplies"])]


def _checks(rows: list[Content], w: Content) -> list[Markup]:
    heads = [w[f"before.{key}"] for key in ("check", "last", "due", "state", "done")]
    cells = [
        (
            joined((box(), " ", one["name"], f": {one['against']}" if one["against"] else None)),
            one["last"],
            one["due"],
            state(one["state"], one["overdue"]),
            element("i", class_="line"),
        )
        for one in rows
    ]
    return [element("h3", w["before.checks"]), table(heads, cells, w["before.checks"])]


def mixing(content: Content) -> Markup:
    """Return each bowl with its powder, water and clock, and what every flask holds."""
    m, w = content["mixing"], content["words"]
    heads = [w[f"mixing.{key}"] for key in ("flask", "powder", "water", "scratch")]
    rows = [
        (one["flask"], element("b", one["powder"]), element("b", one["water"]), scratched(one["scratch"]))
        for one in m["flasks"]
    ]
    return section(
        "mixing",
        w["mixing.title"],
        element("p", w["mixing.by"], " ", element("strong", m["invest_by"])),
        cautions(m["cautions"]),
        element("p", element("b", w["mixing.order"])),
        *(_bowl(one, w) for one in m["bowls"]),
        element("h3", w["mixing.per-flask"]),
        element("p", w["mixing.scratch-how"]),
        table(heads, rows, w["mixing.per-flask"]),
        element("p", f"{w['mixing.left']}: ", element("b", m["left"]), f" ({m['powder']})."),
    )


def _bowl(bowl: Content, w: Content) -> Markup:
    clock = [
        element("li", box(), element("span", one["name"] + (f" – {one['flasks']}" if one["flasks"] else "")),
                element("b", one["span"]))
        for one in bowl["clock"]
    ]  # fmt: skip
    return element(
        "div",
        element("h3", f"{w['mixing.bowl']} {bowl['number']}"),
        element("p", f"{w['mixing.flask']} {bowl['flasks']}"),
        key_figures((w["mixing.powder"], figure(bowl["powder"])), (w["mixing.water"], figure(bowl["water"]))),
        element("p", w["mixing.clock"]),
        element("ol", *clock, class_="ready"),
        element("p", f"{w['mixing.ends']} ", figure(bowl["ends"]), "."),
        element("p", f"{w['mixing.limit']} ", figure(bowl["limit"]), "."),
        write_in(w["mixing.started"]),
        class_="panel",
    )


def kiln(content: Content, curve: bytes, stand: bytes) -> Markup:
    """Return the programme as the controller takes it, its curve, who stands where, what is done before and during."""
    k, w = content["kiln"], content["words"]
    energy = ((w["kiln.energy"], figure(k["energy"])),) if k["energy"] else ()
    turns = ", ".join(f"{one['set']} {one['to']}" for one in k["segments"])
    return section(
        "kiln",
        w["kiln.title"],
        key_figures(
            (w["kiln.light"], k["light"]),
            (w["kiln.top"], figure(k["top"])),
            (w["kiln.casting"], figure(k["casting"])),
            *energy,
        ),
        picture("svg+xml", curve, say("sheet.screen.curve", light=k["light"], turns=turns), "drawing wide"),
        element("p", w["kiln.curve-key"]),
        element("p", element("b", w["kiln.readings"])),
        _segments(k["segments"], w),
        _falling(k["pours"], w) if k["pours"] else None,
        _dewax(k["dewax"], w) if k["dewax"] else None,
        _ash(k["ash"], w) if k["ash"] else None,
        element("h3", w["kiln.map"]),
        picture("svg+xml", stand, ". ".join(k["map"]["words"]), "drawing"),
        element("p", k["map"]["key"]),
        _lags(k["lags"], w) if k["lags"] and not k["pours"] else None,
        cautions(k["cautions"]),
    )


def _segments(rows: list[Content], w: Content) -> Markup:
    heads = [w[f"kiln.{key}"] for key in ("step", "rate", "set", "hold", "from", "reached", "to")]
    heads.append(say("sheet.screen.why"))
    cells = [
        (
            joined((box(), " ", element("b", f"{one['number']} {one['kind']}"))),
            one["rate"],
            element("strong", one["set"]),
            element("b", one["hold"]),
            one["from"],
            one["reached"],
            element("b", one["to"]),
            " ".join(one["because"]),
        )
        for one in rows
    ]
    return table(heads, cells, w["kiln.readings"], "segments")


def _falling(rows: list[Content], w: Content) -> Markup:
    heads = [w[f"kiln.{key}"] for key in ("set", "flasks", "reached", "first", "done-at", "lag")]
    cells = [
        (figure(one["set"]), one["flasks"], one["reached"], element("b", one["first"]), one["done"], one["lag"])
        for one in rows
    ]
    return joined((element("h3", w["kiln.falling"]), table(heads, cells, w["kiln.falling"])))


def _dewax(one: Content, w: Content) -> Markup:
    return element(
        "div",
        element("h3", one["how"]),
        element("p", f"{w['kiln.flasks']} ", element("b", one["flasks"]), "."),
        element("p", element("b", f"{one['from']} – {one['to']}"), "."),
        element("p", f"{w['kiln.into']} ", element("b", one["into"]), "."),
        cautions(one["cautions"]),
        class_="panel",
    )  # fmt: skip


def _ash(one: Content, w: Content) -> Markup:
    rows = [
        element("li", box(), element("span", element("b", f"{row['at']} {w['flask']} {row['flask']}"),
                f" {row['pattern']}; {w['kiln.reheat']} ", element("b", row["reheat"])))
        for row in one["rows"]
    ]  # fmt: skip
    return element(
        "div",
        element("h3", w["kiln.ash"]),
        element("p", w["kiln.ash-how"]),
        element("ul", *rows, class_="ready"),
        cautions(one["cautions"]),
        class_="panel",
    )


def _lags(rows: list[Content], w: Content) -> Markup:
    parts = [joined((f"{one['flask']} ", figure(one["lag"]))) for one in rows]
    return element("p", f"{w['kiln.lags']}: ", joined(parts, ", "), ".")


def weighing(content: Content) -> Markup:
    """Return what comes out of the drawer and what goes on each pan."""
    t, w = content["weighing"], content["words"]
    drawer = [
        (joined((element("b", one["lot"]), " ", one["title"])), one["have"],
         joined((box(), " ", element("b", one["out"]))), one["left"])
        for one in t["lots"]
    ]  # fmt: skip
    return section(
        "weighing",
        w["weighing.title"],
        element("p", t["scale"]),
        element("h3", w["weighing.drawer"]),
        table([w[f"weighing.{key}"] for key in ("lot", "have", "out", "left")], drawer, w["weighing.drawer"]),
        element("h3", w["weighing.pans"]),
        element("p", w["weighing.law"]),
        *(_pans(one, w) for one in t["tables"]),
        element("p", w["weighing.one-pot"]),
        write_in(w["weighing.by"], w["weighing.checked"]),
    )


def _pans(t: Content, w: Content) -> Markup:
    heads = [w["weighing.lot"], *(f"{w['flask']} {number}" for number in t["flasks"])]
    rows = [
        (joined((element("b", row["lot"]), " ", row["title"])),
         *(joined((box(), " ", element("b", mass))) if mass else "–" for mass in row["pans"]))
        for row in t["rows"]
    ]  # fmt: skip
    total = (element("b", w["weighing.total"]), *(element("strong", mass) for mass in t["totals"]))
    last = [
        (w[f"weighing.row-{name}"], *("–" if one is None else element("b", one[key]) for one in t["fineness"]))
        for key, name in (("aim", "pan"), ("worst", "worst"), ("scrap", "old"))
    ]
    return table(heads, [*rows, total, *last], w["weighing.pans"])


def after(content: Content) -> Markup | None:
    """Return the steps after the quench, the weigh-up and the question before a sale."""
    a, w = content["after"], content["words"]
    if a is None:
        return None
    ask = a["assay"]
    limit = joined((f" {w['after.limit']} ", element("b", ask["limit"]), ".")) if ask["limit"] else None
    return section(
        "after",
        w["after.title"],
        element("p", w["after.weights"]),
        steps(a["steps"]),
        element("h3", w["after.weigh-up"]),
        element("p", w["after.weigh-how"]),
        *(_weigh_up(one, w) for one in a["weigh_up"]),
        element("h3", w["after.sale"]),
        element(
            "p", element("b", f"{ask['title']}. ") if ask["title"] else None, ask["text"], marks(ask["marks"]), limit
        ),
    )


def _weigh_up(one: Content, w: Content) -> Markup:
    line = element("i", class_="line")
    heads = [w[f"after.{key}"] for key in ("thing", "planned", "weighed")]
    rows = [
        (w["after.charge"], element("b", one["charge"]), line),
        (w["after.whole"], "–", line),
        *((f"{piece['short']} {piece['title']}", element("b", piece["mass"]), line) for piece in one["pieces"]),
        (w["after.sprue"], "–", line),
        (w["after.rest"], "–", line),
    ]
    title = f"{w['flask']} {one['number']}"
    return joined((element("h4", title), table(heads, rows, f"{w['after.weigh-up']}, {title}")))


def clean_up(content: Content) -> Markup:
    """Return how the room is left."""
    c, w = content["clean_up"], content["words"]
    return section(
        "clean",
        w["clean.title"],
        element("p", w["clean.intro"], marks(c["marks"])),
        steps(c["steps"]),
        element("h3", w["clean.waste"]),
        cautions(c["waste"]),
        element("h3", w["clean.away"]),
        write_in(*(w[f"clean.{key}"] for key in ("mould", "pickle", "date"))),
    )


def closing(content: Content) -> Markup:
    """Return shutting down, fire watch, first aid and signatures."""
    c, w = content["closing"], content["words"]
    return section(
        "closing",
        w["closing.title"],
        element("p", f"{w['closing.order']}."),
        steps(c["steps"]),
        cautions(c["gas"]),
        element("h3", w["closing.fire"]),
        key_figures(
            (w["closing.last"], c["fire"]["last"]),
            (w["closing.until"], joined((c["fire"]["until"], element("small", f" ({c['fire']['minutes']})")))),
        ),
        write_in(w["closing.real"]),
        cautions(c["fire"]["cautions"]),
        element("h3", w["closing.first-aid"]),
        *(caution(one) for one in c["first_aid"]),
        element("h3", w["closing.sign"]),
        write_in(*c["signatures"]),
    )
