"""Limits of a charge as typed: new metal, remelts, windows, what burns away, how likely is likely enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from pourwright.core.errors import DataError
from pourwright.core.findings import Finding, Level
from pourwright.doors.service.books.typed import typed
from pourwright.matter.elements import element
from pourwright.matter.practice import rule
from pourwright.prepare.charge.optimum.request import Request

_LEAST_LIKELY_FRAC = 0.5
_BURNS_MOST_FRAC = 0.5
# Less than so many marks of a scale is not worth weighing on it: half a mark off is a twentieth of it. Our own choice;
# common practice, no source.
LEAST_MARKS_COUNT = 10


@dataclass(frozen=True)
class Limits:
    """As typed. Empty: half new metal as practice has it, any age, windows close to the alloy, nothing burns away.

    Parameters
    ----------
    new : str
        Least share of new metal, such as ``50 %``.
    melts : str
        Most earlier melts on the mean, a number.
    old : str
        ``MELTS:SHARE``: no more than this share of metal that was melted so often.
    windows, burns : sequence of str
        ``ELEMENT:LOW..HIGH`` and ``ELEMENT:SHARE``.
    surplus, least : str
        By how much the mass may be more (whole lumps), and the least worth weighing (else 10 marks of the scale).
    likely : str
        Probability of the standard that is enough; empty keeps it in the worst case.
    """

    new: str = ""
    melts: str = ""
    old: str = ""
    windows: Sequence[str] = ()
    burns: Sequence[str] = ()
    surplus: str = ""
    least: str = ""
    likely: str = ""


def read_limits(request: Request, asked: Limits) -> tuple[Request, float | None, tuple[Finding, ...]]:
    """Return the request with its limits, the probability that is enough, and all that is wrong with the texts.

    Parameters
    ----------
    request : Request
        Without limits.
    asked : Limits
        As typed.
    """
    found: list[Finding] = []
    usual_frac = (rule("melt.scrap").low or 0.0) / 100
    old_count, old_frac = _old(asked.old, found)
    limited = replace(
        request,
        new_least_frac=_share(asked.new, "--new", found) if asked.new else usual_frac,
        melts_mean_most_count=_count(asked.melts, "--melts", found) if asked.melts else None,
        old_melts_count=old_count,
        old_most_frac=old_frac,
        windows_frac=dict(window for text in asked.windows for window in _window(text, found)),
        loss_frac=dict(burn for text in asked.burns for burn in _burn(text, found)),
        surplus_most_g=_grams(asked.surplus, "--over", found),
        weigh_least_g=(
            _grams(asked.least, "--least", found) if asked.least else LEAST_MARKS_COUNT * request.scale_division_g
        ),
    )
    likely_frac = _share(asked.likely, "--likely", found) if asked.likely else None
    if likely_frac is not None and not found and not _LEAST_LIKELY_FRAC <= likely_frac < 1:
        found.append(Finding("doors.charge-likely", Level.STOP, "--likely", {"text": asked.likely}))
    return limited, likely_frac, tuple(found)


def _share(text: str, where: str, found: list[Finding]) -> float:
    """Return a share as typed (in ``frac``); one outside nothing and all goes to ``found``."""
    percent, wrong = typed(text, "percent", where)
    if not wrong and not 0 <= percent <= 100:
        wrong = (Finding("doors.charge-share", Level.STOP, where, {"text": text}),)
    found += [replace(one, code="doors.charge-share", params={"text": text}) for one in wrong]
    return percent / 100


def _grams(text: str, where: str, found: list[Finding]) -> float:
    if not text:
        return 0.0
    mass_g, wrong = typed(text, "g", where)
    if not wrong and mass_g < 0:
        wrong = (Finding("doors.charge-below", Level.STOP, where, {"text": text}),)
    found += wrong
    return mass_g


def _count(text: str, where: str, found: list[Finding]) -> float:
    try:
        number = float(text)
    except ValueError:
        number = -1.0
    if not 0 <= number < 1000:
        found.append(Finding("doors.charge-melts", Level.STOP, where, {"text": text}))
    return number


def _old(text: str, found: list[Finding]) -> tuple[int, float]:
    if not text:
        return 0, 1.0
    count, _, share = text.partition(":")
    if not share or not count.strip().isdigit():
        found.append(Finding("doors.charge-old", Level.STOP, "--old", {"text": text}))
        return 0, 1.0
    return int(count), _share(share, "--old", found)


def _window(text: str, found: list[Finding]) -> list[tuple[str, tuple[float, float]]]:
    name, _, span = text.partition(":")
    low, dots, high = span.partition("..")
    if not dots or not _known(name, "--window", text, found):
        _form("doors.charge-window", "--window", text, found)
        return []
    ends = (_share(low, "--window", found), _share(high, "--window", found))
    if ends[0] > ends[1]:
        found.append(Finding("doors.charge-window", Level.STOP, "--window", {"text": text}))
    return [(name, ends)]


def _burn(text: str, found: list[Finding]) -> list[tuple[str, float]]:
    name, _, share = text.partition(":")
    if not share or not _known(name, "--burns", text, found):
        _form("doors.charge-burns", "--burns", text, found)
        return []
    burnt_frac = _share(share, "--burns", found)
    if burnt_frac > _BURNS_MOST_FRAC:
        _form("doors.charge-burns-most", "--burns", text, found)
    return [(name, burnt_frac)]


def _known(name: str, where: str, text: str, found: list[Finding]) -> bool:
    try:
        element(name)
    except DataError:
        found.append(Finding("doors.charge-element", Level.STOP, where, {"text": text, "name": name}))
        return False
    return True


def _form(code: str, where: str, text: str, found: list[Finding]) -> None:
    if not any(one.where == where and one.params.get("text") == text for one in found):
        found.append(Finding(code, Level.STOP, where, {"text": text}))
