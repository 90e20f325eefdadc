"""Labels: one to go with each flask and one with its pot of metal."""

from __future__ import annotations

import io

from pourwright.prepare.day_plan import DayPlan, PlannedFlask
from pourwright.sheet import show as paper
from pourwright.sheet.cover import charge_text
from pourwright.sheet.flask import label_words


def labels(plan: DayPlan) -> list[dict[str, object]]:
    """Return the labels in the order of the pours, two to a flask."""
    return [
        {
            "kind": kind,
            "number": one.number,
            "charge": label_words(one) if kind == "flask" else charge_text(plan, one),
            "id": one.id,
            "flask": one.flask,
            "pour": paper.clock(one.pour_at, plan.studio.zone),
            "code": code_file(one),
        }
        for one in plan.flasks
        for kind in ("flask", "metal")
    ]


def code_file(one: PlannedFlask) -> str:
    """Return the file name of a load's square code."""
    return f"code-{one.number}.svg"


def code_text(one: PlannedFlask) -> str:
    """Return what the square code says: the load's id and its charge in grams."""
    charge = one.need.charge_g
    return one.id if charge is None else f"{one.id} {charge.value:.2f} g"


def code_picture(one: PlannedFlask) -> bytes:
    """Return the square code as SVG; a quarter of it may be burnt or smeared and it still reads."""
    import segno

    stream = io.BytesIO()
    segno.make(code_text(one), error="q", micro=False).save(stream, kind="svg", border=2, xmldecl=False)
    return stream.getvalue()
