"""Spin, fill, freeze and cool a day's flasks in one go: the metal as it comes to each place starts the freezing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pourwright.core.findings import Finding, stops
from pourwright.core.work import Report, keep_line, tell_nobody
from pourwright.doors.service import freeze, throw
from pourwright.doors.service.freeze import FreezeAnswer, freeze_day_file
from pourwright.doors.service.throw import SAMPLES_COUNT, ThrowAnswer, throw_day_file
from pourwright.doors.service.throw_text import as_text as throw_text
from pourwright.simulate.job import StartField
from pourwright.simulate.run import never
from pourwright.simulate.throw_fields import start_of

_ZERO_C_K = 273.15


@dataclass(frozen=True)
class SimulateAnswer:
    """What throwing and freezing say; ``frozen`` is None where throwing was stopped."""

    thrown: ThrowAnswer
    frozen: FreezeAnswer | None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, each once."""
        found = (*self.thrown.findings, *(self.frozen.findings if self.frozen else ()))
        once = {(one.code, one.where, repr(one.params)): one for one in found}
        return tuple(once.values())


def simulate_day_file(
    day_path: Path,
    studio_folder: Path | None = None,
    flask: str = "",
    turns: str = "",
    flask_temperature: str = "",
    pour_temperature: str = "",
    granted: str = "",
    samples_count: int = SAMPLES_COUNT,
    report: Report = tell_nobody,
    cancelled: Callable[[], bool] = never,
    tell: Callable[[str], None] = keep_line,
) -> SimulateAnswer:
    """Throw the flasks of a day, fill them, and freeze and cool them from the metal as it came.

    Parameters
    ----------
    day_path, studio_folder, flask, turns, flask_temperature, pour_temperature
        As for :func:`pourwright.doors.service.throw.throw_day_file`.
    granted : str
        Time for the freezing of each flask, as typed.
    samples_count : int
        Runs of the filling over the ranges.
    report, cancelled, tell : callable
        Told of progress; asked whether to stop; given first answers.

    Returns
    -------
    SimulateAnswer
        Never raises for what a user can mend.
    """
    thrown = throw_day_file(
        day_path, studio_folder, flask, turns, flask_temperature, pour_temperature, samples_count=samples_count,
        report=report, cancelled=cancelled, tell=tell,
    )  # fmt: skip
    if cancelled() or stops(thrown.findings):
        return SimulateAnswer(thrown, None)
    frozen = freeze_day_file(
        day_path, studio_folder, flask, flask_temperature, pour_temperature, granted=granted, report=report,
        cancelled=cancelled, tell=tell, starts=_starts(thrown),
    )  # fmt: skip
    return SimulateAnswer(thrown, frozen)


def _starts(thrown: ThrowAnswer) -> dict[str, StartField]:
    """Return how warm the metal came to each place, by load."""
    found = {}
    for one in thrown.flasks:
        if one.fields is not None and one.summary is not None:
            start = start_of(one.fields, one.summary.pour_temperature_C.value + _ZERO_C_K)
            if start is not None:
                found[one.id] = start
    return found


def as_json(answer: SimulateAnswer) -> dict[str, Any]:
    """Return the answer as plain JSON values: each flask with what throwing and what freezing says of it."""
    thrown = throw.as_json(answer.thrown)
    frozen = freeze.as_json(answer.frozen) if answer.frozen else {"flasks": [], "written": []}
    by_load = {one["id"]: one for one in frozen["flasks"]}
    return {
        "flasks": [
            {"id": one["id"], "flask": one["flask"], "throw": one, "freeze": by_load.get(one["id"])}
            for one in thrown["flasks"]
        ],
        "written": [*thrown["written"], *frozen["written"]],
        "not_seen": thrown["not_seen"],
        "shrinkage_only": True,
        "findings": [one.as_json() for one in answer.findings],
    }


def as_text(answer: SimulateAnswer) -> str:
    """Return what a caster wants to know: first how the flasks fill, then how they freeze."""
    parts = [throw_text(answer.thrown), *([freeze.as_text(answer.frozen)] if answer.frozen else [])]
    return "\n\n".join(part for part in parts if part)
