"""What a charge from the drawer prints: as JSON values, and as a table with its margins."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pourwright.core.text import say
from pourwright.core.units import show
from pourwright.doors.service.books.typed import columns
from pourwright.doors.service.charge import decimals_of, fine_down
from pourwright.doors.service.stock.charging import StockAnswer
from pourwright.prepare.charge.ages import mean_melts_count, often_melted_frac
from pourwright.prepare.charge.optimum.request import BestCharge, Obstacle
from pourwright.prepare.charge.optimum.stock_charge import StockCharge
from pourwright.prepare.charge.results import Weighing

_DIGITS = 4
# A share of one fills this many blocks in the bar of ages.
_BAR_COUNT = 40
_OLD_MELTS_COUNT = 5
_NO_LOSS_G = 0.005


def as_json(answer: StockAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values; on refusal the same keys, lists empty and numbers null."""
    found = answer.charge
    aim, exact = (found.aim, found.exact) if found else (None, None)
    return {
        "from": answer.source,
        "weigh": _plain(found.weigh) if found else [],
        "total_g": round(sum(one.mass_g for one in found.weigh), _DIGITS) if found else None,
        "fineness_permille": round(exact.fineness_permille, _DIGITS) if exact else None,
        "fineness_low_permille": round(exact.fineness_low_permille, _DIGITS) if exact else None,
        "aim_permille": round(aim.fineness_permille, _DIGITS) if aim else None,
        "aim_low_permille": round(aim.fineness_low_permille, _DIGITS) if aim else None,
        "aim_high_permille": round(aim.fineness_high_permille, _DIGITS) if aim else None,
        "weigh_to_aim": _plain(aim.weigh) if aim else [],
        "meets_frac": round(aim.meets_frac, _DIGITS) if aim else None,
        "exact_meets_frac": round(exact.meets_frac, _DIGITS) if exact else None,
        "cost": format(aim.cost, "f") if aim and answer.in_money else None,
        "proven": aim.proven and answer.guarded if aim else None,
        "composition_frac": {name: round(share, 6) for name, share in aim.composition_frac.items()} if aim else {},
        "lost_g": round(aim.lost_g, _DIGITS) if aim else None,
        "scrap_frac": round(1 - aim.new_frac, 6) if aim else None,
        "melts_mean_count": round(aim.melts_mean_count, _DIGITS) if aim else None,
        "ages_frac": {str(melts): round(share, 6) for melts, share in found.ages_frac.items()} if found else {},
        "obstacles": [_obstacle(one) for one in answer.obstacles],
        "findings": [one.as_json() for one in answer.findings],
    }


def _plain(weighings: Sequence[Weighing]) -> list[dict[str, Any]]:
    return [{"lot": one.lot, "mass_g": one.mass_g} for one in weighings]


def _obstacle(one: Obstacle) -> dict[str, Any]:
    return {
        "limit": one.limit,
        "subject": one.subject,
        "asked": round(one.asked, _DIGITS),
        "reached": round(one.reached, _DIGITS),
        "unit": one.unit,
    }


def as_text(answer: StockAnswer) -> str:
    """Return the answer as a table: what to weigh first, the exact mixture beside it, then margins, cost and ages."""
    found, alloy = answer.charge, answer.alloy
    if found is None or alloy is None:
        return ""
    digits = decimals_of(answer.division_g)
    title = say("doors.charge-title", alloy=alloy.title, mass=show(_sum_g(found.aim.weigh), "g", digits))
    rows = [("", say("doors.charge-act"), say("doors.charge-exact")), *_mass_rows(found, digits)]
    rows += _margin_rows(found) if found.request.standard_permille else []
    table = columns([*rows], right=(1, 2)).splitlines()
    table.insert(len(found.aim.weigh) + 2, "")
    return "\n".join([title, "", *table, "", *_lines(answer, found)])


def _mass_rows(found: StockCharge, digits: int) -> list[tuple[str, str, str]]:
    exact = {one.lot: one.mass_g for one in found.weigh}
    rows = [
        (one.lot, show(one.mass_g, "g", digits), show(exact[one.lot], "g", _DIGITS) if one.lot in exact else "–")
        for one in found.aim.weigh
    ]
    together = say("doors.charge-together")
    return [*rows, (together, show(_sum_g(found.aim.weigh), "g", digits), show(_sum_g(found.weigh), "g", _DIGITS))]


def _margin_rows(found: StockCharge) -> list[tuple[str, str, str]]:
    aim, exact = found.aim, found.exact
    return [
        (say("doors.charge-fineness"), _nearest(aim.fineness_permille), _nearest(exact.fineness_permille)),
        (say("doors.charge-worst"), fine_down(aim.fineness_low_permille), fine_down(exact.fineness_low_permille)),
        (say("doors.charge-likely-row"), _likely(aim), _likely(exact)),
    ]


def _nearest(fineness_permille: float) -> str:
    return show(fineness_permille, "permille", 2)


def _likely(one: BestCharge) -> str:
    """Return the probability rounded down, and certainty only where the worst case keeps it."""
    if one.meets_frac >= 1.0:
        return say("doors.charge-certain")
    return show(math.floor(1000 * one.meets_frac) / 10, "percent", 1)


def _lines(answer: StockAnswer, found: StockCharge) -> list[str]:
    aim = found.aim
    lines = []
    if answer.in_money:
        key = "doors.charge-cost" if aim.proven and answer.guarded else "doors.charge-worth"
        lines.append(say(key, cost=format(aim.cost, "f")))
    if aim.lost_g > _NO_LOSS_G:
        lines.append(say("doors.charge-burns-away", mass=show(aim.lost_g, "g", 2)))
    lines += [
        *([""] if lines else []),
        say("doors.charge-ages"),
        *(_bar(melts, share) for melts, share in found.ages_frac.items()),
    ]
    if 0 < aim.new_frac < 1:
        lines.append(
            say(
                "doors.charge-long-run",
                new=show(100 * aim.new_frac, "percent", 0),
                mean=show(mean_melts_count(aim.new_frac), "count", 1),
                often=_OLD_MELTS_COUNT,
                share=show(100 * often_melted_frac(aim.new_frac, _OLD_MELTS_COUNT), "percent", 1),
            )
        )
    return [*lines, "", say("doors.charge-drawer", source=answer.source)]


def _bar(melts_count: int, share_frac: float) -> str:
    blocks = "█" * max(1, round(_BAR_COUNT * share_frac))
    name = say("doors.charge-age-new") if melts_count == 0 else say("doors.charge-age", melts=melts_count)
    return f"  {name:<16}{show(100 * share_frac, 'percent', 1):>8}  {blocks}"


def _sum_g(weighings: Sequence[Weighing]) -> float:
    return math.fsum(one.mass_g for one in weighings)
