"""Plan a day from its files and print its sheet."""

from __future__ import annotations

import json
import math
import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, stops
from pourwright.core.text import say
from pourwright.core.units import show, show_in
from pourwright.core.work import Report, tell_nobody
from pourwright.doors.service.freeze_plan import with_freezing
from pourwright.doors.service.measuring import measure_in
from pourwright.doors.service.stock.drawer import with_books_stock
from pourwright.doors.service.throw_plan import plan_with_windows, with_filling
from pourwright.doors.service.variables import STUDIO_VARIABLE
from pourwright.prepare.day_plan import PLAN_FORMAT, DayPlan
from pourwright.prepare.differences import differences, likeness
from pourwright.prepare.plan_file import plan_as_json, write_plan
from pourwright.studio.reading import read_day, read_studio

SHEETS = ("run-sheet.pdf", "labels.pdf", "cards.pdf", "run-sheet.html")


@dataclass(frozen=True)
class PlanAnswer:
    """What was planned and written; ``plan`` is None when it stopped before it was whole."""

    plan: DayPlan | None
    document: dict[str, Any]
    files: tuple[Path, ...]
    removed: tuple[Path, ...]
    findings: tuple[Finding, ...]


def find_studio(day_path: Path, studio_folder: Path | None) -> Path:
    """Return the studio's folder: as told, else around the day file, else by the environment, else here."""
    if studio_folder is not None:
        return studio_folder
    around = day_path.absolute().parent.parent.parent
    if (around / "studio.toml").exists():
        return around
    return Path(os.environ.get(STUDIO_VARIABLE) or ".")


def plan_day_file(
    day_path: Path,
    studio_folder: Path | None,
    out: Path | None,
    paper: str,
    report: Report = tell_nobody,
    large: bool = False,
) -> PlanAnswer:
    """Read studio and day, plan, and write plan.json and all that is printed from it.

    Parameters
    ----------
    day_path : Path
        The day file.
    studio_folder : Path or None
        See :func:`find_studio`.
    out : Path or None
        Where to write; beside the day file if None.
    paper : str
        ``a4`` or ``letter``.
    report : callable
        Is told the share done and what is being done.
    large : bool
        Whether to read pattern files beyond the usual limits.

    Returns
    -------
    PlanAnswer
        With a finding that stops, no sheet is printed and an older one is taken away.
    """
    folder = out or day_path.parent
    root = find_studio(day_path, studio_folder)
    studio, studio_findings = read_studio(root)
    if studio is None:
        return _stopped(folder, studio_findings)
    studio, stock_findings = with_books_stock(studio, root)
    studio_findings += stock_findings
    day, day_findings = read_day(day_path, studio)
    read = (*studio_findings, *day_findings)
    if day is None or stops(read):
        return _stopped(folder, read)
    day_folder = day_path.absolute().parent
    outcome = plan_with_windows(studio, day, measure_in(day_path.parent, large), day_folder, report)
    findings = (*read, *outcome.findings)
    if outcome.plan is None:
        return _stopped(folder, findings)
    plan = _same_again(with_filling(with_freezing(outcome.plan, day_folder), day_folder), day_folder)
    findings = (*read, *plan.findings)
    document = write_plan(plan, folder / "plan.json")
    written = [folder / "plan.json"]
    removed: tuple[Path, ...] = ()
    if stops(findings):
        removed = _take_away(folder)
    else:
        report(0.95, say("doors.plan-printing"))
        written += _print(plan, folder, paper, day_folder)
    report(1.0, "")
    return PlanAnswer(plan, document, tuple(written), removed, findings)


def _same_again(plan: DayPlan, folder: Path) -> DayPlan:
    """Add what differs from the earlier day most like this one; the latest of several."""
    now = plan_as_json(plan)
    earlier = [one for one in _earlier_plans(folder) if one["day"]["date"] < plan.day.date.isoformat()]
    alike = max(earlier, key=lambda one: (likeness(one, now), one["day"]["date"]), default=None)
    if alike is None or not likeness(alike, now):
        return plan
    return replace(plan, repeats=alike["day"]["date"], differences=differences(alike, now))


def _earlier_plans(folder: Path) -> list[dict[str, Any]]:
    """Return the plans of the other days that can be read; a damaged one is no reason to stop."""
    found = []
    for path in sorted(folder.parent.glob("*/plan.json")):
        if path.parent == folder:
            continue
        try:
            one = json.loads(path.read_text("utf-8"))
            if one["format"] == PLAN_FORMAT and isinstance(one["day"]["date"], str):
                found.append(one)
        except (OSError, ValueError, KeyError, TypeError):
            continue
    return found


def _print(plan: DayPlan, folder: Path, paper: str, day_folder: Path) -> tuple[Path, ...]:
    from pourwright.sheet.run_sheet import write_run_sheet

    return write_run_sheet(plan, folder, paper, day_folder)


def _stopped(folder: Path, findings: tuple[Finding, ...]) -> PlanAnswer:
    return PlanAnswer(None, {}, (), _take_away(folder), findings)


def _take_away(folder: Path) -> tuple[Path, ...]:
    """Remove sheets of an earlier plan that no longer holds."""
    old = tuple(folder / name for name in SHEETS if (folder / name).is_file())
    for one in old:
        one.unlink()
    return old


def as_json(answer: PlanAnswer) -> dict[str, Any]:
    """Return the plan with the files written, as plain JSON values."""
    return {
        **answer.document,
        "repeats": answer.plan.repeats if answer.plan else "",
        "differences": _differences(answer),
        "written": [str(one) for one in answer.files],
        "removed": [str(one) for one in answer.removed],
        "findings": [one.as_json() for one in answer.findings],
    }


def _differences(answer: PlanAnswer) -> list[dict[str, str]]:
    rows = answer.plan.differences if answer.plan else ()
    return [{"what": say(one.what), "then": one.then, "now": one.now} for one in rows]


def as_text(answer: PlanAnswer) -> str:
    """Return the plan in a few lines: what the evening needs to know, and where the sheet is."""
    lines = []
    if answer.plan is not None:
        lines += [
            _headline(answer.plan),
            *(_flask_line(answer.plan, row) for row in range(len(answer.plan.flasks))),
            "",
        ]
    if answer.plan is not None and answer.plan.differences:
        lines.append(say("doors.plan-differs", day=answer.plan.repeats))
        lines += [f"  {one['what']}: {one['then']} → {one['now']}" for one in _differences(answer)]
        lines.append("")
    if answer.removed:
        lines.append(say("doors.plan-removed", files=", ".join(one.name for one in answer.removed)))
    lines += [str(one) for one in answer.files]
    return "\n".join(lines)


def _headline(plan: DayPlan) -> str:
    burnout = plan.burnout
    counts = {"day": plan.day.date.isoformat(), "pieces": len(plan.pieces), "flasks": len(plan.flasks)}
    if not burnout.steps:
        return say("doors.plan-headline-refused", **counts)
    return say(
        "doors.plan-headline",
        **counts,
        invest=f"{burnout.invest_by:%a %H:%M}",
        light=f"{burnout.light_at:%a %H:%M}",
        pour=f"{burnout.first_pour:%a %H:%M}",
    )


def _flask_line(plan: DayPlan, row: int) -> str:
    flask, units = plan.flasks[row], plan.studio.units
    charge = flask.need.charge_g
    early = math.ceil(flask.quench.earliest_min.value)
    return say(
        "doors.plan-flask",
        number=flask.number,
        flask=flask.flask,
        count=len(flask.pieces),
        charge=show_in(charge.value, "g", units.mass) if charge else "–",
        mark=show_in(flask.throw.balance.mark_mm.value, "mm", units.length),
        turns=f"{flask.throw.wind_turns.value:g}",
        temperature=show_in(flask.flask_temperature_C.value, "C", units.temperature),
        pour=f"{flask.pour_at:%H:%M}",
        early=early,
        late=show(max(early, math.floor(flask.quench.latest_min.value)), "min"),
    )
