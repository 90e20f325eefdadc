"""Holds our numbers against the world outside: laws, printed values, and other programs."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from pourwright.core.errors import DataError
from pourwright.core.sources import Kind
from pourwright.core.text import say
from pourwright.doors.service.evidence import metals, moulds, prints, programs, sums

ANALYTIC = "analytic"
_GROUPS = {
    Kind.PUBLISHED.value: "outside",
    Kind.STANDARD.value: "outside",
    Kind.COMPUTED.value: "outside",
    ANALYTIC: "arithmetic",
    Kind.MEMORY.value: "memory",
}
_EVIDENCE_KINDS = (Kind.STANDARD.value, Kind.PUBLISHED.value, Kind.COMPUTED.value)
# Columns: name, ours, theirs, difference allowed.
_WIDTHS = (48, 9, 9, 19)
_DIGITS = 6
_SIGNS = str.maketrans("23", "²³")  # the digits of units are all powers
_PRINTED_TOLERANCE = 1e-5  # shares below this are the noise of sums, not worth a column


@dataclass(frozen=True)
class Check:
    """One number of ours beside one from elsewhere.

    Parameters
    ----------
    id, what : str
        Short name, and what is compared.
    ours, reference : float
        Both in ``unit``.
    tolerance : float
        Largest difference: a share of the reference (``rel``) or in ``unit`` (``abs``).
    tol_kind : str
        ``rel`` or ``abs``.
    unit : str
        As printed.
    kind : str
        published, standard or computed (evidence); analytic (our own formula); memory.
    sources : tuple of str
        Keys into the source register.
    because : str
        How the tolerance was chosen.
    """

    id: str
    what: str
    ours: float
    reference: float
    tolerance: float
    tol_kind: str
    unit: str
    kind: str
    sources: tuple[str, ...]
    because: str

    @property
    def passed(self) -> bool:
        """Whether ours lies within the tolerance; a number that is not finite never does."""
        allowed = self.tolerance * (abs(self.reference) if self.tol_kind == "rel" else 1.0)
        return abs(self.ours - self.reference) <= allowed

    @property
    def group(self) -> str:
        """``outside`` (evidence), ``arithmetic`` (our own formulas) or ``memory`` (listed, never counted)."""
        return _GROUPS[self.kind]


def run_checks() -> tuple[Check, ...]:
    """Work out every row of the evidence and return it beside its reference.

    Raises
    ------
    DataError
        A row has no function of ours, or a function no row.
    """
    rows = tomllib.loads(files("pourwright.doors.service.evidence").joinpath("evidence.toml").read_text("utf-8"))[
        "check"
    ]
    ours = {**metals.OURS, **moulds.OURS, **prints.OURS, **sums.OURS}
    unmatched = ours.keys() ^ {row["id"] for row in rows}
    if unmatched:
        raise DataError(f"evidence without a partner: {', '.join(sorted(unmatched))}")
    return tuple(_check(row, ours[row["id"]]) for row in rows)


def _check(row: Mapping[str, Any], ours: Callable[[], float]) -> Check:
    reference = programs.ORACLES[row["oracle"]]() if "oracle" in row else float(row["reference"])
    return Check(
        row["id"],
        row["what"],
        float(ours()),
        reference,
        float(row["tolerance"]),
        row["tol_kind"],
        row["unit"],
        row["kind"],
        tuple(row["source"]),
        row["because"],
    )


def as_json(checks: Sequence[Check]) -> dict[str, Any]:
    """Return the checks as plain JSON values."""
    return {"checks": [_plain(one) for one in checks]}


def _plain(check: Check) -> dict[str, Any]:
    return {
        "id": check.id,
        "what": check.what,
        "ours": check.ours,
        "reference": check.reference,
        "tolerance": check.tolerance,
        "tol_kind": check.tol_kind,
        "unit": check.unit,
        "kind": check.kind,
        "group": check.group,
        "passed": check.passed,
        "source": ", ".join(check.sources),
        "because": check.because,
    }


def as_text(checks: Sequence[Check]) -> str:
    """Return the checks for a person: evidence by kind, then our own sums, then what is from memory, then a verdict."""
    parts = [say("doors.verify-outside"), *(_block(kind, checks) for kind in _EVIDENCE_KINDS)]
    parts += [say("doors.verify-arithmetic"), _block(ANALYTIC, checks)]
    parts += [say("doors.verify-memory"), _block(Kind.MEMORY.value, checks)]
    return "\n\n".join([*parts, _verdict(checks)])


def _block(kind: str, checks: Sequence[Check]) -> str:
    rows = [one for one in checks if one.kind == kind]
    good = sum(one.passed for one in rows)
    head = say("doors.verify-kind", kind=say(_KIND_NAMES[kind]), good=good, count=len(rows))
    return "\n".join([head, *(_line(one) for one in rows)])


_KIND_NAMES = {
    Kind.STANDARD.value: "doors.verify-standard",
    Kind.PUBLISHED.value: "doors.verify-published",
    Kind.COMPUTED.value: "doors.verify-computed",
    ANALYTIC: "doors.verify-analytic",
    Kind.MEMORY.value: "doors.verify-remembered",
}


def _line(check: Check) -> str:
    mark = say("doors.verify-good") if check.passed else say("doors.verify-bad")
    name, number, other, allowed = _WIDTHS
    row = (
        f"  {mark:<4}{check.what:<{name}}{check.ours:>{number}.{_DIGITS}g} {check.reference:>{other}.{_DIGITS}g} "
        f"{_allowed(check):<{allowed}}{', '.join(check.sources)}"
    )
    return row if check.passed else row + "\n" + " " * 6 + check.because


def _allowed(check: Check) -> str:
    unit = "" if check.unit == "1" else check.unit.translate(_SIGNS).replace("degC", "°C").replace("permille", "‰")
    if check.tol_kind == "abs":
        return f"± {check.tolerance:g} {unit}"
    exact = check.tolerance < _PRINTED_TOLERANCE
    return f"{unit}" if exact else f"± {100 * check.tolerance:g} % {unit}"


def _verdict(checks: Sequence[Check]) -> str:
    counted = [one for one in checks if one.group == "outside"]
    wrong = [one.id for one in checks if not one.passed]
    if wrong:
        return say("doors.verify-red", count=len(wrong), names=", ".join(wrong))
    sums_count = sum(one.group == "arithmetic" for one in checks)
    return say("doors.verify-green", count=len(counted), sums=sums_count)
