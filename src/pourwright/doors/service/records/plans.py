"""Plan, profile, day, calibration and simulations of a day: kept as they were, and read back."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from pourwright.books.records.files import kept_file_of, read_file
from pourwright.books.records.plans import KeptPlan
from pourwright.books.records.seen import attach, attachments
from pourwright.core.findings import Finding, Level
from pourwright.core.text import say
from pourwright.doors.service.books.opening import BookAnswer, refused
from pourwright.doors.service.freeze_file import FREEZE_FILE
from pourwright.doors.service.records.opening import Room, writing

_PLAN, _DAY, _STUDIO, _CALIBRATION = "plan.json", "day.toml", "studio.toml", "calibration.toml"
_KIND_OF = {_PLAN: "plan", _DAY: "day", _STUDIO: "studio", _CALIBRATION: "calibration"}


def keep_day(told: str, folder: Path, by: str) -> BookAnswer:
    """Keep what belongs to a day as it is now: its plan and day file, profile and calibration, and what was simulated.

    Parameters
    ----------
    told : str
        Books.
    folder : Path
        The day's folder, with ``plan.json`` in it.
    by : str
        Who keeps it.
    """

    def work(room: Room) -> BookAnswer:
        files = _files_of(folder)
        plan = _plan_in(files[_PLAN])
        kept = {}
        for name, content in files.items():
            kind = _KIND_OF.get(name, "simulation")
            kept[name] = attach(room.connection, room.studio, plan.day, kind, content, name, by)
        text = say("doors.record-kept", day=plan.day, files=", ".join(kept))
        return BookAnswer({"day": plan.day, "kept": kept}, text, _stale(plan, files, folder))

    return writing(told, work, must_exist=False)


def _files_of(folder: Path) -> dict[str, bytes]:
    """Return what there is to keep, the plan first; profile and calibration lie in the studio's folder above."""
    if not (folder / _PLAN).is_file():
        raise refused("doors.record-no-plan", str(folder / _PLAN))
    studio = next((one for one in folder.resolve().parents if (one / _STUDIO).is_file()), folder)
    found = [folder / _PLAN, folder / _DAY, studio / _STUDIO, studio / _CALIBRATION]
    found += sorted(one for one in folder.glob("*.json") if one.name != _PLAN)
    return {one.name: one.read_bytes() for one in found if one.is_file()}


def _plan_in(content: bytes) -> KeptPlan:
    try:
        plan = KeptPlan(json.loads(content))
    except (ValueError, AttributeError):
        raise refused("doors.record-plan-unread", _PLAN) from None
    if not plan.day:
        raise refused("doors.record-plan-unread", _PLAN)
    return plan


def _stale(plan: KeptPlan, files: dict[str, bytes], folder: Path) -> tuple[Finding, ...]:
    """Say where profile or day file are no longer what the plan was made from; kept they are all the same."""
    made: dict[str, Any] = plan.document.get("made_from", {})
    now = {"day_sha256": _sha256(files.get(_DAY, b"")), "studio_sha256": _studio_sha256(files)}
    changed = [name for name, key in ((_DAY, "day_sha256"), (_STUDIO, "studio_sha256")) if made.get(key) != now[key]]
    return tuple(Finding("doors.record-plan-stale", Level.LOOK, str(folder / one), {"file": one}) for one in changed)


def _studio_sha256(files: dict[str, bytes]) -> str:
    """Return the hash of profile and calibration as the plan notes it."""
    profile = _sha256(files.get(_STUDIO, b""))
    if _CALIBRATION not in files:
        return profile
    return _sha256(f"{profile} {_sha256(files[_CALIBRATION])}".encode())


def _sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def kept_plan(room: Room, day: str) -> KeptPlan | None:
    """Return the plan of a day that was kept last, read from its file; None if none was kept."""
    found = attachments(room.connection, (day,), "plan")
    if not found:
        return None
    return _with_freezing(room, _plan_in(_content(room, found[-1].sha256)))


def _content(room: Room, sha256: str) -> bytes:
    return read_file(room.studio, kept_file_of(room.connection, sha256))


def _with_freezing(room: Room, plan: KeptPlan) -> KeptPlan:
    """Return the plan with what a freezing run kept with the day says of flasks that it was not planned with."""
    kept = [one for one in attachments(room.connection, (plan.day,), "simulation") if one.name == FREEZE_FILE]
    if not kept:
        return plan
    try:
        known = dict(json.loads(_content(room, kept[-1].sha256)).get("flasks", {}))
    except (ValueError, AttributeError):
        return plan
    flasks = [{**one, "freeze": one.get("freeze") or known.get(one["id"])} for one in plan.document.get("flasks", ())]
    return KeptPlan({**plan.document, "flasks": flasks})
